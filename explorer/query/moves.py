"""Moves as the library packs them -> moves, and lines of them in SAN."""

from __future__ import annotations

from collections.abc import Sequence

import chess

from ingest.poskey import key_of


def unpack(packed: int) -> chess.Move:
    """from + 64 * to + 4096 * promotion -> the move."""
    return chess.Move(packed & 63, packed >> 6 & 63, (packed >> 12) or None)


def pack(move: chess.Move) -> int:
    """The move -> from + 64 * to + 4096 * promotion."""
    return move.from_square + 64 * move.to_square + 4096 * (move.promotion or 0)


def line_of(packed: Sequence[int], start_fen: str | None) -> tuple[tuple[str, ...], ...]:
    """A line from its start (None: the normal one) -> its moves as (UCI, SAN) tuples."""
    board = chess.Board(start_fen or chess.STARTING_FEN)
    moves = [unpack(move) for move in packed]
    ucis = tuple(move.uci() for move in moves)
    return ucis, tuple([board.san_and_push(move) for move in moves])


def key_after(board: chess.Board, move: chess.Move) -> int:
    """The key of the position after a legal move; the board is left as it was."""
    board.push(move)
    key = key_of(board)
    board.pop()
    return key
