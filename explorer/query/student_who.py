"""Who a student is: names that are joined, the level, and why a name may be two people's."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise

import numpy as np
from duckdb import DuckDBPyConnection

from explorer.query.student_games import OwnGames
from explorer.query.student_numbers import day_of
from explorer.query.student_parts import Doubt, RatedGame
from explorer.query.visits import NO_DAY, NOT_KNOWN, levels_of
from ingest.errors import NothingFound, shown
from ingest.levels import Level, bands
from ingest.tags import name_of, same_name

NEAR_NAMES = 5
YEAR = 365  # days
FAR_APART = 500  # rating points that nobody gains or loses in a year
APART_ON_A_DAY = 100


@dataclass(frozen=True, slots=True)
class Who:
    """A student: every spelling of the name, the first to be shown.

    ``level`` is what a teacher says of somebody without a rating, from the day ``level_since`` on.
    """

    names: tuple[str, ...]
    level: Level | None = None
    level_since: date | None = None


@dataclass(frozen=True, slots=True)
class Found:
    """The players of the library that are the student."""

    ids: tuple[int, ...]
    names: tuple[str, ...]
    not_found: tuple[str, ...]


def find(cursor: DuckDBPyConnection, names: Sequence[str]) -> Found:
    """The players of these names, in any spelling.

    NothingFound, with near names and their games, when the library knows none of them.
    """
    ids: dict[int, str] = {}
    missing = []
    for name in names:
        sql = "SELECT id, name FROM players WHERE same = $1 ORDER BY id"
        # Cleaned as the library's names are: what is pasted may hold signs that nobody sees.
        rows = cursor.execute(sql, [same_name(name_of(name) or name)]).fetchall()
        ids |= dict(rows)
        missing += [] if rows else [name]
    if not ids:
        raise NothingFound(
            f"player {shown(names[0])!r}: no such name in the library; the nearest are: "
            f"{_near(cursor, names[0]) or 'nobody'}"
        )
    return Found(tuple(ids), tuple(ids.values()), tuple(missing))


def _near(cursor: DuckDBPyConnection, name: str) -> str:
    rows = cursor.execute(
        """
        WITH near AS (SELECT id, name, jaro_winkler_similarity(same, $1) AS alike FROM players
            WHERE NOT starts_with(same, '?')  -- not the forgotten ones
            ORDER BY alike DESC, name LIMIT $2)
        SELECT name, (SELECT count(*) FROM games WHERE near.id IN (white_id, black_id)) AS games
        FROM near ORDER BY alike DESC, name
        """,
        [same_name(name), NEAR_NAMES],
    ).fetchall()
    return "; ".join(
        f"{shown(near)} ({games:,} game{'' if games == 1 else 's'})" for near, games in rows
    )


def level_of(
    who: Who, asked: Sequence[Level], games: OwnGames, cuts: Sequence[int]
) -> tuple[tuple[Level, ...], str]:
    """The levels of "the others", and what says so: asked, ratings, class or nothing."""
    if asked:
        return tuple(asked), "asked"
    rated = games.rating[games.rating != NOT_KNOWN]
    if len(rated):
        number = int(np.bincount(levels_of(rated, cuts)).argmax())
        return (bands(tuple(cuts))[number],), "ratings"
    if who.level is not None and _reaches(games, who.level_since):
        return (who.level,), "class"
    return (), "nothing"


def _reaches(games: OwnGames, since: date | None) -> bool:
    """Whether a game was played on that day or later; an undated one may have been."""
    return since is None or any(
        day is None or day >= since for day in map(day_of, games.day.tolist())
    )


def with_neighbours(levels: Sequence[Level], by: str, cuts: Sequence[int]) -> tuple[Level, ...]:
    """A band joined with those next to it; levels that were asked for stay as they are."""
    known = bands(tuple(cuts))[:-1]
    if by == "asked" or len(levels) != 1 or levels[0] not in known:
        return tuple(levels)
    place = known.index(levels[0])
    return (Level(known[max(0, place - 1)].low, known[min(len(known) - 1, place + 1)].high),)


def doubts_of(games: OwnGames) -> tuple[Doubt, ...]:
    """Why the name may be two people's, one of each kind at most."""
    found = []
    if games.both_sides:
        found.append(Doubt("itself", None, None, games.both_sides))
    found += _ratings(games)
    found += _places(games)
    return tuple(found)


def _rated(games: OwnGames, row: int) -> RatedGame:
    return RatedGame(int(games.rating[row]), day_of(int(games.day[row])), games.scale[row])


def _pair(games: OwnGames, first: int, second: int, kind: str, count: int) -> Doubt:
    low, high = sorted((first, second), key=lambda row: int(games.rating[row]))
    return Doubt(kind, _rated(games, low), _rated(games, high), count)


def _ratings(games: OwnGames) -> Iterator[Doubt]:
    """The two ratings furthest apart of games that follow each other within a year.

    Of one scale and pace: somebody who gets better does so by and by.
    """
    found: list[tuple[int, int, int]] = []
    dated = np.flatnonzero((games.rating != NOT_KNOWN) & (games.day != NO_DAY)).tolist()
    pools: dict[tuple[str | None, int], list[int]] = {}
    for row in dated:
        pools.setdefault((games.scale[row], int(games.pace[row])), []).append(row)
    for rows in pools.values():
        for earlier, later in pairwise(rows):
            gap = abs(int(games.rating[later] - games.rating[earlier]))
            if gap > FAR_APART and games.day[later] - games.day[earlier] <= YEAR:
                found.append((gap, earlier, later))
    if found:
        _, earlier, later = max(found)
        yield _pair(games, earlier, later, "ratings", len(dated))


def _places(games: OwnGames) -> Iterator[Doubt]:
    """One day at two sites, with ratings of one scale and pace that are apart."""
    seen: dict[tuple[int, str | None, int], list[int]] = {}
    for row in range(len(games)):
        if games.day[row] == NO_DAY or games.rating[row] == NOT_KNOWN or not games.site[row]:
            continue
        same_day = seen.setdefault(
            (int(games.day[row]), games.scale[row], int(games.pace[row])), []
        )
        for other in same_day:
            far = abs(int(games.rating[row] - games.rating[other])) > APART_ON_A_DAY
            if far and games.site[row] != games.site[other]:
                yield _pair(games, other, row, "places", 2)
                return
        same_day.append(row)
