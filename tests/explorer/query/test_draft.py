"""`lesson draft`: what is learnt, which moves are taught, and why it stops."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator, Sequence
from itertools import product
from pathlib import Path
from random import Random

import chess.pgn
import pytest

from explorer.positions.lesson import Lesson, lesson_of, read_lesson
from explorer.positions.typed import parse_position
from explorer.query.draft import Wish, draft
from explorer.query.draft_answers import models_above
from explorer.query.draft_lines import game_of
from explorer.query.draft_model import DraftAnswer
from explorer.query.favoured import label_of
from explorer.query.filters import Filters
from explorer.query.lesson_check import MIN_GAMES, lesson_check
from explorer.query.library import Library, open_library
from explorer.report.lesson_pgn import draft_pgn
from ingest.errors import NothingFound, UsageError
from ingest.levels import UNRATED, Level
from ingest.pipeline import AddOptions, add_collection
from tests.support.club import Add, Played, pgn
from tests.support.drafting import many

LEVEL = Filters(levels=(Level(800, 999),))
MODEL, WEAK, STRONG = Level(1300, 1399), Level(800, 999), Level(1000, 1199)
Draft = Callable[..., DraftAnswer]

OPEN = (
    *many("1. e4 e5 2. Nf3 Nc6 3. Bb5 a6", 40),
    *many("1. e4 e5 2. Nf3 Nc6 3. Bc4 Bc5", 35),
    *many("1. e4 e5 2. Nf3 d6 3. d4", 35),
    *many("1. e4 c5 2. Nf3 d6", 45),
    *many("1. d4 d5 2. c4", 40),
)


@pytest.fixture
def draft_of(add: Add) -> Iterator[Draft]:
    """Drafts a lesson from some games."""
    opened: list[Library] = []

    def drafting(games: Sequence[Played], filters: Filters = LEVEL, **wish: object) -> DraftAnswer:
        if not opened:
            opened.append(open_library(add(games)))
        options = {"side": "white", "model": (MODEL,), **wish}
        for name in ("start", "never"):
            if isinstance(line := options.get(name), str):
                asked = parse_position(line)
                options[name] = (asked,) if name == "never" else asked
        return draft(opened[0], filters, Wish(**options))  # type: ignore[arg-type]

    yield drafting
    for library in opened:
        library.let_go()


def taught(answer: DraftAnswer) -> dict[str, str]:
    return {step.line: step.san for step in answer.steps}


def read_back(answer: DraftAnswer, tmp_path: Path) -> Lesson:
    file = tmp_path / "draft.pgn"
    file.write_text(draft_pgn(answer), "utf-8")
    return read_lesson(str(file), answer.side)


def test_what_is_met_most_often_is_answered_first(draft_of: Draft) -> None:
    answer = draft_of(OPEN)
    assert [(step.line, step.san) for step in answer.steps] == [
        ("", "e4"),
        ("1. e4 e5", "Nf3"),
        ("1. e4 e5 2. Nf3 Nc6", "Bb5"),
        ("1. e4 c5", "Nf3"),
        ("1. e4 e5 2. Nf3 d6", "d4"),
    ]
    reached = [step.reached for step in answer.steps]
    assert reached == pytest.approx([1, 110 / 155, 75 / 155, 45 / 155, 35 / 155])
    assert reached == sorted(reached, reverse=True)


def test_the_curve_grows_by_what_each_position_adds(draft_of: Draft) -> None:
    answer = draft_of(OPEN)
    sums = [sum(step.answered) for step in answer.steps]
    assert [step.adds for step in answer.steps] == pytest.approx(
        [now - before for before, now in zip([0.0, *sums], sums, strict=False)]
    )
    assert answer.objective == pytest.approx(sums[-1])
    assert [state.answered for state in answer.states] == pytest.approx(answer.steps[-1].answered)
    assert answer.moves == tuple(range(1, 9))


def test_a_taught_move_says_how_many_of_the_model_level_choose_it(draft_of: Draft) -> None:
    step = draft_of(OPEN).steps[2]
    assert (step.games, step.of, step.players, step.chosen_by) == (40, 75, 12, "numbers")
    assert step.level == MODEL.label
    assert step.share == 40 / 75


def test_the_file_gives_the_same_lesson_back_and_check_says_the_same(
    draft_of: Draft, add: Add, tmp_path: Path
) -> None:
    answer = draft_of(OPEN)
    lesson = read_back(answer, tmp_path)
    assert {place.numbered: place.taught.san for place in lesson.taught if place.taught} == taught(
        answer
    )
    assert not lesson.two_taught
    assert not lesson.not_followed
    with open_library(tmp_path / "games.db") as library:
        assert lesson_check(library, lesson, LEVEL).whole.states == answer.states


def test_the_main_line_is_the_commonest_one(draft_of: Draft) -> None:
    game, _ = game_of(draft_of(OPEN).lines)
    assert game.board().variation_san(game.mainline_moves()) == "1. e4 e5 2. Nf3 Nc6 3. Bb5"


@pytest.mark.parametrize("side", ["white", "black"])
def test_on_random_games_the_check_of_the_file_says_what_the_draft_says(
    mixed: Library, tmp_path: Path, side: str
) -> None:
    """With several levels and starts, on games whose lines merge all the time."""
    merged = 0
    for level, start, worth in product((None, WEAK, STRONG), ("", "e4", "Nf3 Nf6"), (0.0, 2.0)):
        filters = Filters(levels=(level,) if level else ())
        wish = Wish(side, parse_position(start), 40, 4, worth, model=())
        answer = draft(mixed, filters, wish)
        lesson = read_back(answer, tmp_path)
        found = lesson_check(mixed, lesson, filters, wish.start, 4, MIN_GAMES)
        assert found.whole.states == answer.states
        assert found.positions == len(answer.steps)
        assert {step.fen: step.san for step in answer.steps} == {
            place.fen: place.taught.san for place in lesson.taught if place.taught
        }
        assert sum(step.adds for step in answer.steps) == pytest.approx(answer.objective)
        last = answer.steps[-1].answered
        assert [state.answered for state in answer.states] == pytest.approx(last)
        merged += any(move.same_as for move in answer.lines)
    assert merged > 3


@pytest.fixture(scope="module")
def mixed(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Library]:
    """2500 games of a few developing moves in any order, so that lines merge."""
    random, folder = Random(7), tmp_path_factory.mktemp("mixed")
    ratings = (900, 900, 1100, 1100, None)
    usual = {"e4", "d3", "Nf3", "Nc3", "e5", "d6", "Nf6", "Nc6"}
    games = []
    for _ in range(2500):
        board, sans = chess.Board(), []
        for _ in range(8):
            moves = [san for move in board.legal_moves if (san := board.san(move)) in usual]
            if not moves:
                break
            sans.append(random.choice([*moves, *moves[:1]]))
            board.push_san(sans[-1])
        rated = random.choice(ratings), random.choice(ratings)
        games += many(" ".join(sans), 1, *rated, results=random.choice("WDL"))
    (folder / "mixed.pgn").write_text(pgn(games), "utf-8")
    add_collection(folder / "m.db", [str(folder / "mixed.pgn")], "mixed", AddOptions())
    with open_library(folder / "m.db") as library:
        yield library


def test_a_line_is_never_taught_by_another_move_order(draft_of: Draft) -> None:
    games = [*OPEN, *many("1. Nf3 e5 2. e4 Nc6 3. Bb5", 1)]
    assert taught(draft_of(games, never="Nf3 Nc6 e4 e5 Bb5"))["1. e4 e5 2. Nf3 Nc6"] == "Bc4"


def test_the_preferred_file_is_followed_by_position_whatever_its_move_order(
    draft_of: Draft,
) -> None:
    """3. d4 has no games at all; an alternative that is never to be taught is not preferred."""
    lesson = preferred("1. Nf3 Nc6 2. e4 e5 3. d4")
    answer = draft_of(OPEN, prefer=lesson, start="e4")
    assert taught(answer)["1. e4 e5 2. Nf3 Nc6"] == "d4"
    step = answer.steps[2]
    assert (step.chosen_by, step.games, step.of) == ("preferred", 0, 75)
    assert draft_of(OPEN, prefer=lesson, start="e4", never="e4 e5 Nf3 Nc6 d4").steps[2].san == "Bb5"


def preferred(text: str) -> Lesson:
    game = chess.pgn.read_game(io.StringIO(text))
    assert game
    return lesson_of([game], "prefer.pgn", "white")


def test_a_move_that_fades_with_strength_is_not_taught_unless_asked(draft_of: Draft) -> None:
    """2. Qh5 is what nearly all weak players play, and still the commonest at the model level."""
    games = [
        *many("1. e4 e5 2. Qh5 Nc6", 60, white=850),
        *many("1. e4 e5 2. Nf3 Nc6", 5, white=850),
        *many("1. e4 e5 2. Qh5 Nc6", 45),
        *many("1. e4 e5 2. Nf3 Nc6", 40),
        *many("1. e4 e5 2. Nf3 Nc6", 60, white=1900),
    ]
    step = draft_of(games).steps[1]
    assert (step.san, step.rather_than) == ("Nf3", "Qh5")
    step = draft_of(games, allow_fading=True).steps[1]
    assert (step.san, step.rather_than) == ("Qh5", None)


def test_a_move_that_nearly_all_play_does_not_fade_with_a_few_who_do_not(draft_of: Draft) -> None:
    """From 100 to 90 %: significant, but no move that players give up."""
    games = [
        *many("1. e4 e5 2. Nf3 Nc6", 200, white=850),
        *many("1. e4 e5 2. Nf3 Nc6", 100),
        *many("1. e4 e5 2. Nf3 Nc6", 180, white=1900),
        *many("1. e4 e5 2. Bc4 Nc6", 20, white=1900),
    ]
    assert draft_of(games).steps[1].san == "Nf3"


def test_a_position_without_a_move_to_teach_is_skipped_and_told(draft_of: Draft) -> None:
    """After 1... e5 29 games a move are too few, after 1... c5 the only move is refused."""
    games = [
        *many("1. e4 e5 2. Nf3", 29),
        *many("1. e4 e5 2. Bc4", 29),
        *many("1. e4 c5 2. Nf3", 40),
        *many("1. e4 d5 2. exd5", 30),
    ]
    answer = draft_of(games, never="e4 c5 Nf3")
    assert taught(answer) == {"": "e4", "1. e4 d5": "exd5"}
    few, refused = answer.skipped
    assert (few.line, few.why, few.san) == ("1. e4 e5", "few", None)
    assert (refused.line, refused.why, refused.san) == ("1. e4 c5", "refused", "Nf3")
    assert few.in_100 == pytest.approx(100 * 58 / 128)
    assert answer.stopped == "nothing left"


def test_without_a_model_level_stronger_bands_are_asked_where_one_is_too_small(
    draft_of: Draft,
) -> None:
    """1000-1199 has 20 games with 2. Nf3, 1200-1399 as many: together enough."""
    games = [
        *many("1. e4 e5", 40, white=1100),
        *many("1. e4 e5 2. Nf3", 20, white=1100),
        *many("1. e4 e5 2. Nf3", 20, white=1300),
    ]
    answer = draft_of(games, model=None)
    assert answer.model_level == "1000-1199"
    assert [(step.san, step.level) for step in answer.steps] == [
        ("e4", "1000-1199"),
        ("Nf3", "1000-1399"),
    ]
    assert draft_of(games, model=(Level(1000, 1199),)).skipped[0].why == "few"


@pytest.mark.parametrize(
    ("levels", "first", "last"),
    [
        ([Level(800, 1199)], "1200-1399", "800 and over"),
        ([Level(800, 1150)], "1200-1399", "800 and over"),
        ([Level(None, 799)], "800-999", "all levels"),
        ([Level(800, 999), Level(1400, 1599), UNRATED], "1600-1799", "800 and over"),
        ([Level(2000, None)], "2000 and over", "2000 and over"),
        ([Level(1900, 2300)], "2000 and over", "1900 and over"),
    ],
)
def test_the_model_level_is_one_band_above_the_highest_chosen(
    levels: list[Level], first: str, last: str
) -> None:
    """Those above it follow, and at last all from the lowest one up."""
    models = models_above(Filters(levels=tuple(levels)))
    assert label_of(models[0]) == first
    assert models[-2][0].high is None
    assert label_of(models[-1]) == last


def test_without_a_rated_level_everybody_is_the_model() -> None:
    assert models_above(Filters()) == models_above(Filters(levels=(UNRATED,))) == ((),)


def test_it_says_why_it_stopped(draft_of: Draft) -> None:
    assert draft_of(OPEN).stopped == "nothing left"
    answer = draft_of(OPEN, positions=3)
    assert (len(answer.steps), answer.stopped) == (3, "positions")
    assert answer.next_in_100 == pytest.approx(100 * 75 / 155)  # 3. Bb5 a6, to be skipped
    answer = draft_of(OPEN, worth=30.0)
    assert (len(answer.steps), answer.stopped) == (3, "worth")
    assert answer.next_in_100 == pytest.approx(100 * 45 / 155)
    answer = draft_of(OPEN, to_move=2)
    assert len(answer.steps) == 3
    assert answer.moves == (1, 2)


def test_the_line_to_start_with_is_taught_and_games_are_counted_from_it(draft_of: Draft) -> None:
    answer = draft_of(OPEN, start="e4 e5 Nf3 Nc6")
    assert [(step.line, step.san, step.chosen_by) for step in answer.steps] == [
        ("", "e4", "teacher"),
        ("1. e4 e5", "Nf3", "teacher"),
        ("1. e4 e5 2. Nf3 Nc6", "Bb5", "numbers"),
    ]
    assert (answer.start, answer.games) == ("1. e4 e5 2. Nf3 Nc6", 75)
    assert answer.moves[0] == 3
    assert answer.states[0].answered == 1


def test_for_black_the_line_to_start_with_may_begin_with_whites_move(draft_of: Draft) -> None:
    games = [*OPEN, *many("1. e4 e5 2. Nf3 Nc6 3. Bb5 a6", 30, white=900, black=1300)]
    answer = draft_of(games, side="black", start="e4", filters=LEVEL)
    assert [(step.line, step.san) for step in answer.steps] == [
        ("1. e4", "e5"),
        ("1. e4 e5 2. Nf3", "Nc6"),
        ("1. e4 e5 2. Nf3 Nc6 3. Bb5", "a6"),
    ]
    assert answer.lines[0].step is None


def test_a_mate_wins_and_asks_no_more(draft_of: Draft) -> None:
    """1. e4 e5 2. Bc4 Nc6 3. Qh5 Nf6 4. Qxf7 mates: at moves 5 to 8 all games are won."""
    answer = draft_of(many("1. e4 e5 2. Bc4 Nc6 3. Qh5 Nf6 4. Qxf7#", 40))
    assert answer.steps[-1].san == "Qxf7#"
    assert answer.states[-1].won == 1
    assert answer.objective == pytest.approx(8)


def test_nobody_is_taught_after_his_own_mate(draft_of: Draft) -> None:
    answer = draft_of(many("1. f3 e5 2. g4 Qh4#", 40, results="L"))
    assert [step.san for step in answer.steps] == ["f3", "g4"]
    assert answer.skipped == ()
    assert answer.stopped == "nothing left"


def test_lines_that_merge_are_shown_once_and_named(draft_of: Draft, tmp_path: Path) -> None:
    """1... Nc6 2. Nf3 e5 comes to where 1... e5 2. Nf3 Nc6 is."""
    games = [
        *many("1. e4 e5 2. Nf3 Nc6 3. Bb5 a6 4. Ba4", 40),
        *many("1. e4 Nc6 2. Nf3 e5 3. Bb5 a6 4. Ba4", 35),
    ]
    answer = draft_of(games)
    merging = [move for move in answer.lines if move.same_as]
    assert [(move.san, move.same_as) for move in merging] == [("e5", "1. e4 e5 2. Nf3 Nc6")]
    assert merging[0].in_100 == pytest.approx(100 * 35 / 75)
    assert len([move for move in answer.lines if move.san == "Bb5"]) == 1
    assert len(read_back(answer, tmp_path).taught) == len(answer.steps)
    answer = draft_of(games, worth=47.0)
    assert [move.san for move in answer.lines if move.same_as] == []


@pytest.mark.parametrize(
    ("wish", "words"),
    [
        ({"never": ""}, "--never: no move in it"),
        ({"never": "e4 e5"}, "--never 1. e4 e5: its last move is the opponent's"),
        ({"never": "e4", "start": "e4 e5"}, "--never: e4 is a move of --start 1. e4 e5"),
        ({"start": "8/8/8/4k3/8/4K3/4P3/8 w - - 0 1"}, "normal starting position"),
        ({"start": "f3 e5 g4 Qh4"}, "the game is over here"),
        ({"start": "e4 e5 Nf3 Nc6", "to_move": 2}, "--to-move 2: the student's first move here is"),
        ({"start": "Nf3 Nf6 Ng1 Ng8 e4"}, "two moves in one position"),
    ],
)
def test_what_cannot_be_meant_is_one_line(
    draft_of: Draft, wish: dict[str, object], words: str
) -> None:
    with pytest.raises(UsageError) as error:
        draft_of(OPEN, **wish)
    assert words in str(error.value)
    assert "\n" not in str(error.value)


@pytest.mark.parametrize(
    ("wish", "words"),
    [
        ({"start": "h4"}, "no game reached this position"),
        ({"model": (Level(2000, None),)}, "the starting position: no move has enough games"),
        ({"start": "e4 e5 Nf3 d6", "never": "e4 e5 Nf3 d6 d4"}, "d4 and the other common moves"),
        ({"start": "e4", "worth": 90.0}, "no position after it is met in more than 71 of 100"),
        ({"start": "e4 e5 Nf3 d6 d4"}, "too few games go on from here"),
    ],
)
def test_where_nothing_can_be_taught_it_is_said_why(
    draft_of: Draft, wish: dict[str, object], words: str
) -> None:
    with pytest.raises(NothingFound) as error:
        draft_of(OPEN, **wish)
    assert words in str(error.value)
    assert "\n" not in str(error.value)
