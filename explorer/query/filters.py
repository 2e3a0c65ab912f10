"""Which games and visits a question is about: one frozen value for every query."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from ingest.levels import DEFAULT_CUTS, Level


@dataclass(frozen=True, slots=True)
class Filters:
    """All filters join with "and"; an empty one lets everything through.

    ``levels`` and ``opponents`` are bands of the mover's and of the
    opponent's rating (any of them). ``pace`` holds names of paces. ``since``
    and ``until`` are inclusive; a game whose date is too vague fails them and
    is counted apart. ``player`` keeps games in which that player (any spelling)
    played, ``side`` ("white" or "black") narrows it to games that player had
    with that colour. Without ``player``, ``side`` has a meaning for `habits` only:
    the colour looked at.

    ``by`` is what the replies are broken down by, one of `breakdown.BREAKDOWNS`;
    ``cuts`` are the bounds of the bands that tables break down by.
    ``min_games`` and ``top`` choose which replies or move orders are shown,
    never what is counted.
    """

    levels: tuple[Level, ...] = ()
    opponents: tuple[Level, ...] = ()
    cuts: tuple[int, ...] = DEFAULT_CUTS
    pace: tuple[str, ...] = ()
    since: date | None = None
    until: date | None = None
    collections: tuple[str, ...] = ()
    player: str | None = None
    side: str | None = None
    min_games: int = 1
    top: int | None = None
    by: str = "level"
