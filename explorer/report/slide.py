"""A diagram as a file of its own, for slides: whole without a page around it."""

from __future__ import annotations

from xml.sax.saxutils import escape

from explorer.positions.position import Position
from explorer.report.diagram import HIGH, WIDE, Marks, drawn, in_words, shared_drawings
from explorer.report.palette import PAPER
from explorer.report.words import clean, spelled

SIZE, LARGE = 2, 3  # pixels for each unit of the drawing


def slide(
    position: Position,
    view: str = "white",
    marks: Marks | None = None,
    letters: str | None = None,
    large: bool = False,
) -> str:
    """A position as an SVG document; its last move is marked where its moves are known.

    Title and description tell it in words. The ground is paper, so that it can be read on a
    slide of any colour. The bytes depend on the arguments alone.
    """
    board, given = position.board(), marks or Marks()
    last = board.peek() if board.move_stack else None
    marks = Marks(last, given.arrows, given.squares)
    scale = LARGE if large else SIZE
    parts = (
        '<?xml version="1.0" encoding="UTF-8"?>\n',
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDE} {HIGH}" '
        f'width="{scale * WIDE}" height="{scale * HIGH}" '
        'role="img" aria-labelledby="title description">',
        f'<title id="title">{escape(title(position, letters))}</title>',
        f'<desc id="description">{escape(in_words(board, view, marks))}</desc>',
        shared_drawings(),
        f'<path fill="{PAPER}" d="M0 0h{WIDE}v{HIGH}h-{WIDE}Z"/>',
        drawn(board, view, marks, large),
        "</svg>\n",
    )
    return "".join(parts)


def title(position: Position, letters: str | None = None) -> str:
    """``After 1. e4 e5 2. Nf3: King's Knight Opening``; the side to move where no line is known."""
    name = clean(position.name or "")
    if not position.sans:
        return name or f"{position.to_move.capitalize()} to move"
    line = f"After {spelled(position.numbered, letters)}"
    return f"{line}: {name}" if name else line
