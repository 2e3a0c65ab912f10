"""Confidence intervals of shares, scores and differences.

Every interval takes the design effect of clustering by player (`clusters`):
n games of which many are one player's count as n / design games. With one
game per player the design effect is 1.
"""

from __future__ import annotations

from functools import lru_cache
from math import sqrt
from statistics import NormalDist
from typing import NamedTuple

CONFIDENCE = 0.95


class Interval(NamedTuple):
    """Both ends included; in the unit of what is estimated."""

    low: float
    high: float


@lru_cache
def normal_quantile(confidence: float) -> float:
    """How many standard errors a two-sided interval reaches: 1.959964 at 95 %."""
    return NormalDist().inv_cdf((1 + confidence) / 2)


def wilson(
    k: float, n: float, design: float = 1.0, confidence: float = CONFIDENCE
) -> Interval | None:
    """Wilson's score interval of the share k / n on n / design cases.

    None when n is 0: nothing is known and nothing should be printed. The
    interval ends exactly at 0 when k is 0 and exactly at 1 when k is n.
    Source: Wilson 1927; Newcombe, Statistics in Medicine 17:857 (1998), method 3.
    """
    if n <= 0:
        return None
    size, share = n / design, k / n
    z2 = normal_quantile(confidence) ** 2
    centre = (share + z2 / (2 * size)) / (1 + z2 / size)
    half = sqrt(z2 * (share * (1 - share) / size + z2 / (4 * size * size))) / (1 + z2 / size)
    low = 0.0 if k <= 0 else max(0.0, centre - half)
    high = 1.0 if k >= n else min(1.0, centre + half)
    return Interval(low, high)


def at_most(n: float, design: float = 1.0, confidence: float = CONFIDENCE) -> float | None:
    """The largest share still believable when nothing was seen in n games.

    The upper end of Wilson's interval at 0 / n, so that the sentence and the
    table agree; 0.0158 for 240 games. None when n is 0.
    """
    interval = wilson(0, n, design, confidence)
    return None if interval is None else interval.high


def newcombe(
    k1: float, n1: float, k2: float, n2: float, design1: float = 1.0, design2: float = 1.0
) -> tuple[float, Interval] | None:
    """The difference k1 / n1 - k2 / n2 and its 95 % hybrid-score interval.

    None when either n is 0. Source: Newcombe, Statistics in Medicine
    17:873-890 (1998), method 10.
    """
    first, second = wilson(k1, n1, design1), wilson(k2, n2, design2)
    if first is None or second is None:
        return None
    return minus((k1 / n1, first), (k2 / n2, second))


def minus(first: tuple[float, Interval], second: tuple[float, Interval]) -> tuple[float, Interval]:
    """The difference of two independent estimates, each a value with its interval.

    The distances from each value to its limits are added up in squares. Source: Zou and
    Donner, Statistics in Medicine 27:1693-1702 (2008), which for two Wilson
    intervals is Newcombe's method 10.
    """
    (x, about_x), (y, about_y) = first, second
    below = sqrt((x - about_x.low) ** 2 + (about_y.high - y) ** 2)
    above = sqrt((about_x.high - x) ** 2 + (y - about_y.low) ** 2)
    return x - y, Interval(x - y - below, x - y + above)


def score_interval(
    wins: float, draws: float, losses: float, design: float = 1.0, confidence: float = CONFIDENCE
) -> Interval | None:
    """Interval of the score (wins + draws / 2) / games, within [0, 1].

    ``design`` comes from `clusters.mean_design`. None when there are no games.
    """
    n = wins + draws + losses
    centred = mean_interval((wins - losses) / 2, n, (wins + losses) / 4, design, confidence)
    if centred is None:
        return None
    return Interval(max(0.0, centred.low + 0.5), min(1.0, centred.high + 0.5))


def mean_interval(
    total: float, n: float, squares: float, design: float = 1.0, confidence: float = CONFIDENCE
) -> Interval | None:
    """Interval of the mean of n results against expectation, within [-1, 1].

    ``total`` is the sum of (points - expected points), ``squares`` the sum of
    their squares, ``design`` comes from `clusters.mean_design`. None when n is 0.

    One win, one draw and one loss against an equal opponent (+0.5, 0, -0.5) are
    added to the n / design games that the sample is worth, so that three wins in
    three games do not claim certainty. The sample's own mean is always inside.
    """
    if n <= 0:
        return None
    size = n / design + 3
    mean = total / design / size
    variance = (squares / design + 0.5) / size - mean * mean
    half = normal_quantile(confidence) * sqrt(variance / size)
    low, high = min(mean - half, total / n), max(mean + half, total / n)
    return Interval(max(-1.0, low), min(1.0, high))
