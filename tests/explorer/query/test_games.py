"""The list of games: its order, its rows, the short decisive ones."""

from __future__ import annotations

from datetime import date

import pytest

from explorer.positions.typed import parse_position
from explorer.query.filters import Filters
from explorer.query.games import games
from explorer.query.library import Library, open_library
from explorer.query.model import GamesAnswer
from ingest.errors import UsageError
from tests.support.club import AMBER, BIRK, CLUB, SCHOOL, Add, Played

START = parse_position("")


def rounds(answer: GamesAnswer) -> list[str | None]:
    return [row.round for row in answer.rows]


def test_games_by_rating_have_the_strongest_first_and_the_unrated_last(add: Add) -> None:
    """The mean of both ratings counts; without two ratings a game comes last."""
    with open_library(add(CLUB)) as library:
        answer = games(library, START, Filters(), sort="rating")
    assert rounds(answer)[:4] == ["2", "6", "1", "4"]
    assert set(rounds(answer)[4:]) == {"3", "5", "7"}


def test_games_by_date_have_the_newest_first_and_the_vague_after(add: Add) -> None:
    """A year alone comes after the dates of that year, no year at all comes last."""
    with open_library(add(CLUB)) as library:
        answer = games(library, START, Filters(), sort="date")
    assert rounds(answer) == ["7", "6", "2", "1", "3", "4", "5"]
    assert [row.date for row in answer.rows[-3:]] == ["2024.??.??", "2023.05.??", "????.??.??"]


def test_games_by_length_have_the_shortest_first(add: Add) -> None:
    """Games without moves come before the four-ply mate."""
    with open_library(add(CLUB)) as library:
        answer = games(library, START, Filters(top=3), sort="length")
    assert rounds(answer) == ["7", "6", "5"]
    assert answer.games == len(CLUB)


def test_equal_games_come_in_the_order_of_their_file(add: Add) -> None:
    """What the sort leaves open is decided by the games' own places, not by when they came."""
    alike = [Played(f"1. e4 {reply}", AMBER, BIRK) for reply in ("e5", "d5", "c5", "e6")]
    with open_library(add(alike)) as library:
        first = [row.sans for row in games(library, START, Filters()).rows]
    assert first == [("e4", "e5"), ("e4", "d5"), ("e4", "c5"), ("e4", "e6")]


def test_short_decisive_games_may_be_none(club: Library) -> None:
    """at_most_moves keeps won games that were played, and an empty list is an answer."""
    short = games(club, START, Filters(), at_most_moves=2, sort="length")
    assert [row.sans[-1:] for row in short.rows] == [("exd5",), ("Qh4#",)]
    none = games(club, parse_position("d4"), Filters(), at_most_moves=2)
    assert (none.games, none.rows) == (0, ())


def test_a_row_tells_the_game(club: Library) -> None:
    """Tags, moves and the reply played from the position."""
    (row,) = games(club, parse_position("e4 e5 Bc4"), Filters()).rows
    assert (row.white, row.black, row.white_rating, row.black_rating) == (
        "Quill, Édda",
        AMBER,
        790,
        820,
    )
    assert (row.event, row.site, row.round) == ("Lantern Club Evening", "Lantern", "4")
    assert (row.result, row.date, row.played, row.pace) == ("1-0", "2023.05.??", None, "rapid")
    assert (row.moves, row.reply, row.ply_here) == (4, "Nc6", 3)
    assert row.sans[-1] == "Qxf7#"
    assert row.ended_by_mate
    assert not row.cut_short


def test_a_nameless_player_and_a_record_that_stops_here(club: Library) -> None:
    """A missing name is None, and so is the reply of a game that stops at the position."""
    row = games(club, START, Filters(collections=("club",), since=date(2025, 3, 2))).rows[0]
    assert (row.black, row.reply, row.sans, row.moves) == (None, None, (), 0)
    assert row.played == date(2025, 3, 2)


def test_a_game_that_could_be_read_in_part_only_is_not_short(add: Add) -> None:
    """A cut-short record is listed as such and never among the short decisive games."""
    damaged = Played("1. e4 e5 2. Ke7 Nc6", AMBER, BIRK)
    with open_library(add([damaged, *SCHOOL])) as library:
        everything = games(library, parse_position("e4"), Filters(), sort="length")
        short = games(library, parse_position("e4"), Filters(), at_most_moves=5)
    assert [row.cut_short for row in everything.rows] == [True, False]
    assert [row.sans for row in short.rows] == [("e4", "d5", "exd5")]


def test_an_unknown_sort_is_refused(club: Library) -> None:
    """The error names the orders that there are."""
    with pytest.raises(UsageError, match="rating, date, length"):
        games(club, START, Filters(), sort="beauty")
