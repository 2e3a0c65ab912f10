"""The local page of a small library of invented games, asked without a network."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from explorer.web.app import make_app
from ingest.pipeline import AddOptions, add_collection
from tests.support.club import CLUB, SCHOOL, evening, pgn

HERE = "http://127.0.0.1:8765"

Serve = Callable[..., TestClient]


@pytest.fixture(scope="session")
def library(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """CLUB and forty like games in "club evening", SCHOOL in "school", to be read only."""
    folder = tmp_path_factory.mktemp("web")
    many = [evening("1. e4 e5 2. Nf3 Nc6 3. Bc4 Bc5 4. O-O", "1-0", n) for n in range(40)]
    for name, games in (("club evening", [*CLUB, *many]), ("school", SCHOOL)):
        (folder / f"{name}.pgn").write_text(pgn(games), "utf-8")
        add_collection(
            folder / "club.duckdb", [str(folder / f"{name}.pgn")], name, AddOptions(plies=20)
        )
    return folder / "club.duckdb"


@pytest.fixture
def serve() -> Iterator[Serve]:
    """Starts the local page of a library; all are stopped in the end."""
    running: list[TestClient] = []

    def start(path: Path, **options: object) -> TestClient:
        app = make_app(path, **options)  # type: ignore[arg-type]
        client = TestClient(app, HERE, raise_server_exceptions=False, follow_redirects=False)
        running.append(client.__enter__())
        return client

    yield start
    for client in running:
        client.__exit__(None, None, None)


@pytest.fixture
def page(serve: Serve, library: Path) -> TestClient:
    """The local page of the club."""
    return serve(library)
