"""`collections`, `rejects`, `remove`, `verify`: the commands around the ledger."""

from __future__ import annotations

import io
import json
import sys
from pathlib import Path

import duckdb
import pytest

from explorer.cli.exits import Exit
from ingest import schema
from tests.support.club import AMBER, BIRK, CLUB, SCHOOL, Played, pgn

MISSING = "there is no library yet; make one with: replybook add FILES --collection NAME"


@pytest.fixture
def filled(replybook, tmp_path: Path):
    """The command, its library holding two collections and one game cut short."""
    cut = Played("1. e4 e5 2. Nf3 Ke4", AMBER, BIRK, 820, 1210)
    (tmp_path / "a.pgn").write_text(pgn([*CLUB, cut]), "utf-8")
    (tmp_path / "b.pgn").write_text(pgn(SCHOOL), "utf-8")
    replybook("add", "a.pgn", "--collection", "club")
    replybook("add", "b.pgn", "--collection", "school")
    return replybook


class Terminal(io.StringIO):
    """A person at a terminal, with an answer."""

    def isatty(self) -> bool:
        return True


@pytest.mark.parametrize("command", ["collections", "rejects", "verify", "remove club --yes"])
def test_without_a_library_there_is_one_line(replybook, complains, command) -> None:
    complains(replybook(*command.split()), Exit.LIBRARY_TROUBLE, MISSING)


def test_collections_are_listed_with_years_as_years(filled) -> None:
    said = filled("collections")
    assert "club            8        5      1         0  2023  2025\n" in said.out
    assert "school          1        1      1         0  2022  2022\n" in said.out
    rows = json.loads(filled("collections", "--format", "json").out)
    assert [row["Collection"] for row in rows] == ["club", "school"]


def test_rejects_name_file_game_line_and_reason(filled, tmp_path: Path) -> None:
    said = filled("rejects")
    assert said.code == Exit.DONE
    assert "cut short" in said.out
    assert max(map(len, said.out.splitlines())) <= 80
    filled("rejects", "-o", "r.csv", "--separator", ";")
    row = (tmp_path / "r.csv").read_text("utf-8-sig").splitlines()[1]
    assert row.startswith("club;a.pgn;8;")
    assert filled("rejects", "--collection", "school").out.endswith(
        "Nothing was rejected, cut short or found twice.\n"
    )


def test_rejects_of_an_unknown_collection_get_one_line(filled, complains) -> None:
    said = filled("rejects", "--collection", "clubs")
    complains(said, Exit.USAGE, "collection 'clubs'", "there are: club, school")


def test_an_empty_library_says_what_to_do(replybook, complains, tmp_path: Path) -> None:
    schema.create(tmp_path / "library.duckdb")
    assert "add some with: replybook add FILES --collection NAME" in replybook("collections").out
    assert "Nothing was rejected" in replybook("rejects").out
    assert json.loads(replybook("collections", "--format", "json").out) == []
    assert replybook("verify").out.endswith("The library is sound.\n")
    complains(replybook("replies", "e4"), Exit.NOTHING_FOUND, "the library has no games yet; add")


def test_remove_with_yes_keeps_what_another_collection_has(filled, tmp_path: Path) -> None:
    filled("add", "a.pgn", "--collection", "again")
    said = filled("remove", "club", "--yes")
    assert said.code == Exit.DONE
    assert said.out == (
        "Removed club: 0 games deleted, 8 kept because another collection has them.\n"
    )
    assert filled("remove", "again", "--yes").out == "Removed again: 8 games deleted.\n"


@pytest.mark.parametrize(("answer", "removed"), [("y\n", True), ("no\n", False), ("", False)])
def test_remove_asks_first(filled, monkeypatch, answer, removed) -> None:
    monkeypatch.setattr(sys, "stdin", Terminal(answer))
    said = filled("remove", "school")
    assert said.code == Exit.DONE
    assert said.err.startswith("Remove school with its 1 game? [y/N] ")
    assert ("Removed school: 1 game deleted" in said.out) is removed
    assert ("Nothing removed.\n" in said.err) is not removed


def test_remove_without_anybody_to_ask_gets_one_line(filled, complains, monkeypatch) -> None:
    monkeypatch.setattr(sys, "stdin", io.StringIO())
    line = "Remove club with its 8 games? No terminal to answer at; add --yes to go ahead"
    complains(filled("remove", "club"), Exit.USAGE, line)


def test_remove_of_an_unknown_collection_gets_one_line(filled, complains) -> None:
    complains(filled("remove", "clubs"), Exit.USAGE, "'clubs'", "there are: club, school")


def test_verify_says_what_it_checked(filled) -> None:
    said = filled("verify")
    assert said.code == Exit.DONE
    assert said.out.startswith("9 games and ")
    assert said.out.endswith("The library is sound.\n")


def test_verify_ends_with_library_trouble_when_something_is_wrong(filled, tmp_path: Path) -> None:
    with duckdb.connect(str(tmp_path / "library.duckdb")) as connection:
        connection.execute("UPDATE files SET found = found + 1 WHERE added = 1")
    said = filled("verify")
    assert said.code == Exit.LIBRARY_TROUBLE
    assert "Wrong: files whose counts do not add up: 1\n" in said.out
