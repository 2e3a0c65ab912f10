"""Twenty games, one of them an escape, whose chances and finds are counted by hand here.

1-3   the mistake, and both moves of the punishment
4     the first move of it, the second missed
5     the first move of it, and Black escapes by 3... Qe7
6     the first move of it, and Black gives up
7-9   the mistake, and another move
10    the mistake, and a draw
11    the position after the mistake by another order of Black's moves: no mistake
12    the mistake by another order of White's moves, and both moves of the punishment
13-18 another second move for Black
19-20 other openings
"""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from explorer.positions.typed import parse_position
from explorer.query.filters import Filters
from explorer.query.library import open_library
from explorer.query.mistake import mistake
from explorer.query.mistake_model import MistakeAnswer
from tests.support.club import Add, Played

LOW, HIGH = 900, 1100
# Moves, White's rating (who may punish), Black's (who errs), result.
GAMES = (
    ("1. e4 e5 2. Nf3 f6 3. Nxe5 fxe5 4. Qh5+ g6 5. Qxe5+", LOW, LOW, "1-0"),
    ("1. e4 e5 2. Nf3 f6 3. Nxe5 fxe5 4. Qh5+ Ke7 5. Qxe5+", HIGH, LOW, "1-0"),
    ("1. e4 e5 2. Nf3 f6 3. Nxe5 fxe5 4. Qh5+ g6 5. Qxe5+ Qe7", LOW, LOW, "0-1"),
    ("1. e4 e5 2. Nf3 f6 3. Nxe5 fxe5 4. Nc3 Nf6", LOW, LOW, "0-1"),
    ("1. e4 e5 2. Nf3 f6 3. Nxe5 Qe7 4. Nf3", HIGH, HIGH, "1/2-1/2"),
    ("1. e4 e5 2. Nf3 f6 3. Nxe5", HIGH, LOW, "1-0"),
    ("1. e4 e5 2. Nf3 f6 3. Bc4 Nc6", LOW, LOW, "0-1"),
    ("1. e4 e5 2. Nf3 f6 3. d4 exd4", LOW, HIGH, "0-1"),
    ("1. e4 e5 2. Nf3 f6 3. Nc3 d6", HIGH, LOW, "1-0"),
    ("1. e4 e5 2. Nf3 f6", LOW, None, "1/2-1/2"),
    ("1. Nf3 f6 2. e4 e5 3. Nxe5", HIGH, LOW, "1-0"),
    ("1. Nf3 e5 2. e4 f6 3. Nxe5 fxe5 4. Qh5+ Ke7", None, LOW, "1-0"),
    ("1. e4 e5 2. Nf3 Nc6 3. Bc4", LOW, LOW, "1-0"),
    ("1. e4 e5 2. Nf3 Nc6 3. Bb5", HIGH, HIGH, "0-1"),
    ("1. e4 e5 2. Nf3 d6 3. d4", LOW, HIGH, "1/2-1/2"),
    ("1. e4 e5 2. Nf3 Nc6 3. d4", LOW, LOW, "0-1"),
    ("1. e4 e5 2. Nf3 Nf6 3. Nxe5", HIGH, HIGH, "1-0"),
    ("1. e4 e5 2. Nf3 Nc6 3. Nc3", HIGH, None, "1/2-1/2"),
    ("1. e4 c5 2. Nf3 d6", LOW, LOW, "1-0"),
    ("1. d4 d5 2. c4", HIGH, HIGH, "0-1"),
)


@pytest.fixture
def answer(add: Add) -> Iterator[MistakeAnswer]:
    games = [
        Played(moves, f"White {n}", f"Black {n}", white, black, result)
        for n, (moves, white, black, result) in enumerate(GAMES, start=1)
    ]
    line = parse_position("e4 e5 Nf3 f6")
    with open_library(add(games)) as library:
        yield mistake(library, line, Filters(cuts=(1000,)), ["Nxe5", "fxe5", "Qh5+"])


def test_the_mistake_is_counted_by_level_of_black(answer: MistakeAnswer) -> None:
    """Games 1-10 and 12 of the 17 that reached 2. Nf3; by Black: low, high, unrated, all."""
    assert answer.line == "1. e4 e5 2. Nf3 f6"
    assert [(row.rate.cases, row.rate.games) for row in answer.levels] == [
        (8, 10),  # low: 1-4, 6, 7, 9, 12, and 13, 16
        (2, 5),  # high: 5, 8, and 14, 15, 17
        (1, 2),  # unrated: 10, and 18
        (11, 17),
    ]


def test_in_all_games_it_is_counted_among_every_game_of_black(answer: MistakeAnswer) -> None:
    """All twenty games have a move by each side; 11 and 19 are low, 20 is high."""
    counts = [(row.in_all_games.cases, row.in_all_games.games) for row in answer.levels]
    assert counts == [(8, 12), (2, 6), (1, 2), (11, 20)]


def test_headed_for_it_is_the_product_of_blacks_shares(answer: MistakeAnswer) -> None:
    """17 games began 1. e4 and 16 of them 1... e5; then 11 of 17 played 2... f6."""
    every = answer.levels[-1]
    assert every.headed_for == pytest.approx(16 / 17 * 11 / 17)
    assert every.headed_for_games == 17


def test_chances_and_finds_are_counted_by_level_of_white(answer: MistakeAnswer) -> None:
    """Step 1: games 1-9 and 12, found in 1-6 and 12. Step 2: 1-4 and 12, found but for 4."""
    found = answer.punishment
    assert found is not None
    assert (found.line, found.chosen_by) == ("3. Nxe5 fxe5 4. Qh5+", "teacher")
    assert [(step.number, step.san) for step in found.levels[0].steps] == [
        ("3.", "Nxe5"),
        ("4.", "Qh5+"),
    ]
    counts = [
        [(step.found.cases, step.found.games) for step in level.steps] for level in found.levels
    ]
    assert counts == [
        [(3, 5), (2, 3)],  # low: 1, 3, 4 of 1, 3, 4, 7, 8; then 1 and 3
        [(3, 4), (1, 1)],  # high: 2, 5, 6 of 2, 5, 6, 9; then 2
        [(1, 1), (1, 1)],  # unrated: 12
        [(7, 10), (4, 5)],
    ]
    assert [level.would_know for level in found.levels] == pytest.approx(
        [3 / 5 * 2 / 3, 3 / 4, 1, 7 / 10 * 4 / 5]
    )


def test_the_escape_is_no_missed_chance(answer: MistakeAnswer) -> None:
    """Of six answers to 3. Nxe5 one is the escape of game 5; game 6 has no answer."""
    assert answer.punishment is not None
    low, high, unrated, every = (level.steps for level in answer.punishment.levels)
    assert [(b.san, b.games, b.escaped) for b in every[1].between] == [
        ("fxe5", 5, False),
        ("Qe7", 1, True),
    ]
    assert [b.share for b in every[1].between] == pytest.approx([5 / 6, 1 / 6])
    assert [steps[1].escaped for steps in (low, high, unrated, every)] == [0, 1, 0, 1]
    assert every[0].between == ()


def test_another_way_to_the_position_is_counted_apart(answer: MistakeAnswer) -> None:
    """Game 11 reaches it by 2... e5, and its 3. Nxe5 is no find."""
    assert answer.punishment is not None
    assert answer.punishment.other_ways == 1


def test_what_the_first_move_gains(answer: MistakeAnswer) -> None:
    """White scored 1 1 0 0 1/2 1 1 with it and 0 0 1 without: 4.5 of 7 against 1 of 3."""
    assert answer.punishment is not None
    gain = answer.punishment.levels[-1].score_gain
    assert gain.value == pytest.approx(4.5 / 7 - 1 / 3)
    assert (gain.games, gain.other_games, gain.few) == (7, 3, True)
    assert not answer.punishment.worse_than_alternatives


def test_what_the_mistake_costs_against_expectation(answer: MistakeAnswer) -> None:
    """By FIDE table 8.1.2 Black expects .5 against an equal, .24 and .76 at 200 points apart.

    The mistake, in the games with two ratings: 1 (0 - .5), 2 (0 - .24), 3 (1 - .5),
    4 (1 - .5), 5 (.5 - .5), 6 (0 - .24), 7 (1 - .5), 8 (1 - .76), 9 (0 - .24); other moves:
    13 (0 - .5), 14 (1 - .5), 15 (.5 - .76), 16 (1 - .5), 17 (0 - .5).
    """
    every = answer.levels[-1]
    assert answer.source.expectation == "fide"
    assert every.over_expected == pytest.approx((-0.5 - 0.24 * 3 + 1.5 + 0.24) / 9)
    assert every.cost.value == pytest.approx(0.52 / 9 - (-0.26) / 5)
    assert (every.cost.games, every.cost.other_games) == (9, 5)
    assert every.score == pytest.approx((3 + 1 + 0.5 + 0.5) / 11)  # 3, 4, 7, 8; 5; 10
