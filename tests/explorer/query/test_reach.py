"""How games run through a lesson equals a slow recount, simulated games and a bootstrap."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from pathlib import Path
from random import Random

import chess
import chess.pgn
import numpy as np
import pytest

from explorer.numbers.chain import flow
from explorer.positions.lesson import Lesson, lesson_of, read_lesson
from explorer.positions.position import position_of
from explorer.positions.typed import parse_position
from explorer.query.filters import Filters
from explorer.query.lesson_shares import played_at, shares_at
from explorer.query.library import Library, open_library
from explorer.query.reach import Reach, first_turn_of, reach, route_of
from ingest.errors import InputError
from ingest.levels import Level, bands
from tests.support.club import Add, Played
from tests.support.random_world import World
from tests.support.recount_lessons import KINDS, Slow, random_lesson

CASES = 12  # for each of three seeds
TURNS = 5


def run(
    library: Library,
    lesson: Lesson,
    filters: Filters,
    min_games: int,
    turns: int = TURNS,
    start: str = "",
) -> Reach:
    route = route_of(lesson, parse_position(start.split()), turns)
    with library.reading() as (cursor, facts):
        played = played_at(cursor, facts, list(route.after), filters)
        return reach(route, played.chosen(filters.levels, min_games), min_games)


def question(world: World) -> tuple[chess.pgn.Game, str, Filters, int]:
    """A lesson that teaches something, its side, filters, and how few games are too few."""
    while True:
        side = world.random.choice(("white", "black"))
        game = random_lesson(world, side)
        try:
            lesson_of([game], "lesson", side)
        except InputError:
            continue
        return game, side, replace(world.filters(), side=None), world.random.choice((1, 3, 8))


def slow_of(world: World, game: chess.pgn.Game, side: str, filters: Filters, least: int) -> Slow:
    slow = Slow(world.recount, side == "white", filters, least)
    slow.read(game)
    return slow


def test_the_states_equal_the_recount(world: World) -> None:
    """All five, at each turn, for random lessons, filters and borrowing."""
    seen = Counter[str]()
    for _ in range(CASES):
        game, side, filters, least = question(world)
        slow = slow_of(world, game, side, filters, least)
        found = run(world.library, lesson_of([game], "lesson", side), filters, least)
        for standing in found.run.standings:
            wanted = slow.states(chess.Board(), standing.turn - 1)
            told = {kind: getattr(standing, kind) for kind in KINDS}
            assert told == pytest.approx({kind: wanted[kind] for kind in KINDS}, abs=1e-9)
            seen.update(kind for kind in KINDS if told[kind])
        for key, fen in found.route.fens.items():
            games, borrowed = slow.games(chess.Board(fen))
            shares = found.shares[key]
            assert (shares.games, shares.players) == (len(games), len({v.mover for v in games}))
            assert shares.borrowed == borrowed
            for move in shares.replies:
                players = {v.mover for v in games if v.move and packed(v.move) == move}
                assert found.chosen.players_of(key, move) == len(players)
            seen["borrowed"] += borrowed
    assert min(seen[kind] for kind in ("answer", "ended", "unanswered", "too_few", "borrowed")) > 0


def packed(move: chess.Move) -> int:
    return move.from_square + 64 * move.to_square + 4096 * (move.promotion or 0)


def test_the_states_equal_20000_simulated_games(world: World) -> None:
    """Played from the games of the library, reply by reply; within five standard errors."""
    draw, games = Random(world.seed), 20_000
    game, side, _, _ = question(world)
    slow = slow_of(world, game, side, Filters(), 3)
    found = run(world.library, lesson_of([game], "lesson", side), Filters(), 3)
    played = [slow.play(draw, chess.Board(), TURNS) for _ in range(games)]
    for turn, standing in enumerate(found.run.standings):
        counts = Counter(told[turn] for told in played)
        for kind in KINDS:
            part = getattr(standing, kind)
            error = max(0.0, part * (1 - part) / games) ** 0.5
            assert counts[kind] / games == pytest.approx(part, abs=5 * error + 1e-9)


def lesson(tmp_path: Path, text: str, side: str = "white") -> Lesson:
    file = tmp_path / "lesson.pgn"
    file.write_text(text, "utf-8")
    return read_lesson(str(file), side)


def test_answering_a_reply_adds_what_games_came_by_it(world: World) -> None:
    """Over the turns the answered share rises by the part that came to the position; at the
    turn at which it is met by all that meets it then. So do further answers."""
    tried = 0
    for _ in range(CASES):
        game, side, filters, least = question(world)
        found = run(world.library, lesson_of([game], "lesson", side), filters, least)
        known = found.route.known
        open_ = {to for met in found.run.met.values() for to in met} - known - {found.chain.start}
        if not open_:
            continue
        tried += 1
        position = max(open_, key=lambda to: (found.run.reach(to), to))
        found.chain.taught[position] = -1
        after = flow(found.chain, TURNS)
        rises = [a.answered - b.answered for a, b in zip(after.standings, found.run.standings,
                                                         strict=True)]  # fmt: skip
        assert sum(rises) == pytest.approx(found.run.reach(position))
        for standing, rise in zip(found.run.standings, rises, strict=True):
            assert rise == pytest.approx(found.run.met[standing.turn].get(position, 0))
    assert tried


ORDERS = (
    "1. e4 e5 2. Nf3 Nc6 (2... Nf6 3. Bc4 Nc6 4. d3) 3. Bc4 Nf6 4. d3 d6 *",
    "1. e4 e5 2. Nf3 Nf6 (2... Nc6 3. Bc4 Nf6) 3. Bc4 Nc6 4. d3 d6 *",
)


def test_another_move_order_gives_identical_figures(world: World, tmp_path: Path) -> None:
    """The same positions and taught moves, written down along other lines."""
    first, second = (run(world.library, lesson(tmp_path, text), Filters(), 1) for text in ORDERS)
    for one, other in zip(first.states(), second.states(), strict=True):
        for name in one.__slots__:
            value, wanted = getattr(one, name), getattr(other, name)
            assert value == (None if wanted is None else pytest.approx(wanted, abs=1e-12))


def test_a_reply_that_comes_back_into_the_lesson_is_answered(add: Add, tmp_path: Path) -> None:
    """2... Nc6 is not in the lesson at this place, but the position is."""
    moves = ["e4 e5 Nf3 Nc6", "e4 Nc6 Nf3 e5", "e4 Nc6 Nf3 d6"]
    add([Played(line, f"W{i}", f"B{i}") for i, line in enumerate(moves)])
    text = "1. e4 e5 (1... Nc6 2. Nf3) 2. Nf3 Nc6 3. Bc4 *"
    with open_library(tmp_path / "games.db") as library:
        found = run(library, lesson(tmp_path, text), Filters(), 1, 3)
    third = found.run.standings[2]
    assert (third.answer, third.unanswered) == (pytest.approx(2 / 3), pytest.approx(1 / 3))


def test_a_start_line_counts_only_games_that_come_there(world: World, tmp_path: Path) -> None:
    """The figures below 1. e4 e5 are those of the whole, divided by what comes there."""
    read = lesson(tmp_path, ORDERS[0])
    whole = run(world.library, read, Filters(), 1)
    below = run(world.library, read, Filters(), 1, start="e4 e5")
    here = whole.run.met[2][parse_position(["e4", "e5"]).key]
    assert below.run.standings[0].turn == 2
    assert below.run.standings[2].answer == pytest.approx(whole.run.standings[3].answer / here)
    after = run(world.library, read, Filters(), 1, start="e4")
    assert after.run.standings == whole.run.standings[1:]


def test_a_start_that_the_lesson_does_not_come_to_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"no line of the lesson comes to 1\. d4"):
        route_of(lesson(tmp_path, ORDERS[0]), parse_position(["d4"]), 5)


@pytest.mark.parametrize(
    ("line", "side", "turn"),
    [("", "white", 1), ("", "black", 1), ("e4", "black", 1), ("e4", "white", 2),
     ("e4 e5", "white", 2), ("e4 e5", "black", 2)],
)  # fmt: skip
def test_the_student_s_turns_are_the_game_s_move_numbers(line, side, turn) -> None:
    assert first_turn_of(parse_position(line.split()), side) == turn


def test_mate_by_a_taught_move_is_won_and_stalemate_has_ended(add: Add, tmp_path: Path) -> None:
    add([Played("f3 e5 g4 Qh4#", "A", "B"), Played("f3 e5 e4 d6", "C", "D")])
    text = "1. f3 (1. e4 e5) e5 2. g4 (2. e4 d6) Qh4# *"
    with open_library(tmp_path / "games.db") as library:
        found = run(library, lesson(tmp_path, text, "black"), Filters(), 1, 4)
    assert [one.answered for one in found.run.standings] == [1, 1, 0.5, 0.5]
    assert found.run.standings[3].won == 0.5


# A stalemate in ten moves, from memory.
STALEMATE = "e3 a5 Qh5 Ra6 Qxa5 h5 h4 Rah6 Qxc7 f6 Qxd7+ Kf7 Qxb7 Qd3 Qxb8 Qh7 Qxc8 Kg6 Qe6"


def test_shares_that_add_up_to_all_games_are_all(add: Add, tmp_path: Path) -> None:
    """Of seven games each reply is answered: not 0.9999999999999998 of them."""
    replies = ["e5", "c5", "e6", "c6", "d5", "d6", "g6"]
    add([Played(f"e4 {reply}", f"W{i}", f"B{i}") for i, reply in enumerate(replies)])
    text = "1. e4 e5 " + " ".join(f"(1... {r} 2. Nc3)" for r in replies[1:]) + " 2. Nc3 *"
    with open_library(tmp_path / "games.db") as library:
        found = run(library, lesson(tmp_path, text), Filters(), 1, 2)
    assert found.run.standings[1].answer == pytest.approx(1)
    assert found.states()[1].answered == 1


def test_stalemate_has_ended(add: Add, tmp_path: Path) -> None:
    add([Played(STALEMATE, "A", "B", result="1/2-1/2")])
    with open_library(tmp_path / "games.db") as library:
        found = run(library, lesson(tmp_path, f"{STALEMATE} *"), Filters(), 1, 11)
    *before, last = found.run.standings
    assert all(one.answer == 1 for one in before)
    assert last.ended == 1


def test_the_interval_equals_a_bootstrap_of_players(add: Add, tmp_path: Path) -> None:
    """Players with habits, each with several games: 2,000 samples of players, 95 % of them."""
    rng = np.random.default_rng(7)
    lines, who = habits(rng)
    tails = [f"{a}{n}" for a in "abgh" for n in (3, 4)]
    add(
        [
            Played(f"{line} {tails[i % 8]}", f"W{i}", f"Player {who[i]}", 1000, 1000)
            for i, line in enumerate(lines)
        ]
    )
    text = "1. e4 e5 (1... c5 2. Nf3 d6 3. d4) 2. Nf3 Nc6 3. Bc4 *"
    with open_library(tmp_path / "games.db") as library:
        found = run(library, lesson(tmp_path, text), Filters(), 1, 3)
    state = found.states()[2]
    shares = [answered(lines, who, rng.integers(0, 60, 60)) for _ in range(2000)]
    low, high = np.percentile(shares, (2.5, 97.5))
    assert state.answered == pytest.approx(answered(lines, who, np.arange(60)))
    assert (state.low, state.high) == (pytest.approx(low, abs=0.02), pytest.approx(high, abs=0.02))
    plain = (state.answered * (1 - state.answered) / len(lines)) ** 0.5
    assert state.high - state.low > 1.3 * 2 * 1.96 * plain


def habits(rng: np.random.Generator) -> tuple[list[str], list[int]]:
    """Each of 60 players mostly has one reply at each position."""
    lines, who = [], []
    replies = (("e5", "c5", "d5"), ("Nc6", "d6", "Nf6"))
    for player in range(60):
        favourite = [rng.integers(0, 3), rng.integers(0, 3), rng.integers(0, 3)]
        for _ in range(10):
            one, *two = (int(f) if rng.random() < 0.7 else int(rng.integers(0, 3))
                         for f in favourite)  # fmt: skip
            second = {"e5": replies[1][two[0]], "c5": replies[1][two[1]]}.get(replies[0][one])
            rest = f" Nf3 {second} d3" if second else " exd5"
            lines.append(f"e4 {replies[0][one]}{rest}")
            who.append(player)
    return lines, who


def answered(lines: list[str], who: list[int], sample: np.ndarray) -> float:
    """The part that plays 1... e5 2... Nc6 or 1... c5 2... d6, from a sample of players."""
    weight = np.bincount(sample, minlength=60)[np.array(who)]
    at = {
        start: weight[[line.startswith(start) for line in lines]].sum()
        for start in ("e4 e5", "e4 e5 Nf3 Nc6", "e4 c5", "e4 c5 Nf3 d6")
    }
    every = weight.sum()
    return float((at["e4 e5 Nf3 Nc6"] + at["e4 c5 Nf3 d6"]) / every)


def test_shares_are_asked_for_in_one_pass_or_one_by_one_alike(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    """However many positions are asked about, and in whatever slices."""
    keys = sorted({world.position().key for _ in range(30)})
    filters = Filters(levels=(Level(1000, 1499),))
    ask = keys, filters, 3
    with world.library.reading() as (cursor, facts):
        one_pass = shares_at(cursor, facts, *ask)
        monkeypatch.setattr("explorer.query.lesson_shares.AT_ONCE", 7)
        assert shares_at(cursor, facts, *ask) == one_pass
        played = played_at(cursor, facts, keys, filters, [bands(filters.cuts)[2:4]])
        assert played.chosen(filters.levels, 3).shares() == one_pass
        assert shares_at(cursor, facts, [], filters, 3) == {}


def test_unrated_players_borrow_from_nobody(world: World) -> None:
    unrated = Filters(levels=(Level(None, None),))
    start = position_of(chess.Board()).key
    with world.library.reading() as (cursor, facts):
        few = shares_at(cursor, facts, [start], unrated, 10_000)[start]
        none = shares_at(cursor, facts, [start], Filters(), 10_000)[start]
    assert not few.borrowed
    assert not none.borrowed
    assert 0 < few.games < none.games
