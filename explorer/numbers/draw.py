"""A draw without putting back, the heavier the likelier; the same seed draws the same."""

from __future__ import annotations

import random
from collections.abc import Sequence
from math import inf, log1p


def draw(weights: Sequence[float], count: int, seed: int) -> list[int]:
    """The numbers of at most ``count`` things, in the order in which they are drawn.

    Each draw takes one of those that are left with a chance proportional to its weight
    (0 or more); those without weight come last, all alike. Source: Efraimidis and Spirakis,
    Weighted random sampling with a reservoir (2006): the k smallest of exponential
    variables with the weights as rates. Python promises that the numbers of a seed stay.
    """
    numbers = random.Random(seed)
    drawn = [-log1p(-numbers.random()) for _ in weights]
    waiting = [
        wait / weight if weight else inf for wait, weight in zip(drawn, weights, strict=True)
    ]
    order = sorted(range(len(weights)), key=lambda i: (waiting[i], drawn[i]))
    return order[:count]
