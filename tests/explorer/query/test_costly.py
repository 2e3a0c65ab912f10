"""Costly replies: what is a finding, and what never is one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import astuple
from itertools import cycle

import pytest

from explorer.positions.typed import parse_position
from explorer.query.costly import compare, costly
from explorer.query.filters import Filters
from explorer.query.library import open_library
from explorer.query.mistake import mistake
from explorer.query.mistake_model import CostlyAnswer
from ingest.errors import NothingFound, UsageError
from ingest.levels import Level, parse_level
from tests.support.club import AMBER, BIRK, Add, Played

EVEN = ("1-0", "0-1")
LOST = ("1-0", "1-0", "1-0", "1-0", "0-1")  # by Black
MAIN = "1. e4 e5 2. Nf3 Nc6 3. Bb5"
WEAK = "1. e4 e5 2. Nf3 f6 3. Nxe5 fxe5"
OTHER = "1. e4 e5 2. Nf3 d6 3. d4"


def many(
    moves: str,
    count: int,
    results: Sequence[str] = EVEN,
    rating: int | None = 900,
    black: str | None = None,
) -> list[Played]:
    """Games of as many players, White's and Black's rating alike."""
    scores = cycle(results)
    return [
        Played(
            moves,
            f"Guest {i} of {rating}",
            black or f"Host {i} of {moves[-30:]}",
            rating,
            rating,
            next(scores),
            f"2024.{i % 12 + 1:02}.{i % 28 + 1:02}",
        )
        for i in range(count)
    ]


def ask(add: Add, games: Sequence[Played], words: str = "", **options: object) -> CostlyAnswer:
    with open_library(add(games)) as library:
        return costly(library, parse_position(words), Filters(), **options)  # type: ignore[arg-type]


def test_a_reply_that_scores_below_the_others_is_found(add: Add) -> None:
    """With its cost, its rate, what it loses in 100 games, what to play and what punishes it."""
    games = many(MAIN, 150) + many(WEAK, 60, LOST) + many(OTHER, 90)
    answer = ask(add, games, side="black")
    (row,) = answer.found
    assert (row.line, row.name, row.san) == ("1. e4 e5 2. Nf3 f6", "Damiano Defence", "f6")
    assert row.position.line == "1. e4 e5 2. Nf3"
    assert (row.rate.cases, row.rate.games, row.rate.case_players) == (60, 300, 60)
    assert (row.in_all_games.cases, row.in_all_games.games) == (60, 300)
    assert row.cost.value == pytest.approx(-0.3, abs=0.001)
    assert row.lost == pytest.approx(100 * 60 / 300 * 0.3, abs=0.02)
    assert row.lost_low is not None
    assert row.lost_high is not None
    assert 0 < row.lost_low < row.lost < row.lost_high
    assert (row.found_by, row.level) == ("results", "all levels")
    assert row.instead is not None
    assert (row.instead.san, row.instead.games, row.instead.share) == ("Nc6", 150, 0.5)
    assert row.punisher == "Nxe5"
    assert row.punished is not None
    assert (row.punished.cases, row.punished.games) == (60, 60)
    assert [(level.label, level.games, level.of) for level in row.levels if level.of] == [
        ("800-999", 60, 300)
    ]
    assert answer.could_show is not None
    assert (answer.candidates, answer.found_left_out) == (3, 0)


def test_the_most_costly_comes_first_and_the_rest_is_counted(add: Add) -> None:
    """Rank is by points lost in 100 games, not by the cost of one; ``top`` shows the first."""
    rare = many("1. e4 e5 2. Nf3 Bd6 3. Bc4", 50, ("1-0",))
    common = many(WEAK, 200, LOST)
    games = many(MAIN, 300) + rare + common
    shown = ask(add, games, top=1)
    assert [row.san for row in shown.found] == ["f6"]
    assert shown.found_left_out == 1


def test_what_costs_little_is_found_but_not_shown(add: Add) -> None:
    """``at_least`` is in points in 100 games with the reply; tests and findings stay the same."""
    games = many(MAIN, 150) + many(WEAK, 60, LOST) + many(OTHER, 90)
    for at_least, found, too_small in ((0, 1, 0), (29, 1, 0), (31, 0, 1)):
        answer = ask(add, games, side="black", at_least=at_least)
        assert (len(answer.found), answer.too_small) == (found, too_small)
        assert (answer.tests, answer.at_least) == (6, at_least)


def test_half_a_pawn_found_by_material_is_shown_whatever_the_points(add: Add) -> None:
    """It is not found by results, so that no number of points leaves it out."""
    (row,) = ask(add, trap(None), TRAP, at_least=100).found
    assert row.found_by == "material"


def test_the_habit_of_one_player_is_no_finding(add: Add) -> None:
    """One player's 60 lost games beside six of others are looked at, but not tested."""
    answer = ask(add, many(MAIN, 150) + many(WEAK, 60, LOST, black=BIRK) + many(WEAK, 6, LOST))
    assert answer.found == ()
    assert (answer.candidates, answer.tests) == (2, 0)


def test_what_one_player_does_better_makes_nothing_costly(add: Add) -> None:
    """All other replies are one player's, who wins: that is no cost of everybody's reply."""
    better = many(MAIN, 60, ("0-1",), black=BIRK) + many(MAIN, 5)
    assert ask(add, many(OTHER, 100) + better).tests == 0


TRAP = "1. e4 e5 2. Nf3 d6 3. Bc4 Bg4 4. Nc3 g6 5. Nxe5"
MATED = f"{TRAP} Bxd1 6. Bxf7+ Ke7 7. Nd5#"
MISSED = f"{TRAP} Bxd1 6. Nxd1 dxe5"
QUIET = f"{TRAP} Be6 6. Nf3"


def trap(rating: int | None) -> list[Played]:
    return (
        many(MATED, 80, ("1-0",), rating)
        + many(MISSED, 30, ("1/2-1/2",), rating)
        + many(QUIET, 80, ("1/2-1/2",), rating)
    )


def test_walking_into_mate_never_looks_cheap(add: Add) -> None:
    """Taking the queen wins material where it is not mated; without ratings it is found anyway."""
    answer = ask(add, trap(None), TRAP)
    (row,) = answer.found
    assert (row.san, row.mated, row.found_by) == ("Bxd1", 80, "material")
    assert row.swing.value is not None
    assert row.swing.value > 3
    assert (row.cost.value, row.lost, row.lost_low, row.instead) == (None, None, None, None)
    assert row.punisher is None


def test_results_find_the_mate_too(add: Add) -> None:
    """With ratings its points lost are known, and the quiet move is what to play."""
    (row,) = ask(add, trap(900), TRAP).found
    assert row.found_by == "both"
    assert row.lost == pytest.approx(100 * 110 / 190 * 0.5 * 80 / 110, abs=0.1)
    assert row.instead is not None
    assert row.instead.san == "Be6"


def test_a_mate_on_the_board_is_the_punishment(add: Add) -> None:
    """A reply that allows mate in one is punished by that, even if nobody plays it."""
    played = "1. e4 e5 2. Qh5 Nc6 3. Bc4 Nf6 4. Nc3"
    seen = "1. e4 e5 2. Qh5 Nc6 3. Bc4 g6 4. Qf3"
    (row,) = ask(add, many(seen, 90) + many(played, 60, LOST)).found
    assert (row.san, row.punisher) == ("Nf6", "Qxf7#")
    assert row.punished is not None
    assert (row.punished.cases, row.punished.games, row.punished.low) == (0, 60, 0)


def test_a_gambit_that_scores_is_not_costly(add: Add) -> None:
    """Material given up for results that are no worse is no finding."""
    gambit = "1. e4 e5 2. f4 exf4 3. Nf3 g5"
    games = many("1. e4 e5 2. Nf3 Nc6", 100) + many(gambit, 100, (*EVEN * 9, "1-0"))
    assert ask(add, games, side="white").found == ()


def test_only_games_that_went_through_the_position_count(add: Add) -> None:
    """Below 1. e4 e5 a game by 1. Nf3 e5 2. e4 is not there; the line is the commonest one."""
    around = many("1. Nf3 e5 2. e4 f6 3. Nxe5", 30, LOST)
    games = many(MAIN, 150) + many(WEAK, 60, LOST) + around
    (row,) = ask(add, games, "e4 e5").found
    assert (row.rate.cases, row.rate.games) == (60, 210)
    assert (row.in_all_games.cases, row.in_all_games.games) == (60, 240)
    (row,) = ask(add, games, side="black").found
    assert (row.rate.cases, row.line) == (90, "1. e4 e5 2. Nf3 f6")


def test_only_the_moves_asked_for_are_looked_at(add: Add) -> None:
    """One side's, and up to a move."""
    games = many(MAIN, 150) + many(WEAK, 60, LOST)
    assert ask(add, games, side="black", to_move=2).candidates == 2
    assert ask(add, games, side="white").candidates == 0
    assert ask(add, games, to_move=1).candidates == 0
    assert ask(add, games, min_games=61).candidates == 1


def test_what_the_next_level_no_longer_plays_is_outgrown(add: Add) -> None:
    """The costly reply that the higher level plays less is; one that it plays as often is not."""
    kept = "1. e4 e5 2. Nf3 Bd6 3. Bc4"
    games = many(MAIN, 150) + many(WEAK, 60, LOST) + many(kept, 60, LOST)
    games += many(MAIN, 200, rating=1300) + many(WEAK, 4, rating=1300)
    games += many(kept, 70, rating=1300)
    lower, higher = parse_level("800-999"), parse_level("1200-1399")
    with open_library(add(games)) as library:
        answer = compare(library, parse_position(""), Filters(), lower, higher, "black")
    assert {row.san for row in answer.answer.found} == {"f6", "Bd6"}
    (row,) = answer.outgrown
    assert (row.costly.san, row.costly.level) == ("f6", "800-999")
    assert (row.higher.cases, row.higher.games) == (4, 274)
    assert row.change.value == pytest.approx(4 / 274 - 60 / 270)
    assert (answer.lower, answer.higher) == ("800-999", "1200-1399")


def test_a_level_without_findings_has_nothing_to_outgrow(add: Add) -> None:
    """Nothing found at the lower level: nothing outgrown."""
    levels = parse_level("800-999"), parse_level("1200-1399")
    with open_library(add(many(MAIN, 150) + many(OTHER, 90))) as library:
        answer = compare(library, parse_position(""), Filters(), *levels)
    assert (answer.answer.found, answer.outgrown) == ((), ())


def test_the_higher_level_may_not_know_the_position(add: Add) -> None:
    """Nobody of the higher level came there: nothing is claimed."""
    with open_library(add(many(MAIN, 150) + many(WEAK, 60, LOST))) as library:
        answer = compare(
            library, parse_position(""), Filters(), Level(800, 999), Level(2000, None), "black"
        )
    assert len(answer.answer.found) == 1
    assert answer.outgrown == ()


def test_games_count_unless_cut_short_before_the_move(add: Add) -> None:
    """One that cannot be read as far says nothing of it; one that can does. `mistake` agrees."""
    games = many(MAIN, 150) + many(WEAK, 60, LOST)
    games += [
        Played("1. e4 e5 2. Ke3", AMBER, BIRK, 900, 900),
        Played("1. e4 e5 2. Nf3 Ke3", AMBER, BIRK, 900, 900),
        Played("1. e4 e5 2. Nf3 Nc6 3. Ke3", AMBER, BIRK, 900, 900),
        Played("1. e4 e5 2. Nf3 f6 3. Ke3", BIRK, AMBER, 900, 900),
    ]
    with open_library(add(games)) as library:
        (row,) = costly(library, parse_position(""), Filters()).found
        (*_, level) = mistake(library, parse_position(row.line), Filters()).levels
    assert (row.in_all_games.cases, row.in_all_games.games) == (61, 212)
    assert level.in_all_games == row.in_all_games


def test_a_mistake_of_one_level_has_the_same_numbers_in_both(add: Add) -> None:
    """Share, cost, swing, and how often of all games; of several levels the cost may differ."""
    games = many(MAIN, 150) + many(WEAK, 60, LOST) + many(MAIN, 90, rating=1500)
    level = parse_level("800-999")
    with open_library(add(games)) as library:
        (row,) = costly(library, parse_position(""), Filters(levels=(level,)), "black").found
        levels = mistake(library, parse_position(row.line), Filters()).levels
    (same,) = (told for told in levels if told.label == "800-999")
    assert (same.rate, same.in_all_games) == (row.rate, row.in_all_games)
    for told, wanted in ((row.cost, same.cost), (row.swing, same.swing)):
        assert astuple(told) == pytest.approx(astuple(wanted), abs=2e-4)


def test_a_position_beyond_the_moves_asked_for_is_refused(add: Add) -> None:
    """The error names the option to change."""
    with pytest.raises(UsageError, match=r"--to-move 1: 1\. e4 e5 comes later"):
        ask(add, many(MAIN, 2), "e4 e5", to_move=1)


def test_a_position_that_nobody_reached_is_said(add: Add) -> None:
    """As by every question about a position."""
    with pytest.raises(NothingFound, match="no game reached this position"):
        ask(add, many(MAIN, 2), "d4")
