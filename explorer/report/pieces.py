"""Six pieces drawn for this project, on a square of 100 by 100.

Each is a silhouette and the lines inside it. A halo in the colour of the
paper parts them from the hatching, so that they read in black and white.
"""

from __future__ import annotations

import chess

from explorer.report.palette import INK, PAPER

_FOOT = "M26 79H74V88H26Z"

# piece type -> (silhouettes, lines inside)
_SHAPES: dict[int, tuple[str, str]] = {
    chess.PAWN: (
        "M50 22A13 13 0 1 1 50 48A13 13 0 1 1 50 22Z"
        "M38 50H62L58 56C58 66 64 70 68 79H32C36 70 42 66 42 56Z" + _FOOT,
        "",
    ),
    chess.ROOK: (
        "M27 20H38V29H45V20H55V29H62V20H73V41L65 47V68L71 79H29L35 68V47L27 41Z" + _FOOT,
        "M35 47H65M35 68H65",
    ),
    chess.KNIGHT: (
        "M33 79C32 66 44 58 47 49L34 57C29 60 23 57 22 51L21 47L36 30L37 17L47 23"
        "C64 24 75 38 75 56C75 66 73 72 71 79Z" + _FOOT,
        "M42 34L44 36M58 32C65 40 67 50 65 62",
    ),
    chess.BISHOP: (
        "M50 11A5.5 5.5 0 1 1 50 22A5.5 5.5 0 1 1 50 11Z"
        "M50 23C66 33 71 46 63 60H37C29 46 34 33 50 23Z"
        "M40 62H60L68 79H32Z" + _FOOT,
        "M50 32V48M43 40H57",
    ),
    chess.QUEEN: (
        "M29 79L35 66L18 34L36 48L36 24L50 45L64 24L64 48L82 34L65 66L71 79Z"
        "M18 25A4.5 4.5 0 1 1 18 34A4.5 4.5 0 1 1 18 25Z"
        "M36 15A4.5 4.5 0 1 1 36 24A4.5 4.5 0 1 1 36 15Z"
        "M64 15A4.5 4.5 0 1 1 64 24A4.5 4.5 0 1 1 64 15Z"
        "M82 25A4.5 4.5 0 1 1 82 34A4.5 4.5 0 1 1 82 25Z" + _FOOT,
        "M35 66H65",
    ),
    chess.KING: (
        "M47 8H53V14H59V20H53V28H47V20H41V14H47Z"
        "M34 39C36 27 64 27 66 39Z"
        "M27 41H73L64 66L71 79H29L36 66Z" + _FOOT,
        "M36 66H64",
    ),
}


def piece_id(piece: chess.Piece) -> str:
    """The name of a piece's drawing in a page: ``rb-wN``."""
    return f"rb-{'w' if piece.color else 'b'}{piece.symbol().upper()}"


def piece_symbols() -> str:
    """SVG symbols of the twelve pieces."""
    both = (chess.Piece(kind, color) for color in chess.COLORS for kind in _SHAPES)
    return "".join(_symbol(piece) for piece in both)


def _symbol(piece: chess.Piece) -> str:
    outline, inside = _SHAPES[piece.piece_type]
    body, line = (PAPER, INK) if piece.color else (INK, PAPER)
    join = 'stroke-linejoin="round" stroke-linecap="round"'
    drawn = (
        f'<path d="{outline}" fill="{PAPER}" stroke="{PAPER}" stroke-width="11" {join}/>'
        f'<path d="{outline}" fill="{body}" stroke="{INK}" stroke-width="4" {join}/>'
    )
    if inside:
        drawn += f'<path d="{inside}" fill="none" stroke="{line}" stroke-width="4" {join}/>'
    return f'<symbol id="{piece_id(piece)}" viewBox="5 4 90 90">{drawn}</symbol>'
