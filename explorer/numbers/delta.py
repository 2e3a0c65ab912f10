"""Intervals of a chance that is put together from many shares: the delta method."""

from __future__ import annotations

from collections.abc import Iterable
from math import exp, log, sqrt

from explorer.numbers.intervals import Interval, normal_quantile, wilson

NOUGHT = 1e-12  # what sums of shares miss 0 or 1 by, at most


def chance_interval(
    value: float, variance: float, unseen: Iterable[tuple[float, float]] = ()
) -> Interval | None:
    """The 95 % interval of a chance with a first-order ``variance``, made on the logit scale.

    A chance of 0 or 1 has no logit. Then ``unseen`` holds (reach, games) of every place that
    decides: nothing else was seen in its games, and Wilson's limits of that, times the
    reach, are added up in squares. None when nothing decides.
    Source: common practice; the rule for 0 and 1 follows `product.product_interval`.
    """
    certain = not NOUGHT < value < 1 - NOUGHT
    if not certain and variance > 0:
        logit, half = log(value / (1 - value)), sqrt(variance) / (value * (1 - value))
        half *= normal_quantile(0.95)
        return Interval(_chance(logit - half), _chance(logit + half))
    most = [reach * about.high for reach, n in unseen if (about := wilson(0, n))]
    if not most or not certain:
        return None
    far = min(1.0, sqrt(sum(part * part for part in most)))
    return Interval(0.0, far) if value < 0.5 else Interval(1 - far, 1.0)


def _chance(logit: float) -> float:
    return 1 / (1 + exp(-max(-700.0, logit)))
