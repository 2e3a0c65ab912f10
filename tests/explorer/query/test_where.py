"""Filters: names that are found or not, dates, and that levels in SQL are levels."""

from __future__ import annotations

from datetime import date

import duckdb
import pytest
from hypothesis import given
from hypothesis import strategies as st

from explorer.positions.typed import parse_position
from explorer.query.bands import in_any, level_number
from explorer.query.filters import Filters
from explorer.query.library import Library
from explorer.query.replies import replies
from ingest.errors import NothingFound, UsageError
from ingest.levels import Level, bands, parse_level

START = parse_position("")


@pytest.fixture(scope="module")
def database() -> duckdb.DuckDBPyConnection:
    return duckdb.connect()


ratings = st.none() | st.integers(1, 4000)
cuts = st.lists(st.integers(1, 3999), min_size=1, max_size=6, unique=True).map(sorted)


@given(rating=ratings, cuts=cuts)
def test_a_level_number_is_that_of_the_band_that_holds_the_rating(
    database: duckdb.DuckDBPyConnection, rating: int | None, cuts: list[int]
) -> None:
    """Every rating, and none, falls into the band that ingest.levels says."""
    sql = f"SELECT {level_number(cuts, 'r')} FROM (SELECT $1::USMALLINT AS r)"
    (number,) = database.execute(sql, [rating]).fetchone() or (None,)
    assert [band.holds(rating) for band in bands(tuple(cuts))].index(True) == number


@given(rating=ratings, low=st.none() | st.integers(1, 4000), high=st.none() | st.integers(1, 4000))
def test_levels_in_sql_hold_what_levels_hold(
    database: duckdb.DuckDBPyConnection, rating: int | None, low: int | None, high: int | None
) -> None:
    """A level as a condition lets the same ratings through."""
    level = Level(low, high)
    sql = f"SELECT coalesce({in_any([level], 'r')}, false) FROM (SELECT $1::USMALLINT AS r)"
    (through,) = database.execute(sql, [rating]).fetchone() or (None,)
    assert through == level.holds(rating)


def test_a_player_is_found_in_any_spelling(club: Library) -> None:
    """Case, accents and the comma's order do not matter; --as narrows to one colour."""
    for name in ("Quill, Édda", "edda quill", "EDDA  QUILL"):
        assert replies(club, START, Filters(player=name)).games == 3
    assert replies(club, START, Filters(player="edda quill", side="black")).games == 1


def test_an_unknown_player_gets_the_nearest_names(club: Library) -> None:
    """A misspelt name is answered with names like it."""
    with pytest.raises(NothingFound, match="Quill, Édda"):
        replies(club, START, Filters(player="Eda Quil"))


def test_a_collection_is_found_in_any_case(club: Library) -> None:
    """Collections join with "or"; all of them are the same as none named."""
    assert replies(club, START, Filters(collections=("School",))).games == 1
    assert replies(club, START, Filters(collections=("club", "school"))).games == 8


def test_an_unknown_collection_gets_the_nearest_names(club: Library) -> None:
    """A misspelt collection is answered with those like it, a strange one with what there is."""
    with pytest.raises(UsageError, match=r"there are: school$"):
        replies(club, START, Filters(collections=("shool",)))
    with pytest.raises(UsageError, match=r"there are: club, school$"):
        replies(club, START, Filters(collections=("zzz",)))


def test_an_unknown_pace_is_refused(club: Library) -> None:
    """The error names the paces that there are."""
    with pytest.raises(UsageError, match="blitz"):
        replies(club, START, Filters(pace=("quick",)))


def test_vague_dates_are_left_out_and_counted(club: Library) -> None:
    """Only games that may or may not lie between the dates are counted as vague."""
    since = replies(club, START, Filters(since=date(2024, 1, 10)))
    assert (since.games, since.source.vague_dates) == (4, 2)  # "2024", no date at all
    until = replies(club, START, Filters(until=date(2024, 1, 10)))
    assert (until.games, until.source.vague_dates) == (2, 3)  # and May 2023
    both = replies(club, START, Filters(since=date(2023, 6, 1), until=date(2024, 2, 11)))
    assert (both.games, both.source.vague_dates) == (2, 2)


def test_vague_dates_are_told_when_nothing_else_is_left(club: Library) -> None:
    """The one game with 1. Nf3 is of 2024, without a month: it may be of February or later."""
    later = Filters(since=date(2024, 2, 1))
    with pytest.raises(NothingFound, match=r"passes the filters \(1 because of a vague date\)"):
        replies(club, parse_position("Nf3"), later)


def test_vague_dates_obey_the_other_filters(club: Library) -> None:
    """A game of the wrong pace, player or level is not counted as left out by its date."""
    since = date(2024, 1, 10)
    for others in (
        Filters(since=since, player="Vane, Amber", pace=("rapid",)),
        Filters(since=since, levels=(parse_level("800-999"),), collections=("club",)),
    ):
        assert replies(club, START, others).source.vague_dates == 1
