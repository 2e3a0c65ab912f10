"""Many games played at once from one position, move by move, on arrays.

Board codes: 0 empty, 1-6 White's P N B R Q K, -1 to -6 Black's. Squares run
from a1 = 0 to h8 = 63, moves are packed as in the library.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import chess
import numpy as np
from numpy.typing import NDArray

PAWN, KNIGHT, BISHOP, ROOK, QUEEN, KING = range(1, 7)
KING_SIDE, QUEEN_SIDE = 1, 2
VALUES = np.array([0, 1, 3, 3, 5, 9, 0], np.int16)  # in pawns, by piece

Bytes = NDArray[np.uint8]
Boards = NDArray[np.int8]
Rows = NDArray[np.intp]

# Called after each ply with its number and the boards, (n, 64); not to be kept or changed.
Look = Callable[[int, Boards], None]


@dataclass(frozen=True, slots=True)
class Walk:
    """What happened in n games over T plies: arrays of shape (n, T), 0 once a record is over.

    ``piece`` moves from ``start`` to ``target`` and takes ``captured`` (a pawn by *en passant*
    too) or nothing; types are 1-6, pawn to king. ``castled`` is KING_SIDE, QUEEN_SIDE or 0: the
    king moves two files; a king who walks there has not castled. ``unit`` is the square on which
    the moving man stood when the walk began: it says whether two moves are of one man; castling
    is the king's, though the rook has moved too. ``promotion`` is the new piece or 0.
    ``balance``, of shape (n, T + 1), is White's material less Black's in pawns (P1 N3 B3 R5 Q9)
    before each ply and at the end.
    """

    piece: Bytes
    captured: Bytes
    start: Bytes
    target: Bytes
    castled: Bytes
    unit: Bytes
    promotion: Bytes
    balance: NDArray[np.int16]


def walk(
    start: chess.Board,
    moves: NDArray[np.uint16],
    lengths: NDArray[np.int64],
    look: Look | None = None,
) -> Walk:
    """Play n games from a position; ``moves`` has shape (n, T), ``lengths`` (n) how many count.

    The moves are trusted to be legal. A few thousand games at a time are fastest.
    """
    plies = moves.shape[1]
    counts = np.arange(plies)[:, None] < lengths
    packed = np.where(counts, moves.T, 0)  # 0 is a1a1: it changes nothing
    went, squares = packed != 0, packed.astype(np.intp)
    origin, target, promotion = squares & 63, squares >> 6 & 63, packed >> 12
    seen = np.zeros((4, plies, len(moves)), np.uint8)
    games = _Games(start, len(moves))
    for ply in range(plies):
        games.play(origin[ply], target[ply], promotion[ply], seen[:, ply])
        if look:
            look(ply, games.boards)
    seen *= went
    piece, captured, castled, unit = (part.T for part in seen)
    gains = VALUES[seen[1]] + np.where(promotion, VALUES[promotion] - VALUES[PAWN], 0)
    whites = np.arange(plies) % 2 == (0 if start.turn else 1)
    gains = np.where(whites[:, None], gains, -gains)
    balance = np.vstack([np.full((1, len(moves)), _balance(start)), gains])
    return Walk(
        piece=piece,
        captured=captured,
        start=origin.astype(np.uint8).T,
        target=target.astype(np.uint8).T,
        castled=castled,
        unit=unit,
        promotion=promotion.astype(np.uint8).T,
        balance=np.cumsum(balance, axis=0, dtype=np.int16).T,
    )


def _balance(board: chess.Board) -> int:
    """White's material less Black's, in pawns."""
    men = board.piece_map().values()
    return sum(int(VALUES[man.piece_type]) * (1 if man.color else -1) for man in men)


class _Games:
    """n boards, and for every square on which square its man stood at the start."""

    def __init__(self, start: chess.Board, n: int) -> None:
        codes = np.zeros(64, np.int8)
        for square, man in start.piece_map().items():
            codes[square] = man.piece_type if man.color else -man.piece_type
        self.boards = np.tile(codes, (n, 1))
        self._squares = self.boards.reshape(-1)
        self._units = np.tile(np.arange(64, dtype=np.uint8), n)
        self._row = np.arange(n) * 64

    def play(self, origin: Rows, target: Rows, promotion: NDArray[np.uint16], seen: Bytes) -> None:
        """One move in each game; ``seen`` (4, n) gets piece, captured, castled and unit."""
        here, there = self._row + origin, self._row + target
        man, unit = self._squares[here], self._units[here]
        seen[0], seen[1], seen[3] = np.abs(man), np.abs(self._squares[there]), unit
        self._en_passant(origin, target, seen)
        self._squares[here] = 0
        self._squares[there], self._units[there] = man, unit
        self._castling(origin, target, seen)
        for row in np.flatnonzero(promotion):
            self._squares[there[row]] = np.sign(man[row]) * promotion[row]

    def _en_passant(self, origin: Rows, target: Rows, seen: Bytes) -> None:
        slanted = (seen[0] == PAWN) & (seen[1] == 0) & ((origin ^ target) & 7 != 0)
        rows = np.flatnonzero(slanted)
        self._squares[self._row[rows] + (origin[rows] & 56) + (target[rows] & 7)] = 0
        seen[1, rows] = PAWN

    def _castling(self, origin: Rows, target: Rows, seen: Bytes) -> None:
        """The rook's part, where a king has moved two files."""
        kings = np.flatnonzero(seen[0] == KING)
        rows = kings[np.abs((origin[kings] & 7) - (target[kings] & 7)) == 2]
        side = np.where(target[rows] > origin[rows], KING_SIDE, QUEEN_SIDE)
        seen[2, rows] = side
        corner = self._row[rows] + (origin[rows] & 56) + np.where(side == KING_SIDE, 7, 0)
        beside = self._row[rows] + (origin[rows] + target[rows]) // 2
        for squares in (self._squares, self._units):
            squares[beside] = squares[corner]
        self._squares[corner] = 0
