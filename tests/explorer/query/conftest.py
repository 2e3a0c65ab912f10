"""A small library of invented games for the tests of the queries."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

import pytest

from explorer.query.library import Library, open_library
from ingest.pipeline import AddOptions, add_collection
from tests.support.club import CLUB, SCHOOL, Add, Played, pgn
from tests.support.random_world import World, make_world


@pytest.fixture
def add(tmp_path: Path) -> Add:
    """Adds games to the library of the test, and gives its path."""

    def adding(games: Sequence[Played], collection: str = "club", **options: object) -> Path:
        file = tmp_path / f"{collection}.pgn"
        file.write_text(pgn(games), "utf-8")
        library = tmp_path / "games.db"
        report = add_collection(
            library,
            [str(file)],
            collection,
            AddOptions(**options),  # type: ignore[arg-type]
        )
        assert not any(file.error for file in report.files)
        return library

    return adding


@pytest.fixture
def club(add: Add) -> Iterator[Library]:
    """The games of CLUB and SCHOOL, six plies of each."""
    add(CLUB, "club", plies=6)
    with open_library(add(SCHOOL, "school")) as library:
        yield library


@pytest.fixture(scope="module", params=[1, 2, 3])
def world(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[World]:
    """Random games in a library, and their slow recount."""
    made = make_world(tmp_path_factory.mktemp("world"), request.param)
    with made.library:
        yield made
