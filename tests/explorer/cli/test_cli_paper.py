"""`diagram` and `worksheet`: files land where they should; each trouble is one line."""

from __future__ import annotations

import webbrowser
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest

from explorer.cli.exits import Exit


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
