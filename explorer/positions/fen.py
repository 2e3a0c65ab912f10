"""A typed FEN -> a board, or the reason in words why it is none.

FEN as in the PGN standard, section 16.1; four fields (without the counters)
are enough.
"""

from __future__ import annotations

import re

import chess

from ingest.errors import PositionError

_STATUS = {
    chess.STATUS_NO_WHITE_KING: "White has no king",
    chess.STATUS_NO_BLACK_KING: "Black has no king",
    chess.STATUS_TOO_MANY_KINGS: "a side has more than one king",
    chess.STATUS_TOO_MANY_WHITE_PAWNS: "White has more than eight pawns",
    chess.STATUS_TOO_MANY_BLACK_PAWNS: "Black has more than eight pawns",
    chess.STATUS_PAWNS_ON_BACKRANK: "a pawn stands on the first or the last rank",
    chess.STATUS_TOO_MANY_WHITE_PIECES: "White has more than sixteen men",
    chess.STATUS_TOO_MANY_BLACK_PIECES: "Black has more than sixteen men",
    chess.STATUS_BAD_CASTLING_RIGHTS: "castling is allowed without king and rook at home",
    chess.STATUS_INVALID_EP_SQUARE: "no pawn can have just passed the en passant square",
    chess.STATUS_OPPOSITE_CHECK: "the side that is not to move is in check",
    chess.STATUS_TOO_MANY_CHECKERS: "the king is in check from more than two men",
    chess.STATUS_IMPOSSIBLE_CHECK: "no move can have given this check",
}

_FIELDS = (
    ("the side to move", r"[wb]", "w or b"),
    ("castling", r"-|(?=[KQkq])K?Q?k?q?", "letters of KQkq or -"),
    ("the en passant square", r"-|[a-h][36]", "a square of rank 3 or 6, or -"),
    ("the halfmove counter", r"[0-9]{1,4}", "a number"),
    ("the move number", r"[0-9]{1,4}", "a number"),
)


def looks_like_fen(text: str) -> bool:
    """Whether the first word has the slashes of a FEN."""
    return bool(text) and text.split()[0].count("/") >= 3


def split_fen(text: str) -> tuple[str, str]:
    """The FEN at the beginning of the text, and the moves typed after it."""
    words = text.split()
    end = 4
    while end < min(6, len(words)) and words[end].isdigit():
        end += 1
    return " ".join(words[:end]), " ".join(words[end:])


def board_of(fen: str) -> chess.Board:
    """The board of a FEN of four or six fields. PositionError with the reason."""
    fields = fen.split()
    reason = _fault(fields)
    if reason is None:
        board = chess.Board(" ".join(fields if len(fields) == 6 else [*fields, "0", "1"]))
        reason = impossible(board)
        if reason is None:
            return board
    raise PositionError(f"FEN {fen}: {reason}; correct it, or type the moves instead")


def impossible(board: chess.Board) -> str | None:
    """Why the position cannot occur in a game, in words; None when it can."""
    status = board.status()
    return next((text for flag, text in _STATUS.items() if status & flag), None)


def _fault(fields: list[str]) -> str | None:
    """What is wrong with the form of the fields, if anything."""
    if len(fields) not in (4, 6):
        return f"it has {len(fields)} field{'s'[: len(fields) != 1]} where a FEN has 4 or 6"
    if fault := _ranks_fault(fields[0]):
        return fault
    for field, (name, pattern, wanted) in zip(fields[1:], _FIELDS, strict=False):
        if not re.fullmatch(pattern, field):
            return f"{name} is {field!r} where {wanted} is needed"
    return None


def _ranks_fault(placement: str) -> str | None:
    ranks = placement.split("/")
    if len(ranks) != 8:
        return f"it has {len(ranks)} ranks instead of 8"
    for number, rank in zip(range(8, 0, -1), ranks, strict=True):
        if strange := re.search("[^pnbrqkPNBRQK1-8]", rank):
            return f"rank {number} holds {strange[0]!r}, which is no piece and no number"
        if (squares := sum(int(c) if c.isdigit() else 1 for c in rank)) != 8:
            return f"rank {number} has {squares} squares instead of 8"
    return None
