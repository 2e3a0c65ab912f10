"""Does a share, or a mean, rise or fall over the levels? The Cochran-Armitage test."""

from __future__ import annotations

from collections.abc import Sequence
from math import sqrt
from typing import NamedTuple

SIGNIFICANT = 0.05


class Trend(NamedTuple):
    """``z`` is positive when the share grows with the score, ``p`` two-sided.

    ``direction`` is "fades" or "grows" when the trend is significant at 5 % and
    the last group differs from the first the same way, else "none": a rise and a
    fall that cancel are no trend to speak of.
    """

    z: float
    p: float
    direction: str


def cochran_armitage(
    ks: Sequence[float],
    ns: Sequence[float],
    scores: Sequence[float],
    designs: Sequence[float] | None = None,
) -> Trend | None:
    """Test for a trend over groups of ks cases in ns, with a score (mean rating) each.

    Groups come from low to high; those with n = 0 are passed over. ``designs``
    are their design effects: each counts as n / design cases. None where no
    trend can be told: fewer than two groups, one score, or a share of 0 or 1
    overall.

    The variance divides by N, as in SAS PROC FREQ and R prop.trend.test (not by
    N - 1 as in some other packages; z differs by the factor sqrt(1 - 1/N)).
    """
    return linear_trend(ks, ns, ks, scores, designs)


def linear_trend(
    totals: Sequence[float],
    ns: Sequence[float],
    squares: Sequence[float],
    scores: Sequence[float],
    designs: Sequence[float] | None = None,
) -> Trend | None:
    """The same test for means; for values of 0 and 1 it is the Cochran-Armitage test.

    ``totals`` and ``squares`` are the sums of the ns values of each group and of their
    squares. None where no trend can be told, as there; all values alike tell none.
    """
    worth = designs if designs is not None else [1.0] * len(ns)
    groups = [
        (total / design, n / design, square / design, score)
        for total, n, square, score, design in zip(totals, ns, squares, scores, worth, strict=True)
        if n > 0
    ]
    if len(groups) < 2:
        return None
    size = sum(n for _, n, _, _ in groups)
    mean, centre = (sum(g[0] for g in groups) / size, sum(g[1] * g[3] for g in groups) / size)
    variance = sum(square for _, _, square, _ in groups) / size - mean * mean
    slope = sum((total - n * mean) * (score - centre) for total, n, _, score in groups)
    spread = sum(n * (score - centre) ** 2 for _, n, _, score in groups)
    if spread <= 0 or variance <= 1e-12 * mean * mean:
        return None
    z = slope / sqrt(variance * spread)
    return _trend(z, groups[-1][0] / groups[-1][1] - groups[0][0] / groups[0][1])


def _trend(z: float, change: float) -> Trend:
    from scipy.special import ndtr

    p = 2 * float(ndtr(-abs(z)))
    direction = "none"
    if p < SIGNIFICANT and z * change > 0:
        direction = "grows" if z > 0 else "fades"
    return Trend(z, p, direction)
