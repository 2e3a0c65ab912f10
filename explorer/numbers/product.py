"""Products of estimates with an interval: shares along a line, a share times a cost."""

from __future__ import annotations

from collections.abc import Sequence
from math import exp, log, prod, sqrt

from explorer.numbers.intervals import Interval, wilson


def product_interval(
    rates: Sequence[tuple[float, float, float]],
) -> tuple[float, Interval] | None:
    """The product of shares k / n and its 95 % interval; ``rates`` holds (k, n, design) each.

    Wilson's limits are put together on the scale of logarithms, distances from
    the shares adding up in squares; one share gives its Wilson interval, no share 1.
    A share of 0 makes the product 0, at most the product of the upper limits; then a
    share without games (nobody came so far) may be anything. Else one with n = 0
    makes the product unknown: None.
    Source: Zou and Donner, Statistics in Medicine 27:1693-1702 (2008); the rule
    for 0 is ours.
    """
    seen = [(k / n, wilson(k, n, design)) for k, n, design in rates if n > 0]
    known = [(share, about) for share, about in seen if about is not None]
    value = prod(share for share, _ in known)
    if value == 0:
        return 0.0, Interval(0.0, prod(about.high for _, about in known))
    if len(known) < len(rates):
        return None
    below = sqrt(sum(log(share / about.low) ** 2 for share, about in known))
    above = sqrt(sum(log(about.high / share) ** 2 for share, about in known))
    return value, Interval(value * exp(-below), min(1.0, value * exp(above)))


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
