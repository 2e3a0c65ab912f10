"""`lesson page` and `handout`: pages land where they should; each trouble is one line."""

from __future__ import annotations

import json
import webbrowser
from pathlib import Path

import pytest

from explorer.cli.exits import Exit
from explorer.report import words

LESSON = "1. e4 e5 (1... d5 2. exd5) 2. Nf3 (2. Bc4) Nc6 3. Bc4 { Looks at f7. } *\n"


@pytest.fixture
def club(ask, tmp_path: Path):
    """Runs a command beside my-lesson.pgn, with the club's library."""
    (tmp_path / "my lesson.pgn").write_text(LESSON, "utf-8")
    return ask


@pytest.fixture
def alone(replybook, tmp_path: Path):
    """The same without a library."""
    (tmp_path / "my lesson.pgn").write_text(LESSON, "utf-8")
    return replybook


WHITE = ("my lesson.pgn", "--as", "white")


def test_a_page_gets_a_telling_name_and_its_path_is_printed(club, tmp_path: Path) -> None:
    said = club("lesson", "page", *WHITE)
    assert (said.code, said.out, said.err) == (Exit.DONE, "lesson-my-lesson.html\n", "")
    page = (tmp_path / "lesson-my-lesson.html").read_text("utf-8")
    assert "Looks at f7." in page
    assert "Alternatives are not followed: 1.\u00a0e4 e5 2.\u00a0Bc4." in page


def test_the_page_has_the_numbers_of_the_check(club, tmp_path: Path) -> None:
    options = ("--min-games", "1", "--to-move", "3", "--start", "e4")
    club("lesson", "page", *WHITE, *options, "-o", "x.html")
    page = (tmp_path / "x.html").read_text("utf-8")
    found = json.loads(club("lesson", "check", *WHITE, *options, "--format", "json").out)
    for states in found["levels"][-1]["states"]:
        cells = (states[name] for name in ("won", "unanswered", "ended", "too_few"))
        row = "".join(f"<td>{words.fine_hundredths(cell)}</td>" for cell in cells)
        assert row in page
    assert found["start"] == "1. e4"
    assert "games that come to 1.\u00a0e4" in page


def test_two_runs_make_the_same_bytes(club, tmp_path: Path) -> None:
    for words_ in (("lesson", "page"), ("handout",)):
        club(*words_, *WHITE, "-o", "x.html")
        once = (tmp_path / "x.html").read_bytes()
        club(*words_, *WHITE, "-o", "x.html")
        assert (tmp_path / "x.html").read_bytes() == once


@pytest.mark.parametrize("command", [("lesson", "page"), ("handout",)])
def test_the_student_sits_at_the_bottom_if_nothing_else_is_said(club, tmp_path, command) -> None:
    (tmp_path / "b.pgn").write_text("1. e4 c5 2. Nf3 d6 3. d4 cxd4 *", "utf-8")
    for more, side in (((), "Black"), (("--view", "white"), "White")):
        club(*command, "b.pgn", "--as", "black", *more, "-o", "x.html")
        assert f"Diagram, {side} at the bottom." in (tmp_path / "x.html").read_text("utf-8")


def test_a_handout_needs_no_library(alone, tmp_path: Path) -> None:
    said = alone("handout", *WHITE)
    assert (said.code, said.out, said.err) == (Exit.DONE, "handout-my-lesson.html\n", "")
    page = (tmp_path / "handout-my-lesson.html").read_text("utf-8")
    assert "No library was asked." in page
    assert "Looks at f7." in page


def test_a_handout_asks_the_library_that_is_there(club, tmp_path: Path) -> None:
    club("handout", *WHITE, "--min-games", "1", "--letters", "de", "--large", "-o", "x.html")
    page = (tmp_path / "x.html").read_text("utf-8")
    assert "Of 100 games" in page
    assert "3.\u00a0Lc4" in page
    assert 'class="large"' in page


def test_a_handout_for_a_level_without_games_has_the_moves_alone(club, tmp_path: Path) -> None:
    said = club("handout", *WHITE, "--level", "3000+", "-o", "x.html")
    assert (said.code, said.out) == (Exit.DONE, "x.html\n")
    assert said.err.startswith("The handout has no numbers: the starting position: none of the")
    assert said.err.count("\n") == 1
    assert "no games to count" in (tmp_path / "x.html").read_text("utf-8")


def test_a_page_is_opened_when_asked(club, tmp_path: Path, monkeypatch) -> None:
    opened: list[str] = []
    monkeypatch.setattr(webbrowser, "open", opened.append)
    club("lesson", "page", *WHITE, "--open", "-o", "x.html")
    club("handout", *WHITE, "--open", "-o", "y.html")
    assert opened == [(tmp_path / f"{name}.html").resolve().as_uri() for name in "xy"]


def test_a_lesson_for_the_other_side_is_said_to_look_like_one(club, tmp_path: Path) -> None:
    (tmp_path / "b.pgn").write_text("1. e4 (1. d4 d5) (1. c4 e5) e5 2. Nf3 Nc6 *", "utf-8")
    said = club("handout", "b.pgn", "--as", "white", "-o", "x.html")
    assert said.err == "b.pgn: it looks like a lesson for the other side; is --as right?\n"


@pytest.mark.parametrize("command", [("lesson", "page"), ("handout",)])
def test_trouble_is_one_line(club, complains, command) -> None:
    complains(club(*command, *WHITE, "-o", "x.csv"), Exit.USAGE, "x.csv:", "ends in .html")
    complains(club(*command, *WHITE, "--start", "e9"), Exit.USAGE, "e9")
    complains(club(*command, "no.pgn", "--as", "white"), Exit.BAD_INPUT, "no.pgn: no such file")
    complains(club(*command, *WHITE, "--start", "d4"), Exit.BAD_INPUT, "comes to 1. d4")
    complains(club(*command, WHITE[0]), Exit.USAGE, "--as white|black is missing")
    missing = club(*command, *WHITE, "--library", "no.duckdb")
    complains(missing, Exit.LIBRARY_TROUBLE, "no.duckdb: there is no library yet")


def test_a_page_needs_games(club, alone, complains) -> None:
    complains(
        club("lesson", "page", *WHITE, "--level", "3000+"), Exit.NOTHING_FOUND, "passes the filters"
    )
    complains(club("lesson", "page", *WHITE, "--next-level", "x"), Exit.USAGE, "level 'x'")


def test_pages_can_be_made_again(club, tmp_path: Path) -> None:
    (tmp_path / "pages").mkdir()
    club("lesson", "page", *WHITE, "-o", "pages/a.html")
    club("handout", *WHITE, "-o", "pages/b.html")
    before = [(tmp_path / "pages" / f"{name}.html").read_bytes() for name in "ab"]
    said = club("remake", "pages")
    assert said.out.splitlines()[-1] == "2 pages made again."
    after = [(tmp_path / "pages" / f"{name}.html").read_bytes() for name in "ab"]
    assert before == after
