"""Whole games as arrays of positions -> their visits, the rows that queries count.

A game counts once per position: by its first arrival there.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from ingest.poskey import BLACK_PAWN, I64, U64, PositionArrays, keys_of, rows_of
from ingest.schema import END_CHECKMATE, END_OF_RECORD
from ingest.swing import swings_of

# Fewer plies cannot bring a position back: both sides must go and return.
_SOONEST_RETURN = 4


@dataclass(frozen=True, slots=True)
class Visits:
    """n visits, by game and then ply."""

    game: I64  # which of the games
    key: U64  # the position before the move
    move: NDArray[np.uint16]  # from + 64 * to + 4096 * promotion; 0: the record stops here
    piece: NDArray[np.uint8]  # 1-6, pawn to king; with move 0 a schema.END_ value
    ply: NDArray[np.uint8]
    white_to_move: NDArray[np.bool_]
    swing: NDArray[np.int8]  # pawns, for the mover; 0 where it is not known
    swing_known: NDArray[np.bool_]
    mated: NDArray[np.bool_]  # the mover is mated within the window

    def take(self, rows: NDArray[np.bool_] | I64) -> Visits:
        """Some of the visits, by mask or by row numbers."""
        return Visits(*(getattr(self, field.name)[rows] for field in fields(Visits)))


def packed_moves(positions: PositionArrays, moves: I64) -> NDArray[np.uint16]:
    """Some moves as 16-bit numbers: from + 64 * to + 4096 * promotion (2-5, or 0)."""
    packed = positions.from_squares[moves].astype(np.uint16)
    packed += positions.to_squares[moves] * np.uint16(64)
    promotion = np.maximum(positions.promotions[moves], 0).astype(np.uint16)
    packed += promotion * np.uint16(4096)
    return packed


def visits_of(
    positions: PositionArrays,
    plies: int,
    *,
    ending: NDArray[np.uint8],
    result_known: NDArray[np.bool_],
    cut: NDArray[np.bool_],
) -> Visits:
    """The visits of the first ``plies`` positions of each game (1 to 255).

    ``ending`` is a schema.END_ value a game; ``result_known`` whether it has a
    result; ``cut`` whether the text goes on unreadably after its last move here.
    A game that stops earlier has a last visit without a move, unless it is cut.
    """
    counts = np.minimum(positions.lengths + 1, plies)
    game = np.repeat(np.arange(len(counts)), counts)
    ply = rows_of(np.zeros_like(counts), counts)
    row = rows_of(positions.position_starts, counts)
    stops = ply == positions.lengths[game]
    goes_on = ~stops
    moves = rows_of(positions.move_starts, np.minimum(positions.lengths, plies))
    key = keys_of(positions, plies)

    move = np.zeros(len(row), np.uint16)
    move[goes_on] = packed_moves(positions, moves)
    piece = ending[game]
    moved = positions.boards.reshape(-1)[row[goes_on] * 64 + positions.from_squares[moves]]
    piece[goes_on] = np.where(moved < BLACK_PAWN, moved, moved - 6)

    over = ending != END_OF_RECORD
    finished = over | (result_known & ~cut)
    found = swings_of(positions, plies, finished, ending == END_CHECKMATE)
    swing = np.zeros(len(row), np.int8)
    known, mated = np.zeros(len(row), np.bool_), np.zeros(len(row), np.bool_)
    swing[goes_on], known[goes_on], mated[goes_on] = found.swing, found.known, found.mated

    visits = Visits(
        game, key, move, piece, ply.astype(np.uint8), positions.turn[row], swing, known, mated
    )
    since = np.minimum(positions.clock[row], ply)
    return visits.take(~(stops & cut[game]) & ~_came_before(key, since))


def _came_before(key: U64, since: I64) -> NDArray[np.bool_]:
    """Whether each position came earlier in its game.

    ``since`` counts the plies of the game since the last capture or pawn move:
    no position from before it can come back.
    """
    before = np.zeros(len(key), np.bool_)
    rows = np.flatnonzero(since >= _SOONEST_RETURN)
    back = _SOONEST_RETURN
    while len(rows):
        before[rows] |= key[rows] == key[rows - back]
        back += 2
        rows = rows[since[rows] >= back]
    return before
