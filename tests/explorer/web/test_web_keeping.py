"""How a page is taken along: printed, saved whole, or asked for again with a command."""

from __future__ import annotations

import re
import shlex
import shutil
from collections.abc import Callable
from html import unescape
from pathlib import Path

import pytest
from starlette.testclient import TestClient
from typer.testing import CliRunner

from explorer.cli.main import app
from ingest.pipeline import AddOptions, add_collection
from tests.support.club import CLUB, evening, pgn
from tests.support.libraries import BAD

Serve = Callable[..., TestClient]
LESSON = Path(__file__).parents[3] / "sample_games" / "lesson_italian.pgn"
MOVES = (
    "1. e4 e5 2. Nf3 Nc6 3. Bc4 Bc5 4. O-O Nf6 5. d3 d6 6. c3 a6 7. a4 h6 8. Re1 O-O "
    "9. h3 Ba7 10. Nbd2 Re8 11. Nf1 Be6 12. Bxe6 Rxe6"
)
PAGES = {
    "/position?line=e4+e5": "report-e4-e5",
    "/class?line=e4+e5+Nf3": "class-e4-e5-Nf3",
    "/plans?line=e4+e5+Nf3": "plans-e4-e5-Nf3",
    "/mistakes": "costly-to-move-8",
    "/mistake?line=e4+e5": "mistake-e4-e5",
    "/game/1?ply=3": "game-1-ply-3",
    "/lessons": "lessons",
    "/lesson?file=italian.pgn&as=white": "lesson-italian-white",
    "/student?name=Vane,+Amber": "student-A-V",
    "/library": "library",
    "/library/rejects?collection=Vane,+Amber": "rejects",
}


@pytest.fixture
def page(serve: Serve, tmp_path: Path) -> TestClient:
    """Of a library in one collection, named after a player, and a folder of one lesson."""
    many = [evening(MOVES, "1-0", n) for n in range(40)]
    (tmp_path / "a.pgn").write_text(pgn([*CLUB, *many]) + BAD, "utf-8")
    library = tmp_path / "library"
    add_collection(library, [str(tmp_path / "a.pgn")], "Vane, Amber", AddOptions(plies=20))
    (tmp_path / "lessons").mkdir()
    shutil.copy(LESSON, tmp_path / "lessons" / "italian.pgn")
    return serve(library, lessons=tmp_path / "lessons", tail=("--library", str(library)))


def command(text: str) -> list[str]:
    """The words of a page's command, after the program's name."""
    found = re.search(r'id="command">.*?<code>(.*?)</code>', text, re.DOTALL)
    assert found
    return shlex.split(unescape(found[1]))[1:]


def out(address: str, how: str) -> str:
    return f"{address}{'&' if '?' in address else '?'}out={how}"


@pytest.mark.parametrize("address", PAGES)
def test_every_page_can_be_printed_saved_and_has_its_command(
    page: TestClient, address: str
) -> None:
    text = page.get(address).text
    for words in ("Print this", "Save this page", "The command for this"):
        assert text.count(words) == 1
    for link in re.findall(r'href="([^"]*out=[^"]*)"', text):
        assert page.get(unescape(link)).status_code == 200


@pytest.mark.parametrize(("address", "name"), PAGES.items())
def test_a_saved_page_is_whole_in_itself(page: TestClient, address: str, name: str) -> None:
    """It is styled, leads nowhere but to its own parts, and bears no player's name."""
    saved, printed = page.get(out(address, "file")), page.get(out(address, "paper")).text
    assert saved.headers["content-disposition"] == f'attachment; filename="{name}.html"'
    for text in (saved.text, printed):
        assert "<style>" in text
        assert 'src="/' not in text
        plain = re.sub(r"<script.*?</script>", "", text, flags=re.DOTALL)
        assert all(to.startswith("#") for to in re.findall(r'(?:href|action)="([^"]*)"', plain))
        assert "Vane" not in plain


@pytest.mark.parametrize("address", PAGES)
def test_the_command_of_a_page_runs(
    page: TestClient, address: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    joint = "&" if "?" in address else "?"
    words = command(page.get(f"{address}{joint}names=full").text)
    if address.startswith("/library/rejects"):  # its names are shown in full where none hides
        assert words[:3] == ["rejects", "--collection", "Vane, Amber"]
    ran = CliRunner().invoke(app, words)
    assert ran.exit_code == 0, ran.output


def test_the_command_of_a_game_writes_that_game_too(
    page: TestClient, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Forty others of the same moves do not push it off the list."""
    monkeypatch.chdir(tmp_path)
    for number in (1, 44):
        words = command(page.get(f"/game/{number}?ply=3&names=full&level=2000%2B").text)
        assert CliRunner().invoke(app, words).exit_code == 0
        title = page.get(f"/game/{number}?names=full").text.split("<h1>")[1].split("</h1>")[0]
        written = (tmp_path / f"game-{number}.pgn").read_text("utf-8")
        names = re.findall(r'\[(?:White|Black) "(.*?)"\]', written)
        pairs = zip(names[::2], names[1::2], strict=True)
        assert any(white in title and black in title for white, black in pairs)
        assert number == 1 or len(names) >= 2 * 40


def test_a_class_view_gives_nothing_away_however_it_is_taken_along(page: TestClient) -> None:
    """2... Nc6 stands in the part that is hidden, and there alone."""
    address = "/class?line=e4+e5+Nf3&as=white"
    for text in (page.get(address).text, page.get(out(address, "file")).text):
        seen = re.sub(r'<details id="answers">.*?</details>', "", text, flags=re.DOTALL)
        told = re.sub(r'<details class="moves">.*?</details>', "", seen, flags=re.DOTALL)
        assert "Nc6" in text
        assert "Nc6" not in told
        assert '<details id="command"><summary>' in told
        assert command(text)[:4] == ["report", "e4", "e5", "Nf3"]
    saved = page.get(out(address, "file"))
    assert "#answers" in saved.text.split("</style>")[0]
    assert "replybook-command" not in saved.text


@pytest.mark.parametrize("kind", ["position", "plans", "class"])
def test_a_position_that_no_game_reached_has_no_command(page: TestClient, kind: str) -> None:
    text = page.get(f"/{kind}?line=a4+a5").text
    assert "no game reached" in text
    assert "The command for this" not in text
    assert "Save this page" not in text


def test_a_name_in_the_command_of_the_ledger_is_hidden(page: TestClient) -> None:
    text = page.get("/library/rejects?collection=Vane,+Amber").text
    assert "with the name in place of the initials" in text
    assert command(text)[:3] == ["rejects", "--collection", "A. V."]


def test_lines_of_the_ledger_are_printed_where_they_were_read(page: TestClient) -> None:
    assert "skip=100&amp;out=paper" in page.get("/library/rejects?skip=100").text


def test_a_folder_without_lessons_has_no_command(serve: Serve, page: TestClient) -> None:
    text = page.get("/lessons?line=a3").text
    assert "0 of them have" in text
    assert "The command for this" not in text
