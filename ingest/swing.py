"""What a move costs in material: the swing, and being mated soon after it.

The swing of a move is the material balance (P1 N3 B3 R5 Q9, seen by the mover)
at the first quiet ply at least eight plies later, minus the balance before the
move. A ply is quiet when neither the move before it nor the move after it
changed material; the last position of a finished game is quiet. After sixteen
plies the balance counts as it stands.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ingest.poskey import BLACK_PAWN, I64, WHITE_PAWN, PositionArrays, rows_of

SOONEST, LATEST = 8, 16  # plies after the move

# By board code: 0 empty, 1-6 white PNBRQK, 7-12 black.
_VALUES = np.array([0, *(1, 3, 3, 5, 9, 0) * 2], np.int8)
_NONE = np.iinfo(np.int64).max


@dataclass(frozen=True, slots=True)
class Swings:
    """One entry a move: the first ``plies`` moves of each game, game after game."""

    swing: NDArray[np.int8]  # pawns, for the mover; 0 where it is not known
    known: NDArray[np.bool_]
    mated: NDArray[np.bool_]  # the mover is mated within sixteen plies; then not known


def swings_of(
    positions: PositionArrays,
    plies: int,
    finished: NDArray[np.bool_],
    checkmate: NDArray[np.bool_],
) -> Swings:
    """The swing of the first ``plies`` moves of each game.

    ``finished[g]``: the game's last position here is its end, by a result that
    is known or by mate or stalemate on the board. ``checkmate[g]``: by mate.
    """
    lengths = positions.lengths
    counts = np.minimum(lengths, plies + LATEST)
    balance, next_quiet = _balances(positions, counts, finished)
    moves = np.minimum(lengths, plies)
    game = np.repeat(np.arange(len(lengths)), moves)
    # Rows of `balance`: a game has one more of them than moves.
    first = (np.cumsum(counts) - counts + np.arange(len(counts)))[game]
    last = first + lengths[game]
    row = rows_of(np.zeros_like(moves), moves) + first

    settled = row + SOONEST
    np.minimum(settled, last, out=settled, where=finished[game])
    end = np.full(len(row), _NONE)
    reached = settled <= last
    end[reached] = next_quiet[settled[reached]]
    np.minimum(end, row + LATEST, out=end)
    mated = checkmate[game] & (last - row <= LATEST) & ((last - row) % 2 == 0)
    known = reached & (end <= last) & ~mated

    swing = np.zeros(len(row), np.int32)
    swing[known] = balance[end[known]] - balance[row[known]]
    white = positions.turn[rows_of(positions.position_starts, moves)]
    np.negative(swing, out=swing, where=~white)
    return Swings(np.clip(swing, -128, 127).astype(np.int8), known, mated)


def _balances(
    positions: PositionArrays, counts: I64, finished: NDArray[np.bool_]
) -> tuple[NDArray[np.int32], I64]:
    """White's material balance on the first ``counts + 1`` positions of each game, and
    for each of them the next row that is quiet (perhaps of a later game).

    Balances are right up to a constant for each game.
    """
    firsts = np.cumsum(counts) - counts + np.arange(len(counts))
    lasts = firsts + counts
    changes = np.zeros(int(counts.sum()) + len(counts), np.int32)
    moved = np.ones(len(changes), np.bool_)
    moved[firsts] = False
    changes[moved] = _gains(
        positions,
        rows_of(positions.position_starts, counts),
        rows_of(positions.move_starts, counts),
    )
    still = changes == 0
    quiet = still.copy()
    quiet[:-1] &= still[1:]
    quiet[lasts] = finished & (counts == positions.lengths)
    rows = np.where(quiet, np.arange(len(quiet)), _NONE)
    next_quiet = np.minimum.accumulate(rows[::-1])[::-1]
    return np.cumsum(changes, dtype=np.int32), next_quiet


def _gains(positions: PositionArrays, rows: I64, moves: I64) -> NDArray[np.int8]:
    """What White gains in material by each move; negative where Black gains."""
    squares = positions.boards.reshape(-1)
    start, goal = positions.from_squares[moves], positions.to_squares[moves]
    gains: NDArray[np.int8] = _VALUES[squares[rows * 64 + goal]]

    promotions = positions.promotions[moves]
    some = np.flatnonzero(promotions > 1)
    gains[some] += _VALUES[promotions[some]] - _VALUES[WHITE_PAWN]

    some = np.flatnonzero(positions.en_passant[rows] >= 0)
    piece = squares[rows[some] * 64 + start[some]]
    pawns = (piece == WHITE_PAWN) | (piece == BLACK_PAWN)
    slanted = (start[some].astype(np.int8) - goal[some].astype(np.int8)) % 8 != 0
    gains[some[pawns & slanted & (gains[some] == 0)]] += _VALUES[WHITE_PAWN]

    np.negative(gains, out=gains, where=~positions.turn[rows])
    return gains
