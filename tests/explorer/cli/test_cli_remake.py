"""`remake`: every page of a folder again, and nothing else, whatever the pages say."""

from __future__ import annotations

import webbrowser
from pathlib import Path

import pytest
from typer.main import get_command

from explorer.cli.exits import Exit
from explorer.cli.main import app
from explorer.cli.remaking import LESSON_PAGE, PAGE_COMMANDS
from ingest.pipeline import AddOptions, add_collection
from tests.support.club import AMBER, BIRK, CLUB, Played, pgn

MORE = [Played("1. e4 e5 2. Nf3 d6 3. d4", BIRK, AMBER, 1210, 820)]


@pytest.fixture
def club(replybook, tmp_path: Path):
    """Runs a command on a library of the test's own, which games can be added to."""
    (tmp_path / "club.pgn").write_text(pgn(CLUB), "utf-8")
    add_collection(tmp_path / "library.duckdb", [str(tmp_path / "club.pgn")], "club", AddOptions())
    (tmp_path / "pages").mkdir()
    return replybook


def add_more(tmp_path: Path) -> None:
    (tmp_path / "more.pgn").write_text(pgn(MORE), "utf-8")
    add_collection(tmp_path / "library.duckdb", [str(tmp_path / "more.pgn")], "more", AddOptions())


def test_every_page_is_made_again_with_todays_library(club, tmp_path: Path) -> None:
    (tmp_path / "lesson.pgn").write_text("1. e4 e5 2. Nf3 Nc6 3. Bc4 *", "utf-8")
    club("report", "e4", "e5", "-o", "pages/replies.html")
    club("mistake", "e4", "e5", "-o", "pages/mistake.html")
    club("worksheet", "lesson.pgn", "--as", "white", "-o", "pages/sheet.html")
    before = {page: page.read_text("utf-8") for page in (tmp_path / "pages").iterdir()}
    add_more(tmp_path)
    said = club("remake", "pages")
    assert said.code == Exit.DONE
    assert said.out.splitlines()[-1] == "3 pages made again."
    for page, old in before.items():
        new = page.read_text("utf-8")
        assert new != old
        assert "more" in new
        kept = 'name="replybook-command"'
        assert new.split(kept)[1].split("\n")[0] == old.split(kept)[1].split("\n")[0]
    again = {page: page.read_bytes() for page in before}
    club("remake", "pages")
    assert {page: page.read_bytes() for page in before} == again


def test_a_page_with_a_telling_name_is_made_again_too(club, tmp_path: Path) -> None:
    club("report", "e4")
    add_more(tmp_path)
    assert club("remake", ".").out == "replies-e4.html\n1 page made again.\n"
    assert "4 games by" in (tmp_path / "replies-e4.html").read_text("utf-8")


def test_a_hidden_name_a_copy_and_a_lost_lesson_are_left_and_said(club, tmp_path: Path) -> None:
    pages = tmp_path / "pages"
    (tmp_path / "lesson.pgn").write_text("1. e4 e5 2. Nf3 *", "utf-8")
    club("report", "e4", "--player", AMBER, "-o", "pages/amber.html")
    club("report", "e4", "-o", "pages/e4.html")
    club("worksheet", "lesson.pgn", "--as", "white", "-o", "pages/sheet.html")
    (tmp_path / "lesson.pgn").unlink()
    (pages / "march.html").write_bytes((pages / "e4.html").read_bytes())
    (pages / "notes.html").write_text("<title>Notes</title>", "utf-8")
    (pages / "notes.txt").touch()
    left = ("amber.html", "march.html", "notes.html", "sheet.html")
    before = [(pages / name).read_bytes() for name in left]
    said = club("remake", "pages")
    assert said.code == Exit.BAD_INPUT
    assert said.out.splitlines()[-1] == "1 page made again, 3 left as they were."
    lines = dict(line.split(": left as it was: ") for line in said.err.splitlines())
    assert {Path(name).name: why for name, why in lines.items()} == {
        "amber.html": "its command names somebody, and the page hides that; type it again",
        "march.html": "its command makes another file (e4.html); this one is a copy",
        "sheet.html": "lesson.pgn: no such file; check its name and folder",
    }
    assert [(pages / name).read_bytes() for name in left] == before


def test_with_full_names_a_page_keeps_its_command(club) -> None:
    club("report", "e4", "--player", AMBER, "--names", "full", "-o", "pages/amber.html")
    assert club("remake", "pages").code == Exit.DONE


FORGED = {
    "remove club --yes": "its command makes no page",
    "add more.pgn --collection x": "its command makes no page",
    "remake pages": "its command makes no page",
    "replies e4 -o pages/x.csv": "its command makes no page",
    "lesson draft --as white": "its command makes no page",
    "report e4 --help": "its command makes no page",
    "lesson": "its command makes no page",
    "lesson page gone.pgn --as white": "",  # may be run, and says what it misses
    "mistake e4 e5 --format csv": "its command makes no page",
    "mistake e4 e5 --pgn stolen.pgn": "its command writes another file (--pgn stolen.pgn); type",
    "mistake e4 e5 --pgn=stolen.pgn": "its command writes another file (--pgn stolen.pgn); type",
    "mistake e4 e5 --engine ./engine": "its command starts a program (--engine); type it again",
    "costly --dataset s3://far/set": "its command reads over the network (--dataset); type it",
    "report e4 -o ../elsewhere.html": "its command makes another file (elsewhere.html)",
    "report e4 -oC:\\x\\elsewhere.html": "its command makes another file (C:xelsewhere.html)",
    "report e4 '-oC:\\x\\elsewhere.html'": "its command makes another file (elsewhere.html)",
    "report e4 --nonsense": "--nonsense: no such option of replybook report",
    "report e4 e6 e4": "move 2, White: e4 is not legal",
    "report 'e4": "its command cannot be read (no closing quotation)",
}


@pytest.mark.parametrize(("command", "why"), FORGED.items())
def test_a_forged_page_harms_nothing(club, tmp_path: Path, command: str, why: str) -> None:
    page = tmp_path / "pages" / "forged.html"
    page.write_text(
        '<head><meta name="generator" content="Replybook">'
        f'<meta name="replybook-command" content="{command}"></head>',
        "utf-8",
    )
    (tmp_path / "more.pgn").write_text(pgn(MORE), "utf-8")
    before = {path: path.read_bytes() for path in tmp_path.rglob("*") if path.is_file()}
    said = club("remake", "pages")
    assert said.code == Exit.BAD_INPUT
    assert said.out == "0 pages made again, 1 left as it was.\n"
    assert f"forged.html: left as it was: {why}" in said.err
    assert said.err.count("\n") == 1
    assert {path: path.read_bytes() for path in tmp_path.rglob("*") if path.is_file()} == before


def test_no_page_is_opened(club, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(webbrowser, "open", lambda _: None)
    club("report", "e4", "-o", "pages/e4.html", "--open")
    opened: list[str] = []
    monkeypatch.setattr(webbrowser, "open", opened.append)
    assert club("remake", "pages").code == Exit.DONE
    assert opened == []


def test_a_folder_without_pages_or_none_at_all_gets_one_line(club, complains) -> None:
    complains(club("remake", "pages"), Exit.NOTHING_FOUND, "pages: no page of Replybook in it;")
    complains(club("remake", "gone"), Exit.BAD_INPUT, "gone: cannot be read as a folder")
    complains(club("remake"), Exit.USAGE, "replybook remake: FOLDER is missing;")


def test_every_command_that_makes_pages_is_known() -> None:
    """A command that can open what it made makes pages, or the drawing of `diagram`."""
    commands = dict(get_command(app).commands)  # type: ignore[attr-defined]
    inside = commands.pop("lesson").commands
    makers = {
        name for name, command in commands.items() if "open" in {p.name for p in command.params}
    }
    assert makers <= PAGE_COMMANDS | {"diagram"}
    of_lessons = {
        name for name, command in inside.items() if "open" in {p.name for p in command.params}
    }
    assert of_lessons <= set(LESSON_PAGE)
