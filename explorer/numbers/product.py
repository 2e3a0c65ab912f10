"""Products of estimates with an interval: shares along a line, a share times a cost."""

from __future__ import annotations

from collections.abc import Sequence
from math import exp, inf, log, prod, sqrt

from explorer.numbers.intervals import Interval, wilson


def product_interval(
    rates: Sequence[tuple[float, float, float]],
) -> tuple[float, Interval] | None:
    """The product of shares k / n and its 95 % interval; ``rates`` holds (k, n, design) each.

    None when an n is 0. One share gives its Wilson interval; no share gives 1.

    Wilson's limits are put together on the scale of logarithms, distances
    adding up in squares, around the centres of the intervals, which are never 0: so the
    upper end stays meaningful where a step was never seen.
    Source: Zou and Donner, Statistics in Medicine 27:1693-1702 (2008), on
    putting limits together; the centres are ours.
    """
    limits = [wilson(k, n, design) for k, n, design in rates]
    if None in limits:
        return None
    value = prod(k / n for k, n, _ in rates)
    centre = below = above = 0.0
    for low, high in (interval for interval in limits if interval is not None):
        middle = log((low + high) / 2)
        centre += middle
        below += (middle - log(low)) ** 2 if low > 0 else inf
        above += (log(high) - middle) ** 2
    low, high = exp(centre - sqrt(below)), exp(centre + sqrt(above))
    return value, Interval(min(low, value), max(value, min(1.0, high)))


def times(first: tuple[float, Interval], second: tuple[float, Interval]) -> tuple[float, Interval]:
    """The product of two independent estimates, each a value with its interval.

    Either may have any sign: points lost are a share times a difference. First-order:
    each distance times the other value, added up in squares.
    Source: as `product_interval`.
    """
    (x, about_x), (y, about_y) = first, second
    x_down, x_up = _distances(x, about_x, y)
    y_down, y_up = _distances(y, about_y, x)
    value = x * y
    return value, Interval(value - sqrt(x_down**2 + y_down**2), value + sqrt(x_up**2 + y_up**2))


def _distances(value: float, about: Interval, factor: float) -> tuple[float, float]:
    """How far the product falls and rises when ``value`` goes to the ends of its interval."""
    below, above = (value - about.low) * abs(factor), (about.high - value) * abs(factor)
    return (below, above) if factor >= 0 else (above, below)
