"""The board's contrast by the palette: men, hatching and marks, which no checker of pages sees."""

from __future__ import annotations

import re

import chess
import pytest

from explorer.report import palette
from explorer.report.diagram import Marks, arrows, diagram, shared_drawings
from explorer.report.pieces import piece_symbols
from tests.support.contrast import contrast, luminance, ratio

GRAPHICS = 3  # WCAG 2.2, 1.4.11
# Of the hatching: lines .8 wide on a diagonal that comes back every 5.
COVERED = 0.8 / (5 / 2**0.5)


def hatched() -> float:
    """The luminance of a dark square from afar, where its lines run together."""
    return COVERED * luminance(palette.INK) + (1 - COVERED) * luminance(palette.PAPER)


def test_the_hatching_is_what_is_reckoned_with() -> None:
    assert 'width="5" height="5"' in shared_drawings()
    assert 'stroke-width=".8"' in shared_drawings()


def test_ink_on_a_dark_square_has_the_contrast_of_graphics() -> None:
    """A black man, a white man's outline, a frame, an arrow: all are ink."""
    assert ratio(luminance(palette.INK), hatched()) >= GRAPHICS


def test_ink_on_a_light_square_has_the_contrast_of_the_best_text() -> None:
    assert contrast(palette.INK, palette.PAPER) >= 7  # WCAG 2.2, 1.4.6


@pytest.mark.parametrize("text", [piece_symbols(), diagram(chess.Board(), standalone=False)])
def test_nothing_on_a_board_has_a_colour_but_ink_and_paper(text: str) -> None:
    assert set(re.findall(r"#[0-9a-f]{6}", text)) <= {palette.INK, palette.PAPER}


def test_every_man_has_a_halo_of_paper_under_an_edge_of_ink() -> None:
    for symbol in piece_symbols().split("</symbol>")[:-1]:
        halo, edge = re.findall(r'stroke="(#[0-9a-f]{6})" stroke-width="([0-9]+)"', symbol)[:2]
        assert halo[0] == palette.PAPER
        assert edge[0] == palette.INK
        assert int(halo[1]) > int(edge[1])


def test_arrows_alone_are_told_in_words_and_numbered() -> None:
    marks = Marks(arrows=((chess.B8, chess.C6), (chess.F7, chess.F6)), labels=("1", "2"))
    drawn = arrows(marks, "white")
    assert 'role="img"' in drawn
    assert 'aria-label="Arrows: 1: b8 to c6, 2: f7 to f6."' in drawn
    assert drawn.count("<text") == 2
    assert "<use" not in drawn
