"""`report` and `demo`: a page lands where it should, and says how it was made."""

from __future__ import annotations

import re
import webbrowser
from pathlib import Path

import pytest

from explorer.cli import command_line, demo, place
from explorer.cli.exits import Exit
from ingest.errors import InputError
from tests.support.club import CLUB, pgn


def test_a_page_gets_a_telling_name_and_its_path_is_printed(ask, tmp_path: Path) -> None:
    said = ask("report", "e4", "e5", "--level", "under-2000")
    assert said.code == Exit.DONE
    assert said.out == "replies-e4-e5-under-2000.html\n"
    page = (tmp_path / "replies-e4-e5-under-2000.html").read_text("utf-8")
    assert "replybook report e4 e5 --level under-2000" in page


def test_a_page_has_the_options_asked_for(ask, tmp_path: Path) -> None:
    words = "e4 --follow-moves 1 --view black --arrow e2e4 --mark e5 --letters de --names full"
    said = ask(
        "report", *words.split(), "-o", "my page.HTM", "--top", "2", "--player", "amber vane"
    )
    assert said.out == "my page.HTM\n"
    page = (tmp_path / "my page.HTM").read_text("utf-8")
    assert "amber vane" in page
    assert "-o 'my page.HTM'" in page.replace("&#39;", "'")


def test_a_page_by_year_says_so_in_its_name(ask, tmp_path: Path) -> None:
    assert ask("report", "e4", "--by", "year").out == "replies-e4-by-year.html\n"
    assert "year by year" in (tmp_path / "replies-e4-by-year.html").read_text("utf-8")


def test_a_page_is_opened_when_asked(ask, tmp_path: Path, monkeypatch) -> None:
    opened: list[str] = []
    monkeypatch.setattr(webbrowser, "open", opened.append)
    ask("report", "e4", "--open", "-o", "x.html")
    assert opened == [(tmp_path / "x.html").resolve().as_uri()]


@pytest.mark.parametrize(
    ("words", "name"),
    [
        (["e4", "e5", "Nf3"], "replies-e4-e5-Nf3.html"),
        (["e4?", "d5!", "exd5+"], "replies-e4-d5-exd5.html"),
        (["CON"], "replies-CON.html"),
        (["C:\\club\\lesson.pgn"], "replies-C-club-lesson-pgn.html"),
        (["Grünfeld"], "replies-Gr-nfeld.html"),
        ([], "replies.html"),
    ],
)
def test_the_name_of_a_page_is_legal_on_every_system(words, name) -> None:
    """No reserved name and no reserved character (Microsoft, "Naming Files, Paths, and
    Namespaces")."""
    assert place.page_name("replies", *words) == Path(name)


def test_the_name_of_a_page_has_an_end() -> None:
    name = place.page_name("replies", *["Nf3"] * 100).name
    assert len(name) <= 85
    assert re.fullmatch(r"[A-Za-z0-9]+(-[A-Za-z0-9]+)*\.html", name)


def test_the_library_lies_where_the_person_keeps_data(monkeypatch) -> None:
    monkeypatch.delenv(place.ENVIRONMENT, raising=False)
    path = place.library_path(None)
    assert path.name == "library.duckdb"
    assert "replybook" in str(path.parent)
    monkeypatch.setenv(place.ENVIRONMENT, "club.duckdb")
    assert place.library_path(None) == Path("club.duckdb")
    assert place.library_path(Path("mine.duckdb")) == Path("mine.duckdb")


def test_a_command_is_quoted_for_the_shell_of_the_system(monkeypatch) -> None:
    words = ("replybook", "add", "my games.pgn", "it's")
    assert command_line.quoted(*words) == """replybook add 'my games.pgn' 'it'"'"'s'"""
    monkeypatch.setattr("explorer.report.command.os.name", "nt")
    assert command_line.quoted(*words) == """replybook add "my games.pgn" it's"""


@pytest.fixture
def few_samples(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Sample games that are few."""
    folder = tmp_path / "samples"
    folder.mkdir()
    for name in demo.COLLECTIONS.values():
        (folder / name).write_text(pgn(CLUB), "utf-8")
    (folder / demo.LESSON).write_text("1. e4 e5 2. Nf3 *", "utf-8")
    monkeypatch.setattr(demo, "sample_games", lambda: folder)


@pytest.mark.usefixtures("few_samples")
def test_demo_builds_asks_makes_a_page_and_says_what_to_try(replybook, tmp_path: Path) -> None:
    said = replybook("demo", "--folder", "my demo")
    assert said.code == Exit.DONE
    assert said.out.startswith("1. e4 e5 2. Nf3 - King's Knight Opening\n")
    folder = tmp_path / "my demo"
    assert (folder / "library.duckdb").is_file()
    page = (folder / "replies-e4-e5-Nf3.html").read_text("utf-8")
    assert "replybook report e4 e5 Nf3 --library" in page
    commands = said.out.split("Try next:\n")[1].splitlines()
    assert [line.split()[1] for line in commands] == ["replies", "orders", "games", "lesson"]
    assert all(line.endswith("--library 'my demo/library.duckdb'") for line in commands)
    assert said.err.splitlines()[0] == "club season: 7 games added"
    lesson = folder / demo.LESSON
    lesson.write_text("1. d4 *", "utf-8")
    assert replybook("demo", "--folder", "my demo").err.splitlines()[0] == "club season: already in"
    assert lesson.read_text("utf-8") == "1. d4 *"


@pytest.mark.usefixtures("few_samples")
def test_demo_in_a_folder_that_cannot_be_made_gets_one_line(
    replybook, complains, tmp_path: Path
) -> None:
    (tmp_path / "file").touch()
    said = replybook("demo", "--folder", "file/demo")
    complains(said, Exit.LIBRARY_TROUBLE, "the folder cannot be made", "--folder")


def test_sample_games_are_found_in_the_package_or_the_checkout(tmp_path: Path, monkeypatch) -> None:
    assert (place.sample_games() / "student.pgn.gz").is_file()
    monkeypatch.setattr(place, "files", lambda _: tmp_path)
    monkeypatch.setattr(place, "__file__", str(tmp_path / "explorer" / "cli" / "place.py"))
    with pytest.raises(InputError, match="the sample games are missing; install Replybook again"):
        place.sample_games()
    (tmp_path / "sample_games").mkdir()
    assert place.sample_games() == tmp_path / "sample_games"
