"""What `mistake` counts, what it leaves out, and which punishment it chooses."""

from __future__ import annotations

from pathlib import Path

import pytest

from explorer.positions.typed import parse_position
from explorer.query.filters import Filters
from explorer.query.library import open_library
from explorer.query.mistake import mistake
from explorer.query.mistake_model import Difference, MistakeAnswer, Rate
from ingest.errors import NothingFound, PositionError, UsageError
from tests.support.club import CLUB, Add, Played

OTHER = "1. e4 e5 2. Nf3 Nc6 3. Bc4"
BAD = "1. e4 e5 2. Nf3 f6"
FEN_TAGS = (
    ("SetUp", "1"),
    ("FEN", "rnbqkbnr/pppp1ppp/8/4p3/4P3/5N2/PPPP1PPP/RNBQKB1R b KQkq - 1 2"),
)


def ask(library: Path, line: str = "e4 e5 Nf3 f6", punish: str | None = None) -> MistakeAnswer:
    with open_library(library) as opened:
        words = None if punish is None else punish.split()
        return mistake(opened, parse_position(line), Filters(), words)


def many(
    moves: str,
    count: int,
    result: str = "1-0",
    ratings: tuple[int | None, int | None] = (1000, 1000),
    players: int = 8,
    name: str = "P",
) -> list[Played]:
    """Games alike but for the players, of whom there are ``players`` with each colour."""
    return [
        Played(
            moves, f"White {name}{n % players}", f"Black {name}{n % players}", *ratings, result,
            f"2024.{1 + n // 28:02}.{1 + n % 28:02}",
        )
        for n in range(count)
    ]  # fmt: skip


def test_a_line_without_moves_is_no_mistake(add: Add) -> None:
    with pytest.raises(UsageError, match="a mistake is a move"):
        ask(add(CLUB), "")


def test_a_position_that_nobody_reached_is_nothing_found(add: Add) -> None:
    with pytest.raises(NothingFound, match="no game reached this position"):
        ask(add(CLUB), "h4 h5 a4")


@pytest.mark.parametrize(
    ("punish", "error", "message"),
    [
        ("Nxe5 fxe5", UsageError, "begins and ends with a move of the side that punishes"),
        ("", UsageError, "begins and ends with a move of the side that punishes"),
        ("Qh6", PositionError, "--punish: move 3, White: Qh6 is not legal"),
        ("Nxe5 fxe5 Qh5+", UsageError, "the library keeps the first 3 moves of a game"),
    ],
)
def test_moves_that_are_no_punishing_line_are_refused(
    add: Add, punish: str, error: type[Exception], message: str
) -> None:
    library = add([*many(BAD, 1), *many(OTHER, 1, name="Q")], plies=6)
    with pytest.raises(error, match=message):
        ask(library, punish=punish)


def test_a_mistake_that_nobody_made_is_at_most_so_frequent(add: Add) -> None:
    every = ask(add(many(OTHER, 60))).levels[-1]
    assert (every.rate.cases, every.rate.games, every.rate.low) == (0, 60, 0)
    assert every.rate.high is not None
    assert 0 < every.rate.high < 0.07
    assert (every.score, every.cost.value, every.in_all_games.cases) == (None, None, 0)


def test_a_mate_is_the_punishment_by_the_rules(add: Add) -> None:
    """The four-move mate: Black walks into it three times, White finds it twice."""
    start = "1. e4 e5 2. Bc4 Nc6 3. Qh5 "
    games = [
        *many(start + "Nf6 4. Qxf7#", 2),
        *many(start + "Nf6 4. d3 Nxh5", 1, "0-1", name="Q"),
        *many(start + "g6 4. Qf3 Nf6", 2, name="R"),
    ]
    answer = ask(add(games), "e4 e5 Bc4 Nc6 Qh5 Nf6")
    assert answer.punishment is not None
    assert (answer.punishment.sans, answer.punishment.chosen_by) == (("Qxf7#",), "rules")
    found = answer.punishment.levels[-1].steps[0].found
    assert (found.cases, found.games) == (2, 3)
    # Mated games are told apart and are no part of the swing: only the queen won is.
    every = answer.levels[-1]
    assert (every.mated, every.swing.games, every.rate.cases) == (2, 1, 3)


def test_of_several_mates_the_commonest_is_named(add: Add) -> None:
    """After 1. f3 e5 2. g4 only Qh4 mates; here a queen has two ways."""
    start = "7k/5Q2/6K1/8/8/8/8/r7 b - - 0 1"
    tags = (("SetUp", "1"), ("FEN", start))
    games = [
        Played(f"1... Ra2 2. {mate}", f"White {n}", "Black", 1000, 1000, "1-0", tags=tags)
        for n, mate in enumerate(("Qf8#", "Qh7#", "Qh7#"))
    ]
    answer = ask(add(games), f"{start} Ra2")
    assert answer.punishment is not None
    assert (answer.punishment.sans, answer.punishment.chosen_by) == (("Qh7#",), "rules")
    assert answer.punishment.line == "2. Qh7#"


def test_else_the_numbers_choose_the_reply_that_surely_does_best(add: Add) -> None:
    """3. Nc3 won its five games, but five are too few; 3. Nxe5 did better than 3. Bc4."""
    games = [
        *many(BAD + " 3. Nxe5 Qe7", 30, "1-0", name="P"),
        *many(BAD + " 3. Nxe5 Qe7", 6, "0-1", name="Q"),
        *many(BAD + " 3. Bc4 d6", 30, "1/2-1/2", name="R"),
        *many(BAD + " 3. Nc3 d6", 5, "1-0", name="S"),
        *many(BAD + " 3. d4 d6", 40, "1-0", name="T", players=4),
    ]
    found = ask(add(games)).punishment
    assert found is not None
    assert (found.sans, found.chosen_by) == (("Nxe5",), "numbers")
    assert not found.worse_than_alternatives


def test_else_there_is_none(add: Add) -> None:
    assert ask(add(many(BAD + " 3. Nxe5", 29))).punishment is None


@pytest.mark.parametrize("rating", [1000, None])
def test_a_punishment_that_scores_worse_is_said_to(add: Add, rating: int | None) -> None:
    """Against expectation; by the plain score where players are not rated."""
    games = [
        *many(BAD + " 3. Nxe5 Qe7", 40, "0-1", (rating, rating), name="P"),
        *many(BAD + " 3. Bc4 d6", 40, "1-0", (rating, rating), name="Q"),
    ]
    found = ask(add(games), punish="Nxe5").punishment
    assert found is not None
    assert found.worse_than_alternatives
    assert found.levels[-1].score_gain.value == -1
    assert found.levels[-1].gain.value == (None if rating is None else -1)


def test_a_game_cut_short_before_the_move_is_in_no_denominator(add: Add) -> None:
    """Cut at its third ply it could not show the mistake at ply 3; cut later it did or did not."""
    games = [
        *many(BAD + " 3. d4", 1),
        *many("1. e4 e5 2. Nf3 Nc6 3. Kd4", 1, name="Q"),
        *many("1. e4 e5 2. Nf3 f6 3. Kd4", 1, name="R"),
        *many("1. e4 e5 2. Nf3 Kd4", 1, name="S"),
        *many("1. e4 e5 2. Kd4", 1, name="T"),
        *many("1. e4", 1, name="U"),
        *many("1. e4 e5", 1, name="V"),
    ]
    every = ask(add(games)).levels[-1]
    assert (every.rate.cases, every.rate.games) == (2, 3)
    assert (every.in_all_games.cases, every.in_all_games.games) == (2, 4)


def test_games_from_another_start_are_in_the_share_but_not_in_all_games(add: Add) -> None:
    games = [
        *many(BAD, 2),
        Played("2... f6 3. Nxe5", "Own, Otto", "Start, Sue", 1000, 1000, tags=FEN_TAGS),
    ]
    library = add(games)
    every = ask(library).levels[-1]
    assert (every.rate.cases, every.in_all_games.cases, every.in_all_games.games) == (3, 2, 2)
    by_fen = ask(library, f"{FEN_TAGS[1][1]} f6").levels[-1]
    assert by_fen.rate == every.rate
    assert by_fen.in_all_games == every.in_all_games
    assert (by_fen.headed_for, by_fen.headed_for_games) == (None, 0)


def test_the_habit_of_one_player_is_muted_and_named(add: Add) -> None:
    habit = many(BAD + " 3. d4", 20, players=1, name="Habit ")
    rate = ask(add([*many(OTHER, 60), *habit])).levels[-1].rate
    assert (rate.cases, rate.case_players, rate.top_player_cases) == (20, 1, 20)
    assert rate.one_player
    assert rate.muted
    assert not rate.few


def test_it_fades_over_the_rated_levels_with_enough_games(add: Add) -> None:
    """Half at 700, none at 1500; the one game at 2100 and the unrated have no say."""
    games = [
        *many(BAD + " 3. d4", 40, ratings=(1000, 700), players=40),
        *many(OTHER, 40, ratings=(1000, 700), players=40, name="Q"),
        *many(OTHER, 40, ratings=(1000, 1500), players=40, name="R"),
        *many(BAD, 1, ratings=(1000, 2100), name="S"),
        *many(BAD, 40, ratings=(1000, None), players=40, name="T"),
    ]
    trend = ask(add(games)).trend
    assert (trend.direction, trend.levels) == ("fades", 2)
    assert trend.p is not None
    assert trend.p < 1e-6


def test_a_game_that_had_been_there_before_is_not_followed(add: Add) -> None:
    """Knights out and back: the position after 3... Ng8 was there at ply 2 already."""
    games = [
        *many("1. e4 e5 2. Nf3 Nf6 3. Ng1 Ng8 4. Qh5 g6", 1),
        *many("1. e4 e5 2. Qh5", 3, name="Q"),
    ]
    found = ask(add(games), "e4 e5 Nf3 Nf6 Ng1 Ng8", "Qh5").punishment
    assert found is not None
    assert found.levels[-1].steps[0].found.games == 0
    assert found.other_ways == 4


def test_few_and_habits_are_told_by_the_answer_itself() -> None:
    few = Rate(1, 29, 29, 1 / 29, 0.0, 0.2, 1, 1)
    assert (few.few, few.one_player, few.muted) == (True, False, True)
    assert Rate(10, 40, 4, 0.25, 0.1, 0.4, 3, 4).few
    assert Difference(0.1, 0.0, 0.2, 30, 29).few
    assert not Difference(0.1, 0.0, 0.2, 30, 30).few
    assert Difference(0.1, 0.0, 0.2, 30, 30, None, 5, 4).few
