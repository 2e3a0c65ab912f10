"""Does a share rise or fall over the levels? The Cochran-Armitage test."""

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
    worth = designs if designs is not None else [1.0] * len(ns)
    groups = [
        (k / design, n / design, score)
        for k, n, score, design in zip(ks, ns, scores, worth, strict=True)
        if n > 0
    ]
    cases, size = sum(k for k, _, _ in groups), sum(n for _, n, _ in groups)
    if len(groups) < 2 or not 0 < cases < size:
        return None
    share, centre = cases / size, sum(n * score for _, n, score in groups) / size
    slope = sum((k - n * share) * (score - centre) for k, n, score in groups)
    spread = sum(n * (score - centre) ** 2 for _, n, score in groups)
    if spread <= 0:
        return None
    z = slope / sqrt(share * (1 - share) * spread)
    return _trend(z, groups[-1][0] / groups[-1][1] - groups[0][0] / groups[0][1])


def _trend(z: float, change: float) -> Trend:
    from scipy.special import ndtr

    p = 2 * float(ndtr(-abs(z)))
    direction = "none"
    if p < SIGNIFICANT and z * change > 0:
        direction = "grows" if z > 0 else "fades"
    return Trend(z, p, direction)
