"""Games as a reader hands them on, and python-chess boards as arrays."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import chess
import numpy as np
import pyarrow as pa
from numpy.typing import NDArray

from ingest.poskey import I64, PositionArrays

Snapshot = tuple[int, ...]


@dataclass(frozen=True, slots=True)
class ReadGames:
    """G games that were read, with all their positions."""

    index: I64  # which of the texts given
    headers: pa.Table  # as `headers.table_of` makes it
    tokens: list[str | None]  # the result after the moves: 1-0, 0-1, 1/2-1/2 or *
    start_fen: list[str | None]  # None: the normal starting position
    positions: PositionArrays
    checkmate: NDArray[np.bool_]  # of the last position
    stalemate: NDArray[np.bool_]
    cut: NDArray[np.bool_]  # the text could not be read beyond the last move here


def snapshot(board: chess.Board) -> Snapshot:
    """What `position_arrays` needs of one position."""
    return (
        board.pawns,
        board.knights,
        board.bishops,
        board.rooks,
        board.queens,
        board.kings,
        board.occupied_co[chess.WHITE],
        board.clean_castling_rights(),
        0 if board.ep_square is None else 1 + chess.square_file(board.ep_square),
        board.turn,
        min(board.halfmove_clock, 255),
    )


def position_arrays(
    games: Sequence[tuple[Sequence[Snapshot], Sequence[chess.Move]]],
) -> PositionArrays:
    """Games, each as snapshots of all its positions and its moves, as arrays."""
    lengths = np.array([len(moves) for _, moves in games], np.int64)
    table = np.array([row for rows, _ in games for row in rows], np.uint64).reshape(-1, 11)
    boards = np.zeros((len(table), 64), np.uint8)
    for kind in range(6):
        boards += _bits(table[:, kind]) * np.uint8(kind + 1)
    boards[(boards > 0) & (_bits(table[:, 6]) == 0)] += 6
    moves = [move for _, moves in games for move in moves]
    corners = np.array([chess.H1, chess.A1, chess.H8, chess.A8], np.uint64)
    return PositionArrays(
        boards=boards,
        castling=(table[:, 7, None] >> corners & np.uint64(1)).astype(np.bool_),
        en_passant=table[:, 8].astype(np.int8) - np.int8(1),
        turn=table[:, 9].astype(np.bool_),
        clock=table[:, 10].astype(np.uint8),
        from_squares=np.array([move.from_square for move in moves], np.uint8),
        to_squares=np.array([move.to_square for move in moves], np.uint8),
        promotions=np.array([move.promotion or -1 for move in moves], np.int8),
        position_starts=np.cumsum(lengths + 1) - lengths - 1,
        move_starts=np.cumsum(lengths) - lengths,
        lengths=lengths,
    )


def _bits(numbers: NDArray[np.uint64]) -> NDArray[np.uint8]:
    """Bitboards (n,) -> 0 or 1 for each square (n, 64)."""
    as_bytes = np.ascontiguousarray(numbers).astype("<u8").view(np.uint8).reshape(-1, 8)
    return np.unpackbits(as_bytes, axis=1, bitorder="little")
