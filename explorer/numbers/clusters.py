"""How much less a sample is worth because players come back: the design effect.

Everything is computed from sums over players that a database can deliver.
For player j, n_j is the number of games and t_j the sum of the values (k_j, the
number of cases, when the values are 0 and 1):

    sum_tt = sum of t_j * t_j,  sum_tn = sum of t_j * n_j,  sum_nn = sum of n_j * n_j

A player without a name is a cluster of one game.
Source: Cochran, Sampling Techniques, 3rd ed., section 9A (ratio estimator); Kish, Survey
Sampling, section 8.2 (design effect), both from memory.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def clustered_variance(
    total: float, n: float, sum_tt: float, sum_tn: float, sum_nn: float, clusters: int
) -> float | None:
    """Variance of the mean total / n when whole players are sampled, not games.

    The ratio estimator's linearised variance with the factor m / (m - 1) for m
    clusters; in the square of the values' unit. None for fewer than two
    clusters, which cannot show how players differ.
    """
    if clusters < 2:
        return None
    mean = total / n
    between = sum_tt - 2 * mean * sum_tn + mean * mean * sum_nn
    return max(0.0, between) * clusters / ((clusters - 1) * n * n)


def mean_design(
    total: float,
    n: float,
    squares: float,
    sum_tt: float,
    sum_tn: float,
    sum_nn: float,
    clusters: int,
) -> float:
    """Design effect of a mean: its clustered variance over that of n separate players.

    ``squares`` is the sum of the squared values. The unit cancels: a score may
    be given in half points (total = 2 * wins + draws, squares = 4 * wins + draws).

    Never below 1. Values that are all equal say nothing about clustering: 1.
    One cluster is one case, whatever its size: n.
    """
    if clusters >= n:
        return 1.0
    variance = clustered_variance(total, n, sum_tt, sum_tn, sum_nn, clusters)
    if variance is None:
        return float(n)
    mean_square = squares / n
    spread = mean_square - (total / n) ** 2
    if spread <= 1e-12 * mean_square:  # nothing but rounding
        return 1.0
    return max(1.0, variance * (n - 1) / spread)


def design_effect(
    k: float, n: float, sum_kk: float, sum_kn: float, sum_nn: float, clusters: int
) -> float:
    """Design effect of the share k / n; the rules of `mean_design`.

    With one game per player it is exactly 1. Where k is 0 or n nothing shows
    how players differ: 1, unless one player made all n.
    """
    return mean_design(k, n, k, sum_kk, sum_kn, sum_nn, clusters)


def mean_designs(
    total: Floats,
    n: Floats,
    squares: Floats,
    sum_tt: Floats,
    sum_tn: Floats,
    sum_nn: Floats,
    clusters: Floats,
) -> Floats:
    """`mean_design` of many means at once; arrays of one shape in and out."""
    with np.errstate(invalid="ignore", divide="ignore"):
        mean, mean_square = total / n, squares / n
        between = np.maximum(0, sum_tt - 2 * mean * sum_tn + mean * mean * sum_nn)
        variance = between * clusters / ((clusters - 1) * n * n)
        spread = mean_square - mean * mean
        design = np.maximum(1, variance * (n - 1) / spread)
    alike = spread <= 1e-12 * mean_square
    return np.select([clusters >= n, clusters < 2, alike], [1.0, n, 1.0], design)
