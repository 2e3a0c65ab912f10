"""How much material a player of that level may expect to win or lose, against that opponent.

Weaker players lose more material than stronger ones in any position: without an
expectation, a reply that weak players choose would look like one that costs material.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False, slots=True)
class ExpectedSwing:
    """Pawns: ``base`` by ply and level, plus ``slope`` by ply times the expected score.

    ``base`` is plies x levels, ``slope`` one per ply. Both are 0 where no games were.
    """

    base: Floats
    slope: Floats

    def of(self, ply: ArrayLike, level: ArrayLike, expected: ArrayLike) -> Floats:
        """Expected swing of movers of that level with that expected score (0-1), in pawns."""
        at, among = np.asarray(ply, dtype=np.int64), np.asarray(level, dtype=np.int64)
        line: Floats = self.base[at, among] + self.slope[at] * np.asarray(expected)
        return line


def fit_expected_swing(
    ply: ArrayLike, level: ArrayLike, expected: ArrayLike, games: ArrayLike, swing: ArrayLike
) -> ExpectedSwing:
    """Mean swing by ply, level and expected score, straight in the last.

    One row per distinct (ply, level, expected score of the mover): number of
    games and sum of their swings. Plies and levels are numbered from 0. All levels
    of a ply share one slope (least squares within the levels), each has its own height.
    """
    ply, level = np.asarray(ply, dtype=np.int64), np.asarray(level, dtype=np.int64)
    x, n, total = (np.asarray(part, dtype=float) for part in (expected, games, swing))
    plies, levels = (int(part.max(initial=-1)) + 1 for part in (ply, level))
    group = ply * levels + level

    def summed(values: Floats) -> Floats:
        sums: Floats = np.bincount(group, values, plies * levels).astype(float)
        return sums.reshape(plies, levels)

    held = np.maximum(1, summed(n))
    mean_x, mean_swing = summed(n * x) / held, summed(total) / held
    off = x - mean_x[ply, level]
    spread = np.bincount(ply, n * off * off, plies)
    slope = np.bincount(ply, total * off, plies) / np.where(spread > 0, spread, 1)
    return ExpectedSwing(mean_swing - slope[:, None] * mean_x, slope)
