"""Games at a position, counted by reply and level: whole numbers.

The database counts games that are alike; the few hundred rows are added up on
arrays, which takes less time than planning one more step in SQL does.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from duckdb import DuckDBPyConnection
from numpy.typing import NDArray

from explorer.positions.position import Position
from explorer.query.bands import level_number
from explorer.query.where import Where
from ingest.schema import END_OF_RECORD

Ints = NDArray[np.int64]

ALL = 255  # stands for "all levels" where a level's number is expected


@dataclass(frozen=True, slots=True)
class Tally:
    """Sums over the games with one reply. Results, ratings, swing (pawns), mates: the mover's.

    ``ended_on_board`` and ``ended_open`` are among the records that stop
    here: mated or stalemated; without a result. ``met_*`` covers the games with
    a known result and a rated opponent, ``compared_half_points`` those of
    them in which the mover is rated too.
    """

    games: int = 0
    ended_on_board: int = 0
    ended_open: int = 0
    wins: int = 0
    draws: int = 0
    losses: int = 0
    rated: int = 0
    rating: int = 0
    opponent_rated: int = 0
    opponent_rating: int = 0
    met: int = 0
    met_rating: int = 0
    met_half_points: int = 0
    compared_half_points: int = 0
    swing_games: int = 0
    swing: int = 0
    mated: int = 0

    @property
    def known(self) -> int:
        """Games with a known result."""
        return self.wins + self.draws + self.losses

    @property
    def half_points(self) -> int:
        """The mover's half points."""
        return 2 * self.wins + self.draws


NONE = Tally()


def tallies_at(
    cursor: DuckDBPyConnection, position: Position, where: Where, cuts: tuple[int, ...]
) -> dict[tuple[int, int], Tally]:
    """(packed move, number of the level) -> its games; the level ALL holds every game.

    Move 0 are the records that stop here. Levels are numbered as in `ingest.levels.bands`.
    """
    sql = _sql(level_number(cuts, "mover_rating"), where)
    columns = cursor.execute(sql, {"key": position.key, **where.params}).fetchnumpy()
    alike = {name: np.asarray(column, np.int64) for name, column in columns.items()}
    values = _values(alike, unrated=len(cuts) + 1)
    found = {}
    for level in (alike["level"], np.full_like(alike["level"], ALL)):
        groups, group = np.unique(alike["move"] << 8 | level, return_inverse=True)
        sums = [np.bincount(group, column, len(groups)).astype(int).tolist() for column in values]
        for place, number in enumerate(groups.tolist()):
            found[number >> 8, number & 255] = Tally(*(column[place] for column in sums))
    return found


def _sql(level: str, where: Where) -> str:
    """A row per kind of games that are alike; points -1 are unknown."""
    return f"""
        SELECT move, piece, {level} AS level, coalesce(half_points::INTEGER, -1) AS points,
            opponent_rating IS NOT NULL AS met, count(*) AS n,
            coalesce(sum(mover_rating), 0)::BIGINT AS rating,
            coalesce(sum(opponent_rating), 0)::BIGINT AS opponent,
            count(swing) AS swings, coalesce(sum(swing), 0)::BIGINT AS swing,
            count_if(mated) AS mated
        FROM visits WHERE key = $key {where.sql}
        GROUP BY ALL
    """


def _values(alike: dict[str, Ints], unrated: int) -> list[Ints]:
    """The columns of `Tally`, for each kind of games that are alike."""
    n, points, met = alike["n"], alike["points"], alike["met"]
    rated, known = alike["level"] != unrated, points >= 0
    stopped, on_record = alike["move"] == 0, alike["piece"] == END_OF_RECORD
    return [
        n,
        n * (stopped & ~on_record),
        n * (stopped & on_record & ~known),
        n * (points == 2),
        n * (points == 1),
        n * (points == 0),
        n * rated,
        alike["rating"],
        n * met,
        alike["opponent"],
        n * met * known,
        alike["opponent"] * known,
        n * points * met * known,
        n * points * met * known * rated,
        alike["swings"],
        alike["swing"],
        alike["mated"],
    ]
