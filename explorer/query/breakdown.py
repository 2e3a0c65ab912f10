"""What an answer is broken down by, and the group of every visit.

Groups are decided for each answer: bands of ratings are all there, other groups
(years, seasons, paces, collections) when games that reached the position are in them.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ingest.levels import HIGHEST_RATING, bands
from ingest.tags import Pace

BREAKDOWNS = ("level", "year", "season", "pace", "collection", "opponents")
SEASON_BEGINS = 7  # July
UNKNOWN = 0  # the number of the year, season or pace that is not known


@dataclass(frozen=True, slots=True)
class Group:
    """One column of an answer. ``low`` and ``high`` are the ends of a band of ratings.

    ``apart``: it has no place in the order of the others (unrated, year unknown).
    ``year`` is the year, or the one in which the season begins.
    """

    label: str
    low: int | None = None
    high: int | None = None
    apart: bool = False
    year: int | None = None


Numbers = NDArray[np.uint16]

# SQL for the number of a visit's group, to be called ``grouped``, where it is not a band's.
SQL = {
    "year": "coalesce(year(played), game_year, 0)::USMALLINT",
    "season": f"""coalesce(
        coalesce(year(played), game_year)
        - (coalesce(month(played), game_month) < {SEASON_BEGINS})::INTEGER, 0)::USMALLINT""",
    "pace": "pace::USMALLINT",
}
# Visits have whole dates only; what a vague one says is in `games`.
DATED = """
    LEFT JOIN (
        SELECT id AS game_id, year AS game_year, month AS game_month
        FROM games WHERE played IS NULL AND year IS NOT NULL
    ) USING (game_id)"""


def bands_of(cuts: Sequence[int]) -> tuple[Group, ...]:
    """The bands of `ingest.levels.bands`, unrated last."""
    return tuple(
        Group(band.label, band.low, band.high, apart=not band.rated) for band in bands(tuple(cuts))
    )


def band_numbers(cuts: Sequence[int], ratings: Numbers) -> Numbers:
    """The number of each rating's band; 0 is unrated, the last band."""
    table = np.searchsorted(cuts, np.arange(HIGHEST_RATING + 1), "right").astype(np.uint16)
    table[0] = len(cuts) + 1
    return table[ratings]


def groups_of(
    by: str, found: NDArray[Any], names: Sequence[str] = ()
) -> tuple[tuple[Group, ...], Numbers]:
    """The groups that occur, in order, and the group of each visit.

    ``found`` are the numbers that `SQL` gives; by collection they are places in ``names``.
    """
    numbers, places = distinct(found)
    group: Callable[[int], Group] = {"year": _year, "season": _season, "pace": _pace}.get(
        by, lambda number: Group(names[number])
    )
    groups = [group(number) for number in numbers.tolist()]
    order = sorted(range(len(groups)), key=lambda place: groups[place].apart)
    turn = np.zeros(len(groups), np.uint16)
    turn[order] = np.arange(len(groups))
    return tuple(groups[place] for place in order), turn[places]


def distinct(values: NDArray[Any]) -> tuple[NDArray[np.int64], Numbers]:
    """The distinct values (small whole numbers), rising, and the place of each among them."""
    found = np.flatnonzero(np.bincount(values))
    places = np.zeros(int(found.max(initial=0)) + 1, np.uint16)
    places[found] = np.arange(len(found))
    return found, places[values]


def _year(year: int) -> Group:
    if year == UNKNOWN:
        return Group("unknown year", apart=True)
    return Group(str(year), year=year)


def _season(first: int) -> Group:
    """From July to June."""
    if first == UNKNOWN:
        return Group("unknown season", apart=True)
    return Group(f"{first}/{(first + 1) % 100:02}", year=first)


def _pace(number: int) -> Group:
    """Paces are numbered from the fastest to the slowest."""
    return Group(Pace(number).word, apart=number == UNKNOWN)
