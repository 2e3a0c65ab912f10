"""`diagram` and `worksheet`: files land where they should; each trouble is one line."""

from __future__ import annotations

import re
import webbrowser
import xml.etree.ElementTree as ET
from itertools import islice, product
from pathlib import Path

import pytest

from explorer.cli.exits import Exit
from ingest.pipeline import AddOptions, add_collection
from tests.support.club import evening, pgn

DAMIANO = "e4 e5 Nf3 f6 Nxe5 fxe5 Qh5+ g6 Qxe5+ Qe7 Qxh8"
QUIET = "e4 e5 Nf3 Nc6 Nc3 Nf6 Be2 Be7 O-O O-O"


@pytest.fixture(scope="session")
def damiano(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Black's 2... f6 loses a rook and 60 games, 2... Nc6 wins 60; no game is there twice."""
    folder = tmp_path_factory.mktemp("damiano")
    lost = product(("a6", "b6", "c6", "d6"), ("a3", "b3", "c3", "d3"), ("Nc6", "Kf7", "Kd8", "Nf6"))
    won = product(("a3", "b3", "d3", "h3"), ("a6", "b6", "d6", "h6"), ("Re1", "Rb1", "Kh1", "Ne1"))
    games = []
    for i, (short, long) in enumerate(islice(zip(lost, won, strict=True), 60)):
        games.append(evening(f"{DAMIANO} {' '.join(short)} Be2", "1-0", i))
        games.append(evening(f"{QUIET} {' '.join(long)} Re8", "0-1", i))
    (folder / "games.pgn").write_text(pgn(games), "utf-8")
    add_collection(folder / "games.duckdb", [str(folder / "games.pgn")], "many", AddOptions())
    return folder / "games.duckdb"


@pytest.fixture
def on_many(replybook, damiano: Path, monkeypatch: pytest.MonkeyPatch):
    """Runs a command on the library of 2... f6."""
    monkeypatch.setenv("REPLYBOOK_LIBRARY", str(damiano))
    return replybook


def test_a_diagram_gets_a_telling_name_and_its_path_is_printed(replybook, tmp_path: Path) -> None:
    said = replybook("diagram", "e4", "e5", "--view", "black")
    assert (said.code, said.out, said.err) == (Exit.DONE, "diagram-e4-e5.svg\n", "")
    ET.parse(tmp_path / "diagram-e4-e5.svg")


def test_a_diagram_has_the_arrows_and_marks_asked_for(replybook, tmp_path: Path) -> None:
    replybook("diagram", "Sf3", "--letters", "de", "--arrow", "e2e4", "--mark", "f7", "-o", "x.SVG")
    drawn = (tmp_path / "x.SVG").read_text("utf-8")
    assert "After 1. Sf3" in drawn
    assert "Arrows: e2 to e4. Marked: f7." in drawn


def test_a_diagram_is_opened_when_asked(replybook, tmp_path: Path, monkeypatch) -> None:
    opened: list[str] = []
    monkeypatch.setattr(webbrowser, "open", opened.append)
    replybook("diagram", "--open", "-o", "x.svg")
    assert opened == [(tmp_path / "x.svg").resolve().as_uri()]


@pytest.mark.parametrize(
    ("words", "line"),
    [
        (["-o", "x.png"], "x.png: a diagram ends in .svg; write for example -o lesson.svg"),
        (["--arrow", "h5"], "--arrow h5: not two squares"),
        (["--mark", "z1"], "--mark z1: not a square"),
        (["e5"], "move 1, White: e5 is not legal"),
    ],
)
def test_a_diagram_that_cannot_be_drawn_gets_one_line(replybook, complains, words, line) -> None:
    complains(replybook("diagram", *words), Exit.USAGE, line)


LESSON = (
    "1. e4 e5 (1... c5 2. Nf3) 2. Nf3 Nc6 (2... f6 3. Nxe5) 3. Bc4 Bc5 (3... Nf6 4. d3) 4. c3 *"
)


@pytest.fixture
def lesson(tmp_path: Path) -> str:
    (tmp_path / "my lesson.pgn").write_text(f'[Event "First replies"]\n\n{LESSON}\n', "utf-8")
    return "my lesson.pgn"


def test_a_worksheet_needs_no_library(replybook, lesson: str, tmp_path: Path) -> None:
    said = replybook("worksheet", lesson, "--as", "white")
    assert said.code == Exit.DONE
    assert said.out == "worksheet-my-lesson.html\n"
    assert said.err == "6 of 12 exercises: there is no other position to ask about.\n"
    page = (tmp_path / "worksheet-my-lesson.html").read_text("utf-8")
    assert "First replies" in page
    assert "no library was asked" in page


def test_with_a_library_the_games_decide(ask, lesson: str, tmp_path: Path) -> None:
    ask("worksheet", lesson, "--as", "white", "--exercises", "2", "-o", "w.html")
    page = (tmp_path / "w.html").read_text("utf-8")
    assert "those that most games against players of every level come to" in page
    assert "club evening, school" in page


def test_a_filter_asks_the_library_even_where_none_is(replybook, lesson: str) -> None:
    said = replybook("worksheet", lesson, "--as", "white", "--level", "800-1199")
    assert said.code == Exit.LIBRARY_TROUBLE
    assert "there is no library yet" in said.err


def test_the_same_seed_gives_the_same_bytes_and_another_one_another_draw(
    replybook, lesson: str, tmp_path: Path
) -> None:
    made = []
    for seed in ("1", "1", "2"):
        replybook("worksheet", lesson, "--as", "white", "--exercises", "4", "--seed", seed)
        made.append((tmp_path / "worksheet-my-lesson.html").read_bytes())
    assert made[0] == made[1]
    assert made[0].replace(b"seed 1", b"seed 2") != made[2]


def test_the_exercises_go_to_a_pgn_file_too(replybook, lesson: str, tmp_path: Path) -> None:
    said = replybook("worksheet", lesson, "--as", "white", "--pgn", "x.pgn", "--exercises", "3")
    assert said.err == "Written: x.pgn\n"
    assert (tmp_path / "x.pgn").read_text("utf-8").count('[SetUp "1"]') == 3


def test_large_print_takes_four_diagrams_a_page(replybook, lesson: str, tmp_path: Path) -> None:
    def size(*words: str) -> str:
        replybook("worksheet", lesson, "--as", "white", "-o", "w.html", *words)
        found = re.search('class="exercises ([a-z]+)"', (tmp_path / "w.html").read_text("utf-8"))
        return found[1] if found else ""

    assert [size(), size("--large"), size("--large", "--a-page", "6")] == ["six", "four", "six"]
    assert size("--a-page", "8", "--letters", "fr") == "eight"
    assert "2. Cf3" in (tmp_path / "w.html").read_text("utf-8").replace("\u00a0", " ")


def test_a_worksheet_is_opened_when_asked(replybook, lesson: str, tmp_path: Path, monkeypatch):
    opened: list[str] = []
    monkeypatch.setattr(webbrowser, "open", opened.append)
    replybook("worksheet", lesson, "--as", "white", "--open", "-o", "w.html")
    assert opened == [(tmp_path / "w.html").resolve().as_uri()]


def test_mistakes_are_asked_for_at_the_level(on_many, lesson: str, tmp_path: Path) -> None:
    words = ("--mistakes", "--as", "white", "--level", "under-1000")
    said = on_many("worksheet", *words)
    assert (said.code, said.out) == (Exit.DONE, "worksheet-mistakes-white.html\n")
    page = (tmp_path / "worksheet-mistakes-white.html").read_text("utf-8").replace("\u00a0", " ")
    assert "Black has just played 2... f6." in page
    assert "3. Nxe5" in page
    both = on_many("worksheet", lesson, *words)
    assert "No mistake" not in both.err


def test_what_a_teacher_should_know_is_said(on_many, tmp_path: Path) -> None:
    (tmp_path / "black.pgn").write_text("1. e4 (1. d4 d5) (1. c4 e5) e5 2. a3 (2. b3 d5) d5 *")
    said = on_many("worksheet", "black.pgn", "--as", "white", "--mistakes", "-o", "w.html")
    assert said.err.splitlines() == [
        "black.pgn: it looks like a lesson for the other side; is --as right?",
        "No mistake of this level that costs material lies on the lesson's lines.",
        "1 of 12 exercises: there is no other position to ask about.",
    ]


@pytest.mark.parametrize(
    ("words", "code", "line"),
    [
        (["--as", "white"], 2, "nothing to draw from; name a LESSON.pgn, or add --mistakes"),
        (["x.pgn"], 2, "replybook worksheet: --as white|black is missing;"),
        (["x.pgn", "--as", "white"], 3, "x.pgn: no such file; check its name and folder"),
        (["x.pgn", "--as", "red"], 2, "--as red: no such choice; write white or black"),
        (["x.pgn", "--as", "white", "-o", "x.pgn"], 2, "a worksheet ends in .html; for PGN, add"),
        (["x.pgn", "--as", "white", "--pgn", "x"], 2, "--pgn x: not the name of a PGN file"),
        (["x.pgn", "--as", "white", "--a-page", "5"], 2, "--a-page 5: no such choice; write 4, 6"),
        (["x.pgn", "--as", "white", "--exercises", "0"], 2, "--exercises 0: not a whole number"),
        (["x.pgn", "--as", "white", "--seed", "x"], 2, "--seed x: not a whole number from 0 to"),
        (["x.pgn", "--as", "white", "--level", "wise"], 2, "level 'wise': not a level"),
        (["--mistakes", "--as", "white"], 4, "there is no library yet"),
    ],
)
def test_a_worksheet_that_cannot_be_made_gets_one_line(
    replybook, complains, words, code, line
) -> None:
    complains(replybook("worksheet", *words), code, line)


def test_a_level_with_nothing_to_punish_is_told(ask, complains) -> None:
    said = ask("worksheet", "--mistakes", "--as", "white")
    complains(said, Exit.NOTHING_FOUND, "nothing to punish; choose another level, or give a lesson")


def test_letters_that_no_language_has_are_refused(replybook, complains, lesson: str) -> None:
    said = replybook("worksheet", lesson, "--as", "white", "--letters", "xx", "--exercises", "2")
    complains(said, Exit.USAGE, "--letters xx: no such language")
