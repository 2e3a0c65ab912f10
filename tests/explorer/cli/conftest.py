"""The command, run in this process in an empty folder, and a small library to ask."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import pytest

from explorer.cli.main import main
from ingest.pipeline import AddOptions, add_collection
from tests.support.club import CLUB, SCHOOL, pgn


class Said(NamedTuple):
    """What a command said and how it ended."""

    code: int
    out: str
    err: str


Command = Callable[..., Said]


@pytest.fixture
def replybook(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> Command:
    """Runs a command in the test's folder; its library is ``library.duckdb`` there."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("REPLYBOOK_LIBRARY", str(tmp_path / "library.duckdb"))
    monkeypatch.setenv("COLUMNS", "80")

    def run(*words: str) -> Said:
        code = main(words)
        return Said(int(code), *capsys.readouterr())

    return run


@pytest.fixture(scope="session")
def club_library(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """CLUB in "club evening" and SCHOOL in "school", to be read only."""
    folder = tmp_path_factory.mktemp("club")
    for name, games in (("club evening", CLUB), ("school", SCHOOL)):
        (folder / f"{name}.pgn").write_text(pgn(games), "utf-8")
        add_collection(
            folder / "club.duckdb", [str(folder / f"{name}.pgn")], name, AddOptions(plies=20)
        )
    return folder / "club.duckdb"


@pytest.fixture
def ask(replybook: Command, club_library: Path, monkeypatch: pytest.MonkeyPatch) -> Command:
    """Runs a command on the club's library."""
    monkeypatch.setenv("REPLYBOOK_LIBRARY", str(club_library))
    return replybook


@pytest.fixture
def complains(replybook: Command) -> Callable[..., None]:
    """Expects one line on standard error that holds some words, nothing else, and a code."""

    def check(said: Said, code: int, *words: str) -> None:
        assert said.code == code, said
        assert said.err.count("\n") == 1, said
        assert said.err.endswith("\n"), said
        assert "Traceback" not in said.err
        for word in words:
            assert word in said.err, said

    return check
