"""Example games of a mistake are those in which it was made, decisive, the shortest first."""

from __future__ import annotations

from pathlib import Path

import pytest

from explorer.positions.typed import parse_position
from explorer.query.examples import examples
from explorer.query.filters import Filters
from explorer.query.library import Library, open_library
from ingest.levels import parse_level
from ingest.pipeline import AddOptions, add_collection
from tests.support.club import AMBER, BIRK, CLEO, Played, pgn

MISTAKE = "e4 e5 Nf3 f6"
GAMES = (
    Played(f"{MISTAKE} Nxe5 fxe5 Qh5+ Ke7", AMBER, BIRK, 900, 850),
    Played(f"{MISTAKE} Nxe5", CLEO, BIRK, 1500, 1450),
    Played(f"{MISTAKE} Bc4", AMBER, BIRK, 900, 850, "1/2-1/2"),
    Played(MISTAKE, CLEO, AMBER, 1500, 850),  # nothing came after it
    Played("e4 f6 Nf3 e5 Bc4", AMBER, BIRK, 900, 850),  # there by another last move
)


@pytest.fixture
def library(tmp_path: Path) -> Library:
    (tmp_path / "club.pgn").write_text(pgn(GAMES), "utf-8")
    add_collection(tmp_path / "x.duckdb", [str(tmp_path / "club.pgn")], "club", AddOptions())
    return open_library(tmp_path / "x.duckdb")


def test_only_decisive_games_with_the_mistake_shortest_first(library: Library) -> None:
    found = examples(library, parse_position(MISTAKE), Filters())
    assert found is not None
    assert [len(row.sans) for row in found.rows] == [5, 8]
    assert found.filters == Filters()


def test_levels_are_those_of_the_player_who_errs(library: Library) -> None:
    filters = Filters(levels=(parse_level("under-900"),))
    found = examples(library, parse_position(MISTAKE), filters)
    assert found is not None
    assert [row.black_rating for row in found.rows] == [850]


def test_as_many_as_asked_for(library: Library) -> None:
    found = examples(library, parse_position(MISTAKE), Filters(), top=1)
    assert found is not None
    assert len(found.rows) == 1


@pytest.mark.parametrize("line", ["e4 e5 Nf3 d6", "e4 e5 Nf3"])
def test_without_a_game_there_are_no_examples(library: Library, line: str) -> None:
    drawn = Filters(levels=(parse_level("1600+"),))
    assert examples(library, parse_position(line), drawn) is None
