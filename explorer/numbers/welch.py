"""Do two groups of games differ in their mean? Welch's test with players as clusters."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from explorer.numbers.intervals import CONFIDENCE

Floats = NDArray[np.float64]


class Sample(NamedTuple):
    """Sums over the games of a group; each a number, or an array with one value per group.

    ``total`` and ``squares``: sums of the values and of their squares; ``n``
    games; ``design`` from `clusters.mean_design` (arrays: `clusters.mean_designs`);
    ``clusters``: players, a nameless one for each game.
    """

    total: ArrayLike
    n: ArrayLike
    squares: ArrayLike
    design: ArrayLike = 1.0
    clusters: ArrayLike = np.inf


class Test(NamedTuple):
    """First mean minus second, in the values' unit, with its 95 % interval.

    ``p_less`` is one-sided: small when the first mean is the lower one. All
    fields have one shape. NaN, but for ``difference``, where a group has fewer than
    two games or two players; ``difference`` is NaN where one has no games.
    """

    difference: Floats
    se: Floats
    df: Floats
    low: Floats
    high: Floats
    p_less: Floats
    p_two_sided: Floats


def welch(first: Sample, second: Sample, unit: float = 0.0) -> Test:
    """Welch's t test of two samples of games; with one game per player, the textbook's.

    Each variance of a mean is inflated by the design effect. Degrees of freedom by
    Welch and Satterthwaite, each sample counting as the smaller of n / design
    and its number of players: a spread between players rests on no more cases than that.

    ``unit`` keeps equal values from claiming certainty: each sample's spread is
    taken as if one game more lay that far from the mean.
    Source: Welch, Biometrika 34:28-35 (1947); players as clusters: common practice.
    """
    from scipy.special import stdtr, stdtrit

    mean1, variance1, df1 = _mean(first, unit)
    mean2, variance2, df2 = _mean(second, unit)
    difference, variance = mean1 - mean2, variance1 + variance2
    with np.errstate(invalid="ignore", divide="ignore"):
        df = variance**2 / (variance1**2 / df1 + variance2**2 / df2)
        df = np.where(variance == 0, df1 + df2, df)
        se = np.sqrt(variance)
        t = np.where((se == 0) & (difference == 0), 0, difference / se)
    half = stdtrit(df, (1 + CONFIDENCE) / 2) * se
    low, high = difference - half, difference + half
    return Test(difference, se, df, low, high, stdtr(df, t), 2 * stdtr(df, -np.abs(t)))


def _mean(sample: Sample, unit: float) -> tuple[Floats, Floats, Floats]:
    """Mean, variance of the mean, degrees of freedom; NaN where there are none."""
    total, n, squares, design, clusters = (np.asarray(part, dtype=float) for part in sample)
    with np.errstate(invalid="ignore", divide="ignore"):
        mean = total / n
        spread = np.maximum(0, squares - total * mean) + unit * unit
        worth = np.minimum(n / design, clusters)
        few = ~((n > 1) & (worth > 1))
        variance = np.where(few, np.nan, design * spread / (n * (n - 1)))
        return mean, variance, np.where(few, np.nan, worth - 1)


def could_show(se: ArrayLike, df: ArrayLike, alpha: ArrayLike, power: float = 0.8) -> Floats:
    """The difference that a one-sided test at ``alpha`` finds with that power.

    In the unit of ``se``. The usual approximation: the two quantiles of t added
    (common practice); exact for many games.
    """
    from scipy.special import stdtrit

    se, df, alpha = (np.asarray(part, dtype=float) for part in (se, df, alpha))
    shown: Floats = (stdtrit(df, 1 - alpha) + stdtrit(df, power)) * se
    return shown
