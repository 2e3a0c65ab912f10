"""Diagrams show the position, and say it in words."""

from __future__ import annotations

import xml.etree.ElementTree as ET

import chess
import pytest

from explorer.report.diagram import Marks, diagram, in_words, parse_marks, shared_drawings
from ingest.errors import UsageError

SVG = "{http://www.w3.org/2000/svg}"
QUEEN_ENDING = chess.Board("4k3/8/8/8/8/8/4P3/4K2Q w - - 0 1")


def test_a_diagram_is_sound_svg_with_a_role_and_a_label() -> None:
    root = ET.fromstring(diagram(chess.Board()))
    assert root.get("role") == "img"
    assert "White: king e1, queen d1, rooks a1 h1" in (root.get("aria-label") or "")


def test_the_words_tell_the_whole_position() -> None:
    marks = parse_marks(["h1a8"], ["e8"])
    last = Marks(chess.Move.from_uci("e8e7"), marks.arrows, marks.squares)
    assert in_words(QUEEN_ENDING, "black", last) == (
        "Diagram, Black at the bottom. White: king e1, queen h1, pawn e2. Black: king e8. "
        "White to move. Last move: e8 to e7. Arrows: h1 to a8. Marked: e8."
    )
    assert "Black: nothing." in in_words(chess.Board("8/8/8/8/8/8/8/4K3 w - - 0 1"))


@pytest.mark.parametrize("view", ["white", "black"])
def test_every_piece_stands_on_its_square(view: str) -> None:
    board = chess.Board()
    root = ET.fromstring(diagram(board, view, standalone=False))
    uses = {
        (int(u.get("x") or 0), int(u.get("y") or 0)): u.get("href") for u in root.iter(f"{SVG}use")
    }
    assert len(uses) == 32
    # White's queen: from White's side fourth from the left below, from Black's fifth above.
    corner = (18 + 3 * 40, 4 + 7 * 40) if view == "white" else (18 + 4 * 40, 4)
    assert uses[corner] == "#rb-wQ"


@pytest.mark.parametrize(
    ("view", "files", "ranks"),
    [("white", "abcdefgh", "87654321"), ("black", "hgfedcba", "12345678")],
)
def test_the_coordinates_follow_the_side_at_the_bottom(view: str, files: str, ranks: str) -> None:
    root = ET.fromstring(diagram(chess.Board(), view))
    assert "".join(text.text or "" for text in root.iter(f"{SVG}text")) == files + ranks


def test_the_mark_of_the_side_to_move_stands_at_its_end() -> None:
    black = chess.Board("4k3/8/8/8/8/8/8/4K3 b - - 0 1")
    assert "M343 24l11" in diagram(black, "white")
    assert "M343 304l11" in diagram(black, "black")


def test_arrows_and_marks_change_the_drawing_in_one_ink() -> None:
    marked = diagram(QUEEN_ENDING, marks=parse_marks(["h1a8"], ["e8"]))
    assert marked.count("<circle") == 2
    assert len(marked) > len(diagram(QUEEN_ENDING))


@pytest.mark.parametrize("text", ["h5", "h5h5", "h9f7", "h5f7x"])
def test_an_arrow_needs_two_squares(text: str) -> None:
    with pytest.raises(UsageError, match="write for example h5f7"):
        parse_marks([text])


def test_a_mark_needs_a_square() -> None:
    with pytest.raises(UsageError, match="write for example f7"):
        parse_marks(squares=["k7"])


def test_the_drawings_are_defined_once_for_a_page() -> None:
    assert shared_drawings() in diagram(chess.Board())
    assert "<symbol" not in diagram(chess.Board(), standalone=False)
