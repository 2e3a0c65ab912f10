"""The local page beside a command that writes, questions that take too long, and what is kept."""

from __future__ import annotations

import os
import subprocess
import sys
import threading
from collections.abc import Callable
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from explorer.query.library import open_library
from explorer.query.limits import Limit, limited
from explorer.web import desk as desks
from explorer.web.desk import Desk
from ingest import locks, schema
from ingest.errors import LibrarySlow
from ingest.pipeline import AddOptions, add_collection
from tests.support.club import CLUB, SCHOOL, pgn
from tests.support.libraries import random_games

# As many pairs as that take hours to count.
ENDLESS = "SELECT count(*) FROM range(10000000) a, range(10000000) b WHERE a.range + b.range = 3"
Serve = Callable[..., TestClient]


@pytest.fixture
def own_library(tmp_path: Path) -> Path:
    """A library that may be changed."""
    (tmp_path / "club.pgn").write_text(pgn(CLUB), "utf-8")
    library = tmp_path / "library"
    add_collection(library, [str(tmp_path / "club.pgn")], "club", AddOptions(plies=20))
    return library


@pytest.fixture
def hurried(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nobody waits for long."""
    for name in ("PATIENCE", "GRACE"):
        monkeypatch.setattr(desks, name, 0.1)
    monkeypatch.setattr(schema, "READER_PATIENCE", 0.1)


def held_by_another(library: Path) -> Path:
    """The sidecar of a command that is running: of the process that started this one."""
    lock = locks.lock_path(library)
    lock.write_text(str(os.getppid()), "ascii")
    return lock


@pytest.mark.usefixtures("hurried")
def test_while_games_are_added_pages_say_so_and_come_back(serve: Serve, own_library: Path) -> None:
    page = serve(own_library)
    lock = held_by_another(own_library)
    answer = page.get("/position?line=e4")
    assert answer.status_code == 503
    assert answer.headers["retry-after"] == "2"
    assert '<meta http-equiv="refresh" content="2">' in answer.text
    assert "Games are being added" in answer.text
    lock.unlink()
    assert page.get("/position?line=e4").status_code == 200


@pytest.mark.usefixtures("hurried")
def test_a_page_that_is_known_is_not_shown_while_games_are_added(
    serve: Serve, own_library: Path
) -> None:
    page = serve(own_library)
    assert page.get("/").status_code == 200
    held_by_another(own_library)
    assert page.get("/").status_code == 503


def test_an_add_gets_in_while_pages_are_read(serve: Serve, own_library: Path) -> None:
    """Every page is whole, of before or after; in the end it is of after."""
    page = serve(own_library)
    assert "7 games by" in page.get("/").text
    more = own_library.with_name("more.pgn")
    more.write_text(random_games(1, 60), "utf-8")
    words = [sys.executable, "-c", "from explorer.cli.main import run; run()", "add", str(more)]
    words += ["--collection", "more", "--library", str(own_library)]
    with subprocess.Popen(words, stdout=subprocess.DEVNULL) as adding:
        statuses = set()
        while adding.poll() is None:
            statuses.add(page.get("/").status_code)
    assert adding.returncode == 0
    assert statuses <= {200, 503}
    assert "67 games by" in page.get("/").text


def test_what_is_kept_is_kept_only_as_long_as_the_library_is_the_same(
    serve: Serve, own_library: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    page, asked = serve(own_library), []
    reading = desks.Library.reading
    monkeypatch.setattr(
        desks.Library, "reading", lambda library: asked.append(1) or reading(library)
    )
    first = page.get("/").text
    once = len(asked)
    assert page.get("/").text == first
    assert len(asked) == once
    (own_library.parent / "school.pgn").write_text(pgn(SCHOOL), "utf-8")
    add_collection(own_library, [str(own_library.parent / "school.pgn")], "school", AddOptions())
    assert "8 games by" in page.get("/").text


def test_old_pages_make_room(serve: Serve, library: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(desks, "KEPT_PAGES", 1)
    monkeypatch.setattr(desks, "KEPT_ANSWERS", 1)
    page = serve(library)
    for address in ("/", "/class", "/game/1", "/game/2", "/game/1?ply=1", "/"):
        assert page.get(address).status_code == 200


def test_the_library_is_let_go_when_nobody_asks(
    serve: Serve, own_library: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    gone, let_go = threading.Event(), desks.Library.let_go
    monkeypatch.setattr(desks, "IDLE", 0.0)
    monkeypatch.setattr(desks.Library, "let_go", lambda library: let_go(library) or gone.set())
    assert serve(own_library).get("/").status_code == 200
    assert gone.wait(20)


def endless(desk: Desk, request: object) -> object:
    with desk.library.reading() as (cursor, _):
        return cursor.execute(ENDLESS).fetchall()


def test_a_question_that_takes_too_long_is_ended(
    serve: Serve, own_library: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(serve_pages(), "/class", endless)
    page = serve(own_library, seconds=0.2)
    answer = page.get("/class")
    assert answer.status_code == 503
    assert "This took too long" in answer.text
    assert page.get("/library").status_code == 200


@pytest.mark.usefixtures("hurried")
def test_a_question_makes_room_for_a_command_that_wants_to_write(
    serve: Serve, own_library: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    begun = threading.Event()

    def slow(desk: Desk, request: object) -> object:
        with desk.library.reading() as (cursor, _):
            begun.set()
            return cursor.execute(ENDLESS).fetchall()

    monkeypatch.setitem(serve_pages(), "/class", slow)
    page = serve(own_library)
    threading.Thread(target=lambda: begun.wait() and held_by_another(own_library)).start()
    answer = page.get("/class")
    assert answer.status_code == 503
    assert "Games are being added" in answer.text


def test_what_goes_on_after_its_time_is_left_alone(
    serve: Serve, own_library: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(desks, "SPARE", 0.1)
    over = threading.Event()
    monkeypatch.setitem(serve_pages(), "/class", lambda desk, request: over.wait(30))
    answer = serve(own_library, seconds=0.1).get("/class")
    over.set()
    assert answer.status_code == 503


def test_when_the_rest_cannot_be_had_the_page_says_so(
    serve: Serve, own_library: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from explorer.web import pages

    def slow(*asked: object) -> object:
        raise LibrarySlow("This question takes longer than 20 seconds.")

    monkeypatch.setattr(pages, "elsewhere", slow)
    page = serve(own_library)
    for _ in range(2):  # and it is asked for again
        answer = page.get("/position?line=e4")
        assert answer.status_code == 200
        assert "The rest is missing" in answer.text
        assert answer.text.endswith("</html>\n")
    monkeypatch.undo()
    assert "The rest is missing" not in page.get("/position?line=e4").text


def test_a_limit_that_has_ended_lets_nothing_more_be_asked(library: Path) -> None:
    limit = Limit()
    limit.end(LibrarySlow("over"))
    with (
        open_library(library) as opened,
        limited(limit),
        pytest.raises(LibrarySlow),
        opened.reading(),
    ):
        pass


def test_a_limit_changes_nothing_of_other_errors(library: Path) -> None:
    with (
        open_library(library) as opened,
        limited(Limit()),
        pytest.raises(ZeroDivisionError),
        opened.reading(),
    ):
        _ = 1 / 0


def serve_pages() -> dict[str, object]:
    from explorer.web import app

    return app.PAGES  # type: ignore[return-value]
