"""POSITION as a person types it on a command line -> a `Position`."""

from __future__ import annotations

from collections.abc import Sequence

import chess

from explorer.positions.fen import board_of, looks_like_fen, split_fen
from explorer.positions.moves import looks_like_moves, play
from explorer.positions.position import Position, position_of
from ingest.errors import PositionError


def parse_position(words: str | Sequence[str], letters: str | None = None) -> Position:
    """Moves, a FEN (with moves after it if wanted), ``file.pgn`` or an opening's name.

    ``words`` may be one quoted text or several words; none at all is the
    normal starting position. ``letters`` names the language of the piece
    letters. PositionError when it cannot be read, InputError when the file
    cannot be used.
    """
    text = words if isinstance(words, str) else " ".join(words)
    text = text.strip().strip("\"'“”„").strip()
    board = chess.Board()
    if looks_like_fen(text):
        fen, text = split_fen(text)
        board = board_of(fen)
    if text and not looks_like_moves(text):
        raise PositionError(f"{text}: no such position")
    play(board, text, letters)
    return position_of(board)
