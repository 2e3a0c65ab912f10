"""The FIDE Rating Regulations' tables of expected scores and performances.

Source: FIDE Handbook B.02, chapter B022024 (applied from 1 March 2024), tables
8.1.1 and 8.1.2.
"""

from __future__ import annotations

from bisect import bisect_left
from math import floor

RATING_CAP = 400

# Table 8.1.2: the largest rating difference at which the higher rated player's
# expected score is 0.50, 0.51, ... 0.99; beyond the last it is 1.
# fmt: off
HIGHEST_DIFFERENCE = (
    3, 10, 17, 25, 32, 39, 46, 53, 61, 68,
    76, 83, 91, 98, 106, 113, 121, 129, 137, 145,
    153, 162, 170, 179, 188, 197, 206, 215, 225, 235,
    245, 256, 267, 278, 290, 302, 315, 328, 344, 357,
    374, 391, 411, 432, 456, 484, 517, 559, 619, 735,
)

# Table 8.1.1: the rating difference that scores of 0.50, 0.51, ... 1.00 show.
DIFFERENCE_SHOWN = (
    0, 7, 14, 21, 29, 36, 43, 50, 57, 65,
    72, 80, 87, 95, 102, 110, 117, 125, 133, 141,
    149, 158, 166, 175, 184, 193, 202, 211, 220, 230,
    240, 251, 262, 273, 284, 296, 309, 322, 336, 351,
    366, 383, 401, 422, 444, 470, 501, 538, 589, 677,
    800,
)
# fmt: on


def expected(difference: float, cap: float | None = RATING_CAP) -> float:
    """Expected score (0-1) of a player rated ``difference`` above the opponent.

    Differences beyond ``cap`` count as ``cap`` (regulation 8.3.1); None: no cap.
    """
    size = abs(difference) if cap is None else min(abs(difference), cap)
    percent = 50 + bisect_left(HIGHEST_DIFFERENCE, size)
    return (percent if difference >= 0 else 100 - percent) / 100


def dp(score: float) -> int:
    """The rating difference that a fractional score (0-1) shows, table 8.1.1.

    The score is rounded to whole per cent, half a per cent up (regulation B.01
    1.4.9). Rounding to nine places first keeps binary fractions such as 0.285 on
    their half.
    """
    return _dp_of_percent(floor(round(score * 100, 9) + 0.5))


def performance(mean_opponent: float, score: float, games: int) -> int | None:
    """Performance rating: mean opponent, rounded with .5 up, plus dp (B.01 1.4.7b, 1.4.8).

    ``score`` is in points, so a multiple of a half. None without games.
    """
    if games <= 0:
        return None
    half_points = round(2 * score)
    percent = (100 * half_points + games) // (2 * games)
    return floor(mean_opponent + 0.5) + _dp_of_percent(percent)


def _dp_of_percent(percent: int) -> int:
    shown = DIFFERENCE_SHOWN[abs(percent - 50)]
    return shown if percent >= 50 else -shown
