"""Expected score by rating difference and colour: FIDE's table or the library's own curve."""

from __future__ import annotations

from dataclasses import dataclass
from typing import overload

import numpy as np
from numpy.typing import ArrayLike, NDArray

from explorer.numbers import fide

MIN_GAMES_FOR_OWN = 2000
WIDEST = 800  # curves are dense from -WIDEST to WIDEST; beyond they stay flat
PARTS = 10_000  # every value of a curve is a whole number of 1 / PARTS
GAMES_PER_STEP = 50


@dataclass(frozen=True, eq=False, slots=True)
class Expectation:
    """Two curves of expected score (0-1), each at differences -WIDEST to WIDEST.

    ``source`` is "fide" or "library". The difference is always one's own
    rating minus the opponent's. The curves never fall. ``black`` at a
    difference is 1 minus ``white`` at the negated one.
    """

    source: str
    white: NDArray[np.float64]

    @property
    def black(self) -> NDArray[np.float64]:
        """The curve of the player with the black pieces."""
        return np.round(1 - self.white[::-1], 4)

    @overload
    def of(self, difference: int, white: bool) -> float: ...
    @overload
    def of(self, difference: NDArray[np.integer], white: bool) -> NDArray[np.float64]: ...
    def of(self, difference: int | NDArray[np.integer], white: bool) -> float | NDArray[np.float64]:
        """Expected score of the player of that colour, ``difference`` above the opponent."""
        curve = self.white if white else self.black
        found = curve[np.clip(difference, -WIDEST, WIDEST) + WIDEST]
        return float(found) if np.ndim(found) == 0 else found

    def table(self) -> tuple[int, list[float], list[float]]:
        """(lowest difference, White's curve, Black's curve), for use inside SQL.

        One value per point of difference. Each is a whole number of 1 / PARTS, so
        round(value * PARTS) is exact, and sums of those do not depend on the order.
        """
        return -WIDEST, self.white.tolist(), self.black.tolist()


def fide_expectation() -> Expectation:
    """FIDE's table 8.1.2, differences capped at 400; both colours alike."""
    differences = range(-WIDEST, WIDEST + 1)
    return Expectation("fide", np.array([fide.expected(d) for d in differences]))


def fit_expectation(difference: ArrayLike, games: ArrayLike, half_points: ArrayLike) -> Expectation:
    """White's mean result by rating difference, made monotone.

    One row per distinct difference (White's rating minus Black's): number of
    games and White's half points in them. Rows join, from low to high, into
    steps of at least GAMES_PER_STEP games, so that a lone upset at the far end
    decides nothing; isotonic regression by games makes the steps monotone; the
    curve runs straight between the steps' mean differences and stays flat beyond
    the first and the last. ValueError without games.
    """
    centre, weight, points = _steps(*_sorted_rows(difference, games, half_points))
    level = _rising(points, weight) / 2
    curve = np.interp(np.arange(-WIDEST, WIDEST + 1), centre, level)
    return Expectation("library", np.round(curve, 4))


def left_by_level(
    white: ArrayLike, level: ArrayLike, games: ArrayLike, over: ArrayLike
) -> NDArray[np.float64]:
    """Mean of score minus expected score by colour (Black 0, White 1) and level: 2 x levels.

    One curve serves players of every level, but White's advantage grows with the
    level: without this, what strong players choose as Black would look costly among
    games of many levels. One row per group of games: their number and their sum of score
    minus expected score. Levels are numbered from 0; 0 where there are no games.
    """
    colour, band = np.asarray(white, dtype=np.int64), np.asarray(level, dtype=np.int64)
    shape = 2, int(band.max(initial=-1)) + 1
    group = colour * shape[1] + band
    count, total = (np.bincount(group, part, shape[0] * shape[1]) for part in (games, over))
    return np.asarray(total / np.maximum(1, count)).reshape(shape)


def _sorted_rows(
    difference: ArrayLike, games: ArrayLike, half_points: ArrayLike
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    where, count, points = (np.asarray(a, dtype=float) for a in (difference, games, half_points))
    order = np.argsort(where, kind="stable")
    return where[order], count[order], points[order]


def _steps(
    where: NDArray[np.float64], games: NDArray[np.float64], points: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Rows joined to steps: mean difference, games and half points of each."""
    if games.sum() <= 0:
        raise ValueError("no games to fit an expectation to")
    starts, held = [0], 0.0
    for row, count in enumerate(games.tolist()):
        if held >= GAMES_PER_STEP:
            starts.append(row)
            held = 0.0
        held += count
    if held < GAMES_PER_STEP and len(starts) > 1:
        del starts[-1]  # too few left over: they join the last whole step
    weight = np.add.reduceat(games, starts)
    centre = np.add.reduceat(where * games, starts) / weight
    return centre, weight, np.add.reduceat(points, starts)


def _rising(points: NDArray[np.float64], weight: NDArray[np.float64]) -> NDArray[np.float64]:
    """The means ``points / weight`` made monotone: isotonic regression by pooling neighbours.

    scipy has it too, but its import takes longer than most answers.
    Source: Barlow, Bartholomew, Bremner, Brunk 1972, "pool adjacent violators".
    """
    pools: list[tuple[float, float, int]] = []  # points, weight, steps
    for pool in zip(points.tolist(), weight.tolist(), [1] * len(points), strict=True):
        while pools and pools[-1][0] * pool[1] >= pool[0] * pools[-1][1]:
            before = pools.pop()
            pool = before[0] + pool[0], before[1] + pool[1], before[2] + pool[2]
        pools.append(pool)
    means = [total / size for total, size, _ in pools]
    return np.repeat(means, [steps for _, _, steps in pools])
