"""Diagrams as in printed chess books: SVG, black and white safe, told in words too."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from xml.sax.saxutils import quoteattr

import chess

from explorer.report.palette import INK, PAPER
from explorer.report.pieces import piece_id, piece_symbols
from ingest.errors import UsageError

SQUARE = 40
LEFT, TOP, RIGHT, BOTTOM = 18, 4, 20, 20
WIDE = LEFT + 8 * SQUARE + RIGHT
HIGH = TOP + 8 * SQUARE + BOTTOM
LABEL = 17  # the height of an arrow's label
HATCH = "rb-hatch"
SANS = "font-family=\"'Helvetica Neue', Arial, sans-serif\""


@dataclass(frozen=True, slots=True)
class Marks:
    """What is drawn on a diagram: the last move, arrows (from, to), marked squares.

    ``labels`` stand at the heads of the arrows, one for each, or there are none.
    """

    last: chess.Move | None = None
    arrows: tuple[tuple[chess.Square, chess.Square], ...] = ()
    squares: tuple[chess.Square, ...] = ()
    labels: tuple[str, ...] = ()


def parse_marks(arrows: Sequence[str] = (), squares: Sequence[str] = ()) -> Marks:
    """``h5f7`` and ``f7`` -> Marks. UsageError for what is no square."""
    for text in arrows:
        if not re.fullmatch(r"([a-h][1-8]){2}", text) or text[:2] == text[2:]:
            raise UsageError(f"--arrow {text}: not two squares; write for example h5f7")
    for text in squares:
        if text not in chess.SQUARE_NAMES:
            raise UsageError(f"--mark {text}: not a square; write for example f7")
    return Marks(
        arrows=tuple((chess.parse_square(a[:2]), chess.parse_square(a[2:])) for a in arrows),
        squares=tuple(chess.parse_square(name) for name in squares),
    )


def shared_drawings() -> str:
    """The pieces and the hatching, once for all diagrams of a page."""
    hatching = (
        f'<pattern id="{HATCH}" width="5" height="5" patternUnits="userSpaceOnUse">'
        f'<path d="M-1 6L6 -1M-1 1L1 -1M4 6L6 4" stroke="{INK}" stroke-width=".8"/></pattern>'
    )
    return f"<defs>{hatching}{piece_symbols()}</defs>"


def diagram(
    board: chess.Board,
    view: str = "white",
    marks: Marks | None = None,
    standalone: bool = True,
    large: bool = False,
) -> str:
    """One diagram as SVG text.

    ``view`` is the side at the bottom, ``large`` has larger coordinates. A page writes
    `shared_drawings` once and takes its diagrams with ``standalone=False``.
    """
    marks = marks or Marks()
    parts = (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="diagram" role="img" '
        f'viewBox="0 0 {WIDE} {HIGH}" aria-label={quoteattr(in_words(board, view, marks))}>',
        shared_drawings() if standalone else "",
        drawn(board, view, marks, large),
        "</svg>",
    )
    return "".join(parts)


def drawn(board: chess.Board, view: str, marks: Marks, large: bool = False) -> str:
    """What is inside a diagram, where the shared drawings are at hand."""
    parts = (
        _squares(),
        _coordinates(view, 18 if large else 14),
        _last_move(marks.last, view),
        "".join(_ring(square, view) for square in marks.squares),  # the piece stays whole
        _pieces(board, view),
        _side_to_move(board.turn, view),
        "".join(_arrow(a, b, view) for a, b in marks.arrows),
        *_labels(marks, view),
    )
    return "".join(parts)


def arrows(marks: Marks, view: str) -> str:
    """The arrows alone with their labels, to be laid over a diagram of the same size."""
    parts = (
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" viewBox="0 0 {WIDE} {HIGH}" '
        f"aria-label={quoteattr(_arrows_in_words(marks))}>",
        *(_arrow(start, end, view) for start, end in marks.arrows),
        *_labels(marks, view),
        "</svg>",
    )
    return "".join(parts)


def _corner(square: chess.Square, view: str) -> tuple[int, int]:
    """Left and top of a square."""
    file, rank = chess.square_file(square), chess.square_rank(square)
    if view == "black":
        return LEFT + SQUARE * (7 - file), TOP + SQUARE * rank
    return LEFT + SQUARE * file, TOP + SQUARE * (7 - rank)


def _centre(square: chess.Square, view: str) -> tuple[float, float]:
    x, y = _corner(square, view)
    return x + SQUARE / 2, y + SQUARE / 2


def _squares() -> str:
    """Paper, the dark squares hatched, a frame. The same from either side."""
    dark = "".join(
        f"M{LEFT + SQUARE * column} {TOP + SQUARE * row}h{SQUARE}v{SQUARE}h-{SQUARE}Z"
        for row in range(8)
        for column in range(8)
        if (row + column) % 2
    )
    whole = f"M{LEFT} {TOP}h{8 * SQUARE}v{8 * SQUARE}h-{8 * SQUARE}Z"
    return (
        f'<path fill="{PAPER}" d="{whole}"/>'
        f'<path fill="url(#{HATCH})" d="{dark}"/>'
        f'<path fill="none" stroke="{INK}" stroke-width="2" d="{whole}"/>'
    )


def _coordinates(view: str, size: int) -> str:
    files = chess.FILE_NAMES if view == "white" else chess.FILE_NAMES[::-1]
    ranks = chess.RANK_NAMES[::-1] if view == "white" else chess.RANK_NAMES
    texts = [
        f'<text x="{LEFT + SQUARE * i + SQUARE // 2}" y="{HIGH - 5}">{name}</text>'
        for i, name in enumerate(files)
    ]
    texts += [
        f'<text x="8" y="{TOP + SQUARE * i + SQUARE // 2 + 5}">{name}</text>'
        for i, name in enumerate(ranks)
    ]
    return f'<g fill="{INK}" {SANS} font-size="{size}" text-anchor="middle">{"".join(texts)}</g>'


def _pieces(board: chess.Board, view: str) -> str:
    return "".join(
        f'<use href="#{piece_id(piece)}" x="{_corner(square, view)[0]}" '
        f'y="{_corner(square, view)[1]}" width="{SQUARE}" height="{SQUARE}"/>'
        for square, piece in sorted(board.piece_map().items())
    )


def _side_to_move(turn: chess.Color, view: str) -> str:
    """A small triangle beside the board at the mover's end, hollow for White."""
    at_bottom = turn == (view == "white")
    x, y = LEFT + 8 * SQUARE + 5, (TOP + 7.5 * SQUARE if at_bottom else TOP + SQUARE / 2)
    fill = PAPER if turn else INK
    return (
        f'<path d="M{x} {y:g}l11 -7v14Z" fill="{fill}" stroke="{INK}" stroke-width="1.5" '
        'stroke-linejoin="round"/>'
    )


def _last_move(move: chess.Move | None, view: str) -> str:
    """A dot where the piece stood, a frame where it stands."""
    if move is None:
        return ""
    (x, y), (left, top) = _centre(move.from_square, view), _corner(move.to_square, view)
    side = SQUARE - 5
    return (
        f'<circle cx="{x:g}" cy="{y:g}" r="8" fill="{PAPER}"/>'
        f'<circle cx="{x:g}" cy="{y:g}" r="4.5" fill="{INK}"/>'
        f'<path d="M{left + 2.5} {top + 2.5}h{side}v{side}h-{side}Z" fill="{PAPER}" '
        f'stroke="{INK}" stroke-width="2.5"/>'
    )


def _ring(square: chess.Square, view: str) -> str:
    x, y = _centre(square, view)
    ring = f'cx="{x:g}" cy="{y:g}" r="17" fill="none"'
    return (
        f'<circle {ring} stroke="{PAPER}" stroke-width="6"/>'
        f'<circle {ring} stroke="{INK}" stroke-width="3"/>'
    )


def _arrow(start: chess.Square, end: chess.Square, view: str) -> str:
    """A line with a head, both with a border of paper; it stops short of the piece it aims at."""
    (x1, y1), (x2, y2) = _centre(start, view), _centre(end, view)
    length = math.hypot(x2 - x1, y2 - y1)
    dx, dy = (x2 - x1) / length, (y2 - y1) / length
    x2, y2 = x2 - 9 * dx, y2 - 9 * dy
    neck_x, neck_y = x2 - 15 * dx, y2 - 15 * dy
    line = f"M{x1 + 9 * dx:.1f} {y1 + 9 * dy:.1f}L{neck_x:.1f} {neck_y:.1f}"
    head = (
        f"M{x2:.1f} {y2:.1f}L{neck_x - 8 * dy:.1f} {neck_y + 8 * dx:.1f}"
        f"L{neck_x + 8 * dy:.1f} {neck_y - 8 * dx:.1f}Z"
    )
    return (
        f'<path d="{line}{head}" fill="{PAPER}" stroke="{PAPER}" stroke-width="9"/>'
        f'<path d="{line}" stroke="{INK}" stroke-width="4.5"/><path d="{head}" fill="{INK}"/>'
    )


def _labels(marks: Marks, view: str) -> Iterator[str]:
    """The arrows' labels, each near the head of its arrow and clear of the others."""
    placed: list[tuple[float, float]] = []
    for text, (start, end) in zip(marks.labels, marks.arrows, strict=False):
        wide = LABEL + 7 * (len(text) - 1)
        places = list(_label_places(start, end, wide, view))
        x, y = next(
            (here for here in places if all(math.dist(here, p) >= LABEL for p in placed)),
            places[0],
        )
        placed.append((x, y))
        yield (
            f'<rect x="{x - wide / 2:.1f}" y="{y - LABEL / 2:.1f}" width="{wide}" '
            f'height="{LABEL}" rx="{LABEL / 2:g}" fill="{PAPER}" stroke="{INK}" '
            f'stroke-width="1.5"/><text x="{x:.1f}" y="{y + 4.6:.1f}" fill="{INK}" {SANS} '
            f'font-size="13" font-weight="bold" text-anchor="middle">{text}</text>'
        )


def _label_places(
    start: chess.Square, end: chess.Square, wide: int, view: str
) -> Iterator[tuple[float, float]]:
    """Where a label may stand, the best place first: just ahead of the head, or beside it."""
    (x1, y1), (x2, y2) = _centre(start, view), _centre(end, view)
    length = math.hypot(x2 - x1, y2 - y1)
    dx, dy = (x2 - x1) / length, (y2 - y1) / length
    for ahead, aside in ((9, 0), (7, 11), (7, -11), (-9, 17), (-9, -17), (9, 20), (9, -20)):
        x, y = x2 + ahead * dx - aside * dy, y2 + ahead * dy + aside * dx
        yield (
            min(max(x, LEFT + wide / 2), LEFT + 8 * SQUARE - wide / 2),
            min(max(y, TOP + LABEL / 2), TOP + 8 * SQUARE - LABEL / 2),
        )


def in_words(board: chess.Board, view: str = "white", marks: Marks | None = None) -> str:
    """A diagram for those who cannot see it: every piece, whose turn, what is marked."""
    marks = marks or Marks()
    sides = (f"{_side(color)}: {_pieces_in_words(board, color)}." for color in (True, False))
    told = [f"Diagram, {view.capitalize()} at the bottom.", *sides, f"{_side(board.turn)} to move."]
    name = chess.square_name
    if marks.last is not None:
        told.append(f"Last move: {name(marks.last.from_square)} to {name(marks.last.to_square)}.")
    if marks.arrows:
        told.append(_arrows_in_words(marks))
    if marks.squares:
        told.append(f"Marked: {', '.join(map(name, marks.squares))}.")
    return " ".join(told)


def _arrows_in_words(marks: Marks) -> str:
    labels = [f"{text}: " for text in marks.labels] or [""] * len(marks.arrows)
    ways = [f"{chess.square_name(a)} to {chess.square_name(b)}" for a, b in marks.arrows]
    return f"Arrows: {', '.join(map(''.join, zip(labels, ways, strict=True)))}."


def _side(color: chess.Color) -> str:
    return "White" if color else "Black"


def _pieces_in_words(board: chess.Board, color: chess.Color) -> str:
    groups = []
    for kind in reversed(chess.PIECE_TYPES):
        squares = sorted(chess.square_name(square) for square in board.pieces(kind, color))
        if squares:
            plural = "s" if len(squares) > 1 else ""
            groups.append(f"{chess.piece_name(kind)}{plural} {' '.join(squares)}")
    return ", ".join(groups) or "nothing"
