"""The sample games are what their generator makes, can be read, and hold the planted truths."""

from __future__ import annotations

import gzip
import io
import math
import sys
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from types import SimpleNamespace

import chess
import chess.pgn
import pytest

FOLDER = Path(__file__).parent.parent / "sample_games"
NAMES = ("club_season.pgn.gz", "junior_cup.pgn.gz", "student.pgn.gz")


@pytest.fixture(scope="module")
def generator() -> Iterator[SimpleNamespace]:
    """The generator's modules, which are scripts beside the games and no package."""
    sys.path.insert(0, str(FOLDER))
    try:
        import club_openings
        import club_people
        import club_season
        import make_games
        import planted

        yield SimpleNamespace(
            games=make_games,
            openings=club_openings,
            people=club_people,
            season=club_season,
            planted=planted,
        )
    finally:
        sys.path.remove(str(FOLDER))


@dataclass
class ReadGame:
    tags: dict[str, str] = field(default_factory=dict)
    sans: list[str] = field(default_factory=list)


class Reader(chess.pgn.BaseVisitor[ReadGame]):
    """Keeps tags and mainline, looks into variations too, and lets errors through."""

    def begin_game(self) -> None:
        self.game, self.depth = ReadGame(), 0

    def visit_header(self, tagname: str, tagvalue: str) -> None:
        self.game.tags[tagname] = tagvalue

    def begin_variation(self) -> None:
        self.depth += 1

    def end_variation(self) -> None:
        self.depth -= 1

    def visit_move(self, board: chess.Board, move: chess.Move) -> None:
        if not self.depth:
            self.game.sans.append(board.san(move).rstrip("+#"))

    def handle_error(self, error: Exception) -> None:
        raise error

    def result(self) -> ReadGame:
        return self.game


def text_of(name: str) -> str:
    return gzip.decompress((FOLDER / name).read_bytes()).decode("ascii")


@pytest.fixture(scope="module")
def texts() -> dict[str, list[str]]:
    """The games' texts by file."""
    return {
        name: ["[Event " + text for text in text_of(name).split("[Event ")[1:]] for name in NAMES
    }


@pytest.fixture(scope="module")
def games(texts: dict[str, list[str]]) -> list[ReadGame]:
    """Every game as python-chess reads it; an error in one fails whoever asks."""
    found = []
    for name in NAMES:
        stream = io.StringIO(text_of(name))
        while (game := chess.pgn.read_game(stream, Visitor=Reader)) is not None:
            found.append(game)
    return found


Chances = Callable[[str], list[tuple[ReadGame, str, str]]]


@pytest.fixture(scope="module")
def chances(games: list[ReadGame]) -> Chances:
    """A line -> (game, colour to move, the move played) wherever that line was followed."""

    def at(line: str) -> list[tuple[ReadGame, str, str]]:
        start = line.split()
        colour = "Black" if len(start) % 2 else "White"
        return [
            (game, colour, game.sans[len(start)])
            for game in games
            if game.sans[: len(start)] == start and len(game.sans) > len(start)
        ]

    return at


def test_any_fifty_games_come_out_again(
    generator: SimpleNamespace, texts: dict[str, list[str]]
) -> None:
    """Fifty games from all over the files, made again alone, are the committed ones."""
    committed = [text for name in NAMES for text in texts[name]]
    plan = generator.season.plan()
    assert len(plan) == len(committed)
    for number in range(7, len(plan), len(plan) // 49):
        assert generator.games.make(plan[number]) == committed[number]


def test_packing_takes_no_time_or_name_along(generator: SimpleNamespace) -> None:
    """Bytes 4 to 7 of a gzip stream are its time (RFC 1952, section 2.3): here 0."""
    packed = generator.games.packed("a game\n")
    assert packed[4:8] == bytes(4)
    assert gzip.decompress(packed) == b"a game\n"


def test_the_generator_writes_its_files(
    generator: SimpleNamespace, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Run whole, with a plan of four games, the generator writes them in order."""
    four = generator.season.plan()[-4:]
    monkeypatch.setattr(generator.games, "plan", lambda: four)
    generator.games.main(tmp_path)
    made = gzip.decompress((tmp_path / "student.pgn.gz").read_bytes()).decode("ascii")
    assert made == "".join(generator.games.make(game) for game in four)


def test_files_are_small() -> None:
    """All the folder's data together stays under 3 MB."""
    assert sum(path.stat().st_size for path in FOLDER.glob("*.pgn*")) < 3_000_000


def test_every_game_reads_and_is_whole(games: list[ReadGame], texts: dict[str, list[str]]) -> None:
    """About eight thousand games, each with the seven tags and at least one move."""
    assert len(games) == sum(map(len, texts.values()))
    assert 7_500 < len(games) < 9_000
    roster = ["Event", "Site", "Date", "Round", "White", "Black", "Result"]
    assert all(list(game.tags)[:7] == roster and game.sans for game in games)


def test_lines_keep_to_the_export_width(texts: dict[str, list[str]]) -> None:
    """PGN standard 8.2.1: lines of movetext hold fewer than 80 characters."""
    assert all(len(line) < 80 for text in texts[NAMES[0]] for line in text.splitlines())


def test_no_game_occurs_twice(games: list[ReadGame]) -> None:
    """No two games share players, date, result and moves."""
    tags = ("White", "Black", "Date", "Result")
    prints = Counter((*(game.tags[tag] for tag in tags), *game.sans) for game in games)
    assert max(prints.values()) == 1


def test_ratings_span_from_500_to_2000(games: list[ReadGame]) -> None:
    """Every level between 500 and 2000 has players, and some players are unrated."""
    elos = Counter(game.tags.get(f"{side}Elo", "") for game in games for side in ("White", "Black"))
    rated = Counter(int(elo) // 100 for elo in elos.elements() if elo.isdecimal())
    assert min(rated) == 5
    assert max(rated) in (19, 20)
    assert all(rated[hundred] > 50 for hundred in range(5, 20))
    assert elos["-"] > 500
    assert 0 < elos[""] < 400


def test_the_odd_corners_occur(games: list[ReadGame], texts: dict[str, list[str]]) -> None:
    """Vague dates, open ends, overstepped clocks, comments, variations: a few of each."""
    everything = "".join(text for name in NAMES for text in texts[name])
    assert {game.tags["Result"] for game in games} == {"1-0", "0-1", "1/2-1/2", "*"}
    assert any(game.tags["Date"].endswith(".??.??") for game in games)
    assert {game.tags["Termination"] for game in games} == {
        "normal",
        "time forfeit",
        "unterminated",
    }
    assert all(everything.count(sign) > 50 for sign in ("{[%clk ", "(", "$6"))


def test_the_stronger_player_scores_more(games: list[ReadGame]) -> None:
    """Results follow the rating difference, if not on FIDE's curve."""
    scores: dict[int, list[float]] = {}
    for game in games:
        elos = [game.tags.get("WhiteElo", "-"), game.tags.get("BlackElo", "-")]
        points = {"1-0": 1.0, "1/2-1/2": 0.5, "0-1": 0.0}.get(game.tags["Result"])
        if points is not None and all(elo.isdecimal() for elo in elos):
            gap = max(-2, min(2, round((int(elos[0]) - int(elos[1])) / 150)))
            scores.setdefault(gap, []).append(points)
    means = [sum(scores[gap]) / len(scores[gap]) for gap in sorted(scores)]
    assert means == sorted(means)
    assert means[0] < 0.4
    assert means[-1] > 0.6


def test_early_f6_fades_with_strength(chances: Chances) -> None:
    """Of those under 900 some 10 to 18 in 100 answer 2.Nf3 with 2...f6; from 1400 on hardly any."""
    rates = {}
    for low, high in ((0, 900), (900, 1400), (1400, 3000)):
        moves = [
            move
            for game, colour, move in chances("e4 e5 Nf3")
            if low <= int(game.tags.get(f"{colour}Elo", "-").replace("-", "-1")) < high
        ]
        rates[low] = moves.count("f6") / len(moves)
    assert 0.1 < rates[0] < 0.18
    assert rates[0] > rates[900] > rates[1400]
    assert rates[1400] < 0.02


BANDS = ((0, 800), (800, 1200), (1200, 1600), (1600, 3000))


def shares_by_band(games: list[ReadGame], moves: int, sign: str) -> list[float]:
    """Of the sides that made so many moves: how many in 100 made one whose SAN begins so."""
    seen: dict[tuple[int, int], list[bool]] = {band: [] for band in BANDS}
    for game in games:
        for first, colour in enumerate(("White", "Black")):
            elo, own = game.tags.get(f"{colour}Elo", "-"), game.sans[first::2][:moves]
            if elo.isdecimal() and len(own) == moves:
                band = next(band for band in BANDS if band[0] <= int(elo) < band[1])
                seen[band].append(any(san.startswith(sign) for san in own))
    return [100 * sum(made) / len(made) for made in seen.values()]


@pytest.mark.parametrize(
    ("habit", "sign", "order"), [("CASTLED", "O-O", 1), ("QUEEN_OUT", "Q", -1)]
)
def test_habits_go_by_level(
    generator: SimpleNamespace, games: list[ReadGame], habit: str, sign: str, order: int
) -> None:
    """The stronger, the more castle by move 10, and the fewer queens come out before move 5."""
    truth = getattr(generator.planted, habit)
    shares = shares_by_band(games, truth.by_move, sign)
    assert shares == sorted(shares, key=lambda share: order * share)
    for share, (low, high) in ((shares[0], truth.under_800), (shares[-1], truth.from_1600)):
        assert low <= share <= high


def test_mistakes_come_as_often_as_planted(generator: SimpleNamespace, chances: Chances) -> None:
    """Each planted mistake occurs as often as its table says, within four standard deviations."""
    student = generator.people.STUDENT
    for truth in generator.planted.PLANTED:
        if not truth.costs:
            continue
        expected = variance = made = 0.0
        for game, colour, move in chances(truth.line):
            elo = game.tags.get(f"{colour}Elo", "")
            if elo.isdecimal() and student not in game.tags.values():
                rate = generator.openings.rate(truth.line, truth.san, int(elo))
                expected, variance = expected + rate, variance + rate * (1 - rate)
                made += move == truth.san
        assert abs(made - expected) <= 4 * math.sqrt(variance), truth


def test_planted_replies_fade(generator: SimpleNamespace) -> None:
    """Each planted share falls from level to level, and its punishment is legal."""
    for truth in generator.planted.PLANTED:
        shares = [
            generator.openings.rate(truth.line, truth.san, strength)
            for strength in generator.openings.ANCHORS
        ]
        assert shares == sorted(shares, reverse=True)
        assert shares[0] > 2 * shares[-1]
        generator.openings.board_after(f"{truth.line} {truth.san} {truth.punish}")
        assert bool(truth.punish) == truth.costs


def test_no_row_of_the_table_exceeds_a_whole(generator: SimpleNamespace) -> None:
    """The shares of a row sum to 100 at most at each level, four levels a reply."""
    for row in generator.openings.rows().values():
        columns = list(zip(*(reply.percent for reply in row), strict=True))
        assert len(columns) == 4
        assert all(sum(column) <= 100 + 1e-9 for column in columns)


def test_an_unknown_planted_reply_is_an_error(generator: SimpleNamespace) -> None:
    """Asking for a share that the table does not hold is said, not guessed."""
    with pytest.raises(KeyError, match="no reply a3"):
        generator.openings.rate("e4", "a3", 1000)


def of_student(
    generator: SimpleNamespace, chances: Chances, line: str
) -> list[tuple[ReadGame, str, str]]:
    student = generator.people.STUDENT
    return [chance for chance in chances(line) if chance[0].tags[chance[1]] == student]


def test_the_student_stops_her_mistake(generator: SimpleNamespace, chances: Chances) -> None:
    """Before the planted date 2...f6 comes more often than not, afterwards never."""
    habit = generator.planted.RECURRING
    stops = habit.until.strftime("%Y.%m.%d")
    made: dict[bool, list[bool]] = {True: [], False: []}
    for game, _, move in of_student(generator, chances, habit.line):
        made[game.tags["Date"] < stops].append(move == habit.san)
    assert len(made[True]) >= 10
    assert sum(made[True]) > len(made[True]) / 2
    assert len(made[False]) >= 10
    assert not any(made[False])


def test_the_student_forgets_one_line(generator: SimpleNamespace, chances: Chances) -> None:
    """At the planted position she mostly plays another move than the lesson's."""
    habit = generator.planted.FORGOTTEN
    moves = Counter(move for _, _, move in of_student(generator, chances, habit.line))
    assert moves[habit.san] > 2 * moves[generator.planted.FORGOTTEN_LESSON_MOVE] > 0
    assert moves.total() >= 15


def test_the_student_has_a_strong_opening(generator: SimpleNamespace, chances: Chances) -> None:
    """With the planted opening she scores well over half, in twenty games or more."""
    line = generator.planted.STRONG_OPENING
    results = Counter(
        game.tags["Result"]
        for game, colour, _ in chances(line)
        if game.tags["Black"] == generator.people.STUDENT and colour == "White"
    )
    assert results.total() >= 20
    assert results["0-1"] / results.total() > 0.6


def test_people_are_who_the_plan_says(generator: SimpleNamespace, games: list[ReadGame]) -> None:
    """The student has her own file, the newcomer eight games, each of the class enough."""
    played = Counter(game.tags[side] for game in games for side in ("White", "Black"))
    planted, people = generator.planted, generator.people
    assert played[people.STUDENT] == generator.season.STUDENT_GAMES
    assert played[people.NEWCOMER] == generator.season.NEWCOMER_GAMES == 8
    assert len(set(planted.CLASS)) == 10
    assert all(played[name] >= 40 for name in planted.CLASS)
    habit = planted.HABIT_OF_ONE
    made = Counter(game.tags["White"] for game in games if game.sans[0] == habit.san)
    assert made[people.HABIT_PLAYER] > made.total() / 2


def test_the_lesson_reads_and_is_whites() -> None:
    """Every move of the lesson is legal; White's taught moves and warnings are there."""
    with (FOLDER / "lesson_italian.pgn").open(encoding="ascii") as stream:
        lesson = chess.pgn.read_game(stream)
        assert lesson is not None
        assert chess.pgn.read_game(stream) is None
    assert lesson.errors == []
    after_knight = lesson.next().next().next()  # type: ignore[union-attr]
    assert after_knight is not None
    answered = {node.san() for node in after_knight.variations}
    assert {"Nc6", "f6", "d6", "Nf6", "Bc5"} <= answered
    warned = [
        node
        for node in walk(lesson)
        if node.turn() == chess.BLACK and node.nags & {2, 4, 6} and not node.is_main_variation()
    ]
    assert {node.san() for node in warned} == {"Nxe5", "Ng5", "Nxf7"}


def test_the_lesson_teaches_what_the_student_forgets(generator: SimpleNamespace) -> None:
    """The lesson's first move at the forgotten position is the planted one."""
    board = generator.openings.board_after(generator.planted.FORGOTTEN.line)
    with (FOLDER / "lesson_italian.pgn").open(encoding="ascii") as stream:
        lesson = chess.pgn.read_game(stream)
    assert lesson is not None
    places = [node for node in walk(lesson) if node.board() == board]
    assert [place.variations[0].san() for place in places] == [
        generator.planted.FORGOTTEN_LESSON_MOVE
    ]


def walk(node: chess.pgn.GameNode) -> Iterator[chess.pgn.ChildNode]:
    for child in node.variations:
        yield child
        yield from walk(child)
