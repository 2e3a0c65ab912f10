"""The visits of one position as arrays, a row for each game.

For questions that follow games from position to position, or part them in ways
that SQL would have to be asked for one by one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from duckdb import DuckDBPyConnection
from numpy.typing import NDArray

from explorer.numbers.expectation import PARTS, WIDEST
from explorer.positions.position import Position
from explorer.query.where import EVERYTHING, Where

Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]

NOT_KNOWN = -1000  # a rating, half points, a swing
NO_DAY = -(10**6)
PLIES = 256  # more than a library keeps


@dataclass(frozen=True, slots=True)
class Visits:
    """One row a game. ``move`` is 0 where the record stops.

    ``game_ply`` is the game's number times PLIES plus the ply. ``player`` is
    the mover's number, below 0 and different for each nameless one; ``person``
    the same counted from 0 without gaps. ``points`` are the mover's half points,
    ``swing`` pawns; these and ratings are NOT_KNOWN where they are not. ``day`` counts
    from 1970-01-01, NO_DAY where the date is vague.
    """

    game_ply: Ints
    player: Ints
    move: Ints
    rating: Ints
    opponent_rating: Ints
    points: Ints
    swing: Ints
    mated: Ints
    day: Ints
    person: Ints

    def __len__(self) -> int:
        """The number of games."""
        return len(self.move)

    def only(self, which: Flags | slice) -> Visits:
        """The rows that are marked."""
        return Visits(*(getattr(self, name)[which] for name in self.__slots__))

    @property
    def went_on(self) -> Visits:
        """Without the records that stop here."""
        return self.only(self.move != 0)

    def right_after(self, earlier: Visits) -> Visits:
        """The rows whose game was in ``earlier`` one ply before."""
        return self.only(np.isin(self.game_ply, earlier.game_ply + 1))

    def over(self, curve: Sequence[int]) -> tuple[Flags, NDArray[np.float64]]:
        """Which games can be compared with an expectation, and score minus expected in those.

        ``curve`` is `Facts.curve` of the mover; the values come in points of 1.
        """
        known = np.minimum(np.minimum(self.points, self.rating), self.opponent_rating) >= 0
        gap = self.rating[known] - self.opponent_rating[known]
        expected = np.asarray(curve)[np.clip(gap, -WIDEST, WIDEST) + WIDEST]
        return known, self.points[known] / 2 - expected / PARTS


def visits_at(cursor: DuckDBPyConnection, position: Position, where: Where = EVERYTHING) -> Visits:
    """The chosen visits of a position, in order of game."""
    columns = cursor.execute(
        f"""
        SELECT game_id::BIGINT * {PLIES} + ply AS game_ply,
            coalesce(mover_id::BIGINT, -1 - game_id::BIGINT) AS player, move,
            coalesce(mover_rating::INTEGER, {NOT_KNOWN}) AS rating,
            coalesce(opponent_rating::INTEGER, {NOT_KNOWN}) AS opponent_rating,
            coalesce(half_points::INTEGER, {NOT_KNOWN}) AS points,
            coalesce(swing::INTEGER, {NOT_KNOWN}) AS swing, mated,
            coalesce(datediff('day', DATE '1970-01-01', played), {NO_DAY}) AS day
        FROM visits WHERE key = $key {where.sql}
        """,
        {"key": position.key, **where.params},
    ).fetchnumpy()
    rows = [np.asarray(column, np.int64) for column in columns.values()]
    order = np.argsort(rows[0])
    rows = [column[order] for column in rows]
    rows.append(np.unique(rows[1], return_inverse=True)[1])
    return Visits(*rows)


def levels_of(ratings: Ints, cuts: Sequence[int]) -> Ints:
    """The number of each rating's band in `ingest.levels.bands`; the last is unrated."""
    return np.where(ratings < 0, len(cuts) + 1, np.searchsorted(cuts, ratings, side="right"))
