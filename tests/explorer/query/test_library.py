"""An open library: what it knows, and how it makes room for an `add`."""

from __future__ import annotations

import os
import shutil
import sys
import threading
from pathlib import Path

import duckdb
import pytest

from explorer.positions.typed import parse_position
from explorer.query.filters import Filters
from explorer.query.library import Library, open_library
from explorer.query.replies import replies
from ingest import locks, schema
from ingest.errors import LibraryBusy, LibraryDamaged, LibraryError, LibraryMissing
from tests.support.club import CLUB, SCHOOL, Add, Played

START = parse_position("")


def test_a_missing_library_says_how_to_make_one(tmp_path: Path) -> None:
    """The error names the command that makes a library."""
    with pytest.raises(LibraryMissing, match="replybook add"):
        open_library(tmp_path / "none.db")


def test_a_file_that_is_no_library_is_refused(tmp_path: Path) -> None:
    """A text file is not opened as a library."""
    (tmp_path / "games.db").write_text("no games here" * 1000)
    with pytest.raises(LibraryDamaged):
        open_library(tmp_path / "games.db")


def test_facts_are_those_of_the_library(club: Library) -> None:
    """Plies and collections are read once; a small library expects what FIDE's table says."""
    with club.reading() as (_, facts):
        assert (facts.plies, list(facts.collections)) == (6, ["club", "school"])
        assert facts.expectation_source == "fide"
        assert facts.results == ((-390, 1, 2), (-30, 1, 2), (10, 1, 0))
        assert facts.curve("white")[800] == facts.curve("black")[800] == 5000


@pytest.mark.parametrize(
    ("collection", "people"),
    [
        ("Games of Edda Quill 2024", ("Quill, Édda",)),
        ("quill_edda", ("Quill, Édda",)),
        ("edda-quill", ("Quill, Édda",)),
        ("Ann Reed-Vale", ("Reed-Vale, Ann",)),
        ("Edda", ()),
    ],
)
def test_players_named_by_a_collection_are_known(
    add: Add, collection: str, people: tuple[str, ...]
) -> None:
    """A collection can be a student; the name may be spelled in any way."""
    with open_library(add([*CLUB, Played("1. e4", "Reed-Vale, Ann", "?")], collection)) as library:
        assert replies(library, START, Filters()).source.people == people


def test_an_idle_library_lets_the_next_add_in_and_sees_its_games(add: Add) -> None:
    """After letting go, games can be added, and the next question counts them."""
    with open_library(add(CLUB)) as library:
        assert replies(library, START, Filters()).games == 7
        library.let_go()
        add(SCHOOL, "school")
        answer = replies(library, START, Filters())
        assert answer.games == 8
        assert answer.source.collections == ("club", "school")


@pytest.mark.skipif(sys.platform == "win32", reason="there an open file stays in its place")
def test_a_file_put_in_the_librarys_place_is_what_answers(add: Add) -> None:
    """A teacher brings an older copy back, or takes the library away."""
    path = add(CLUB)
    copy = shutil.copy(path, path.with_name("copy"))
    with open_library(add(SCHOOL, "school")) as library:
        assert replies(library, START, Filters()).games == 8
        os.replace(copy, path)
        assert replies(library, START, Filters()).games == 7
        path.unlink()
        with pytest.raises(LibraryMissing):
            replies(library, START, Filters())


def test_a_library_in_use_is_not_closed(club: Library) -> None:
    """Letting go waits for nobody and disturbs nobody."""
    with club.reading() as (cursor, _):
        club.let_go()
        assert cursor.execute("SELECT count(*) FROM games").fetchone() == (8,)


def busy(monkeypatch: pytest.MonkeyPatch, library: Library) -> None:
    monkeypatch.setattr(schema, "READER_PATIENCE", 0.01)
    monkeypatch.setattr(locks, "holder", lambda path: 4711 if path == library.path else None)


def test_while_games_are_added_a_question_is_refused(
    club: Library, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The connection is closed for the writer, and the error says what is going on."""
    busy(monkeypatch, club)
    with pytest.raises(LibraryBusy, match="games are being added"):
        replies(club, START, Filters())
    monkeypatch.undo()
    assert replies(club, START, Filters()).games == 8


def test_a_question_waits_for_others_before_it_makes_room(
    club: Library, monkeypatch: pytest.MonkeyPatch
) -> None:
    """While another thread still reads, a new question does not keep the writer waiting."""
    refused: list[LibraryBusy] = []

    def ask() -> None:
        try:
            replies(club, START, Filters())
        except LibraryBusy as error:
            refused.append(error)

    with club.reading():
        busy(monkeypatch, club)
        thread = threading.Thread(target=ask)
        thread.start()
        thread.join(10)
    assert len(refused) == 1


def test_the_drivers_errors_become_ours(club: Library) -> None:
    """What the database reports is trouble with the library; a wrong query stays a bug."""
    with pytest.raises(LibraryError, match="verify"), club.reading():
        raise duckdb.IOException("short read")
    with pytest.raises(duckdb.CatalogException), club.reading() as (cursor, _):
        cursor.execute("SELECT nothing FROM nowhere")


def test_threads_share_a_library(club: Library) -> None:
    """Ten questions at once get the same answer."""
    answers = []
    threads = [
        threading.Thread(target=lambda: answers.append(replies(club, START, Filters())))
        for _ in range(10)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(30)
    assert len(answers) == 10
    assert all(answer == answers[0] for answer in answers)
