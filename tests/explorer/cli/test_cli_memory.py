"""Too little memory: one line and an exit code, whatever is asked."""

from __future__ import annotations

from pathlib import Path

import pytest

from explorer.cli.exits import Exit
from ingest import schema, verify
from tests.support.club import CLUB, pgn

NEXT = "not enough memory for this; close other programs and run the command again"


@pytest.mark.parametrize(
    "command",
    ["replies", "orders e4 e5", "games e4", "report", "verify", "collections", "rejects"],
)
def test_a_question_that_does_not_fit_into_memory_gets_one_line(
    ask, complains, club_library: Path, monkeypatch: pytest.MonkeyPatch, command: str
) -> None:
    for module in (schema, verify):
        monkeypatch.setattr(module, "MEMORY_LIMIT", "1KB")
    said = ask(*command.split())
    complains(said, Exit.LIBRARY_TROUBLE, f"{club_library}: {NEXT}")
    assert said.out == ""


def test_an_add_that_does_not_fit_into_memory_gets_one_line(
    replybook, complains, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The file before it is in."""
    (tmp_path / "a.pgn").write_text(pgn(CLUB), "utf-8")
    (tmp_path / "b.pgn").write_text(pgn(CLUB[:2]), "utf-8")
    replybook("add", "a.pgn", "--collection", "club")
    with monkeypatch.context() as low:
        low.setattr(schema, "MEMORY_LIMIT", "1KB")
        said = replybook("add", "b.pgn", "--collection", "club")
    complains(said, Exit.LIBRARY_TROUBLE, NEXT)
    assert "7 games" in replybook("verify").out


def test_python_without_memory_gets_one_line(
    ask, complains, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: object, **__: object) -> None:
        raise MemoryError

    monkeypatch.setattr("explorer.report.tables.replies_table", fail)
    complains(ask("replies"), Exit.LIBRARY_TROUBLE, NEXT)
