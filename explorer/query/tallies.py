"""Games at a position, counted by reply and group: whole numbers."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from explorer.query.here import UNKNOWN, Here, Ints
from ingest.schema import END_OF_RECORD

ALL = -1  # stands for "all groups" where a group's number is expected


@dataclass(frozen=True, slots=True)
class Tally:
    """Sums over the games with one reply. Results, ratings, swing (pawns), mates: the mover's.

    ``ended_on_board`` and ``ended_open`` are among the records that stop
    here: mated or stalemated; without a result. ``met_*`` covers the games with
    a known result and a rated opponent, ``compared_half_points`` those of
    them in which the mover is rated too.
    """

    games: int = 0
    ended_on_board: int = 0
    ended_open: int = 0
    wins: int = 0
    draws: int = 0
    losses: int = 0
    rated: int = 0
    rating: int = 0
    opponent_rated: int = 0
    opponent_rating: int = 0
    met: int = 0
    met_rating: int = 0
    met_half_points: int = 0
    compared_half_points: int = 0
    swing_games: int = 0
    swing: int = 0
    mated: int = 0

    @property
    def known(self) -> int:
        """Games with a known result."""
        return self.wins + self.draws + self.losses

    @property
    def half_points(self) -> int:
        """The mover's half points."""
        return 2 * self.wins + self.draws


NONE = Tally()


def tallies_of(here: Here) -> dict[tuple[int, int], Tally]:
    """(packed move, number of the group) -> its games; the group ALL holds every game.

    Move 0 are the records that stop here.
    """
    columns = _columns(here)
    columns = np.concatenate([columns, columns.sum(axis=2, keepdims=True)], axis=2)
    numbers = [*range(len(here.groups)), ALL]
    found = {}
    for move, by_group in zip(here.moves, columns.transpose(1, 2, 0).tolist(), strict=True):
        for number, values in zip(numbers, by_group, strict=True):
            if values[0]:
                found[move, number] = Tally(*values)
    return found


def _columns(here: Here) -> Ints:
    """The columns of `Tally` for every move and group: (columns, moves, groups)."""
    shape = len(here.moves), len(here.groups)
    cells = shape[0] * shape[1]

    cell = here.cell.astype(np.intp)

    def summed(values: ArrayLike) -> Ints:
        return _summed(cell, values, cells).reshape(shape)

    # By cell, half points, and whether the opponent and the mover are rated.
    kind = cell * 16 + here.points * np.uint8(4)
    kind += (here.opponent > 0) * np.uint8(2) + (here.rating > 0)
    n = np.bincount(kind, minlength=16 * cells).reshape(*shape, 4, 2, 2)
    opponent = _summed(kind, here.opponent, 16 * cells).reshape(*shape, 4, 2, 2).sum(axis=4)
    losses, draws, wins, unknown = np.moveaxis(n.sum(axis=(3, 4)), 2, 0)
    met_points = n[:, :, 1, 1] + 2 * n[:, :, 2, 1]
    return np.stack(
        [
            losses + draws + wins + unknown,
            *_ended(here),
            wins,
            draws,
            losses,
            n[..., 1].sum(axis=(2, 3)),
            summed(here.rating),
            n[:, :, :, 1].sum(axis=(2, 3)),
            opponent.sum(axis=(2, 3)),
            n[:, :, :UNKNOWN, 1].sum(axis=(2, 3)),
            opponent[:, :, :UNKNOWN, 1].sum(axis=2),
            met_points.sum(axis=2),
            met_points[:, :, 1],
            summed(here.swing_known),
            summed(here.swing),
            summed(here.mated),
        ]
    )


def _ended(here: Here) -> tuple[Ints, Ints]:
    """The records that stop here on the board, and those that stop without a result."""
    shape = len(here.moves), len(here.groups)
    stops = here.cell < len(here.groups) * (here.moves[:1] == [0])
    cell, on_board = here.cell[stops], here.piece[stops] != END_OF_RECORD
    unknown = here.points[stops] == UNKNOWN
    on_board, without_result = (
        _summed(cell, which, shape[0] * shape[1]).reshape(shape)
        for which in (on_board, unknown & ~on_board)
    )
    return on_board, without_result


def _summed(group: ArrayLike, values: ArrayLike, groups: int) -> Ints:
    """The sums of whole numbers by group; they stay below 2 ** 53."""
    return np.bincount(group, values, groups).astype(np.int64)
