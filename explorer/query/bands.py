"""Levels as SQL: the band of a rating, and whether a rating lies in given bands."""

from __future__ import annotations

from collections.abc import Sequence

from ingest.levels import Level


def level_number(cuts: Sequence[int], rating: str) -> str:
    """SQL for the index of a rating's band in ``ingest.levels.bands(cuts)``.

    ``rating`` is a column; NULL is the last band, unrated.
    """
    below = " ".join(f"WHEN {rating} < {cut} THEN {number}" for number, cut in enumerate(cuts))
    unrated = len(cuts) + 1
    return f"(CASE WHEN {rating} IS NULL THEN {unrated} {below} ELSE {len(cuts)} END)"


def in_any(levels: Sequence[Level], rating: str) -> str:
    """SQL that is true when the rating in a column lies in one of the levels."""
    return "(" + " OR ".join(_holds(level, rating) for level in levels) + ")"


def _holds(level: Level, rating: str) -> str:
    if not level.rated:
        return f"{rating} IS NULL"
    ends = []
    if level.low is not None:
        ends.append(f"{rating} >= {level.low}")
    if level.high is not None:
        ends.append(f"{rating} <= {level.high}")
    return "(" + " AND ".join(ends) + ")"
