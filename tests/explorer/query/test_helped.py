"""Did it help? A class of two before and after a day, beside others, counted by hand."""

from __future__ import annotations

from datetime import date

import pytest

from explorer.numbers.intervals import newcombe
from explorer.positions.typed import parse_position
from explorer.query.filters import Filters
from explorer.query.library import open_library
from explorer.query.mistake import mistake
from explorer.query.mistake_model import BeforeAfter, Helped
from ingest.errors import NothingFound
from tests.support.club import AMBER, BIRK, Add, Played

SINCE = date(2024, 3, 1)
CLASS = BeforeAfter(SINCE, (("Amber Vane", "A. Vane"), ("olander, birk",), ("Nobody, Nina",)))
BAD, GOOD = "1. e4 e5 2. Nf3 f6 3. Nxe5", "1. e4 e5 2. Nf3 Nc6 3. Bc4"


def black(name: str, moves: str, day: str, rating: int = 900) -> Played:
    return Played(moves, f"White of {name} {day}", name, 900, rating, "1-0", day)


GAMES = (
    # The class: three of four before, one of three after, one on an unknown day.
    black(AMBER, BAD, "2024.01.10"),
    black("A. Vane", BAD, "2024.01.17"),
    black(BIRK, BAD, "2024.02.01"),
    black(BIRK, GOOD, "2024.02.29"),
    black(AMBER, BAD, "2024.03.01"),
    black(BIRK, GOOD, "2024.03.20"),
    black(BIRK, GOOD, "2024.04.01"),
    black(AMBER, BAD, "2024.??.??"),
    # Others of that level and those dates: one of two before, one of one after.
    black("Other, One", BAD, "2024.01.10"),
    black("Other, Two", GOOD, "2024.02.10"),
    black("Other, Two", BAD, "2024.03.01"),
    # Neither: before the class began, after it ended, of another level.
    black("Other, One", BAD, "2024.01.09"),
    black("Other, One", BAD, "2024.04.02"),
    black("Other, Three", BAD, "2024.02.10", rating=1500),
    # The class punishes: one of one before, none of one after.
    Played(BAD, AMBER, "Other, Four", 900, 900, "1-0", "2024.02.20"),
    Played("1. e4 e5 2. Nf3 f6 3. d4", AMBER, "Other, Four", 900, 900, "1-0", "2024.03.25"),
)


@pytest.fixture
def helped(add: Add) -> tuple[Helped, ...]:
    with open_library(add(GAMES)) as library:
        line = parse_position("e4 e5 Nf3 f6")
        return mistake(library, line, Filters(), ["Nxe5"], CLASS).helped


def test_the_class_and_the_others_before_and_after(helped: tuple[Helped, ...]) -> None:
    """Game 15's and 16's Black is of the same level and plays between the class's days too."""
    making = helped[0]
    assert (making.what, making.since) == ("making", SINCE)
    rates = (making.class_before, making.class_after, making.others_before, making.others_after)
    assert [(rate.cases, rate.games) for rate in rates] == [(3, 4), (1, 3), (2, 3), (2, 2)]


def test_spellings_of_one_member_are_one_player(helped: tuple[Helped, ...]) -> None:
    before = helped[0].class_before
    assert (before.players, before.case_players, before.top_player_cases) == (2, 2, 2)


def test_vague_dates_and_unknown_members_are_told(helped: tuple[Helped, ...]) -> None:
    assert [found.undated for found in helped] == [1, 0]
    assert helped[0].not_found == ("Nobody, Nina",)


def test_punishing_is_the_first_move_of_the_punishment(helped: tuple[Helped, ...]) -> None:
    punishing = helped[1]
    assert punishing.what == "punishing"
    assert (punishing.class_before.cases, punishing.class_before.games) == (1, 1)
    assert (punishing.class_after.cases, punishing.class_after.games) == (0, 1)
    assert punishing.change.value == -1


def test_the_changes_are_differences_of_shares(helped: tuple[Helped, ...]) -> None:
    making = helped[0]
    assert making.change.value == pytest.approx(1 / 3 - 3 / 4)
    assert making.change_others.value == pytest.approx(1 - 2 / 3)
    assert making.beyond.value == pytest.approx(1 / 3 - 3 / 4 - (1 - 2 / 3))
    # Of the others before, each played one game: no design effect, and all of them after erred.
    one = newcombe(2, 2, 2, 3)
    assert one is not None
    found = making.change_others
    assert (found.low, found.high) == pytest.approx(one[1])
    assert making.beyond.low is not None
    assert making.change.low is not None
    assert making.beyond.low < making.change.low - making.change_others.value


def test_without_games_on_one_side_there_is_no_change(add: Add) -> None:
    with open_library(add(GAMES)) as library:
        line = parse_position("e4 e5 Nf3 f6")
        late = BeforeAfter(date(2030, 1, 1), CLASS.names)
        making = mistake(library, line, Filters(), None, late).helped[0]
    assert making.class_after.games == 0
    assert (making.change.value, making.beyond.value) == (None, None)


def test_a_class_that_never_met_the_position_has_no_others(add: Add) -> None:
    with open_library(add([*GAMES, Played("1. d4", "Loner, Lea", "Other, Five")])) as library:
        line = parse_position("e4 e5 Nf3 f6")
        lone = BeforeAfter(SINCE, (("Loner, Lea",),))
        making = mistake(library, line, Filters(), None, lone).helped[0]
    rates = (making.class_before, making.class_after, making.others_before, making.others_after)
    assert [rate.games for rate in rates] == [0, 0, 0, 0]


def test_a_class_of_strangers_is_refused(add: Add) -> None:
    strangers = BeforeAfter(SINCE, (("Nobody, Nina", "N. Nobody"), ("Noone, Nils",)))
    with (
        open_library(add(GAMES)) as library,
        pytest.raises(NothingFound, match="class: the library knows none of Nobody, Nina, Noone"),
    ):
        mistake(library, parse_position("e4 e5 Nf3 f6"), Filters(), None, strangers)
