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
    ``clusters``: players, a nameless one for each game (NaN: every game has its
    own); ``sum_nn``: sum of the squares of their numbers of games (NaN: all alike).
    """

    total: ArrayLike
    n: ArrayLike
    squares: ArrayLike
    design: ArrayLike = 1.0
    clusters: ArrayLike = np.nan
    sum_nn: ArrayLike = np.nan


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

    Each variance of a mean is inflated by its design effect. A player with most
    of the games pulls the mean to himself and so hides how he differs; players
    therefore count by their effective number m = n * n / sum_nn (c, all of them, when
    they have equally many games): the variance grows by m / (m - 1) over
    c / (c - 1), and m - 1 are the degrees of freedom that Welch and Satterthwaite join.

    ``unit`` keeps equal values from claiming certainty: each sample's spread is
    taken as if one game more lay that far from the mean.
    Source: Welch, Biometrika 34:28-35 (1947). Effective number: Kish, Survey
    Sampling (1965), on unequal weights, from memory; its use here is ours, by simulation.
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


def alike(first: Sample, second: Sample) -> tuple[Sample, Sample]:
    """Both samples with a spread per game of no less than that of both together.

    A few games without a rare win (or a rare won queen) have both a low mean and a small
    spread: of 60 games with an expected score of 0.2, that spread alone would make 1
    in 200 look like 1 in 2,000 (simulated).
    """
    own, other = _spread(first), _spread(second)
    both = (own + other) / np.maximum(1, np.add(first.n, second.n))
    more, other_more = (
        np.maximum(0, both * np.asarray(sample.n) - spread)
        for sample, spread in ((first, own), (second, other))
    )
    return (
        first._replace(squares=first.squares + more),
        second._replace(squares=second.squares + other_more),
    )


def _spread(sample: Sample) -> Floats:
    """Sum of the squared distances from the mean; 0 without games."""
    parts = sample.total, sample.n, sample.squares
    total, n, squares = (np.asarray(part, float) for part in parts)
    return np.asarray(squares - total * total / np.maximum(1, n))


def mean_between(sample: Sample, unit: float = 0.0) -> tuple[Floats, Floats, Floats]:
    """The mean of one sample with its 95 % interval: mean, low, high; the rules of `welch`.

    Low and high are NaN for fewer than two games or two players.
    """
    from scipy.special import stdtrit

    mean, variance, df = _mean(sample, unit)
    half = stdtrit(df, (1 + CONFIDENCE) / 2) * np.sqrt(variance)
    return mean, mean - half, mean + half


def not_zero(sample: Sample, unit: float = 0.0) -> Floats:
    """Two-sided p of a mean of zero, by the same t; NaN where `mean_between` has no interval."""
    from scipy.special import stdtr

    mean, variance, df = _mean(sample, unit)
    with np.errstate(invalid="ignore", divide="ignore"):
        t = np.where((variance == 0) & (mean == 0), 0, mean / np.sqrt(variance))
    return np.asarray(2 * stdtr(df, -np.abs(t)))


def _mean(sample: Sample, unit: float) -> tuple[Floats, Floats, Floats]:
    """Mean, variance of the mean, degrees of freedom; NaN where there are none."""
    total, n, squares, design, clusters, sum_nn = (np.asarray(part, float) for part in sample)
    players = np.where(np.isnan(clusters), n, clusters)
    with np.errstate(invalid="ignore", divide="ignore"):
        mean = total / n
        effective = np.where(np.isnan(sum_nn), players, n * n / sum_nn)
        free = np.where((n > 1) & (players > 1), effective - 1, np.nan)
        pull = effective / free * (players - 1) / players
        spread = np.maximum(0, squares - total * mean) + unit * unit
        return mean, design * pull * spread / (n * (n - 1)), free


def could_show(se: ArrayLike, df: ArrayLike, alpha: ArrayLike, power: float = 0.8) -> Floats:
    """The difference that a one-sided test at ``alpha`` finds with that power.

    In the unit of ``se``. The usual approximation: the two quantiles of t added
    (common practice); exact for many games.
    """
    from scipy.special import stdtrit

    se, df, alpha = (np.asarray(part, dtype=float) for part in (se, df, alpha))
    shown: Floats = (stdtrit(df, 1 - alpha) + stdtrit(df, power)) * se
    return shown
