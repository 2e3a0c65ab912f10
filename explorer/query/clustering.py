"""Sums over the players at a position: what the design effects are made of.

Players come back, so that games are no separate cases. The database adds up
each player's games by reply and level; the rest is done on whole arrays, which
for a position of few games takes a third of the time that one more query takes.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np
from duckdb import DuckDBPyConnection
from numpy.typing import NDArray

from explorer.numbers.expectation import PARTS, WIDEST
from explorer.positions.position import Position
from explorer.query.bands import level_number
from explorer.query.tallies import ALL, Ints
from explorer.query.where import Where

HALF = PARTS // 2


@dataclass(frozen=True, slots=True)
class Cluster:
    """Sums over the players of one reply, at one level or at all.

    For player j: k games with the reply, n games that went on with any reply,
    m games with a known result and h half points in them, r games that can be
    compared with an expectation and d the sum of (score - expected) in them, in
    1 / PARTS. ``kk`` is the sum of k * k over the players, and so on;
    ``compared``, ``over`` and ``squares`` are the sums of r, of d and, over
    games, of the squared differences. ``known_players`` and
    ``compared_players`` are those with m and r above 0; ``top`` is the largest
    k of a named player.
    """

    players: int = 0
    known_players: int = 0
    compared_players: int = 0
    top: int = 0
    kk: int = 0
    kn: int = 0
    hh: int = 0
    hm: int = 0
    mm: int = 0
    compared: int = 0
    over: int = 0
    squares: int = 0
    dd: int = 0
    dr: int = 0
    rr: int = 0


NOBODY = Cluster()


@dataclass(slots=True)
class Players:
    """The players at a position.

    ``replies`` is keyed as `tallies.tallies_at` does. ``went_on`` has the players
    with a move from here, by level (ALL: at any), and ``nn`` the sums of their n * n.
    """

    all: int
    replies: dict[tuple[int, int], Cluster] = field(default_factory=dict)
    went_on: dict[int, int] = field(default_factory=dict)
    nn: dict[int, int] = field(default_factory=dict)


def players_at(
    cursor: DuckDBPyConnection,
    position: Position,
    where: Where,
    cuts: tuple[int, ...],
    curve: list[int],
) -> Players:
    """The sums over players at a position; ``curve`` is `Facts.curve` of the mover."""
    sql = _sql(level_number(cuts, "mover_rating"), where)
    params = {"key": position.key, "curve": curve, **where.params}
    columns = cursor.execute(sql, params).fetchnumpy()
    rows = _Rows(*(np.asarray(column, np.int64) for column in columns.values()))
    rows = rows.only(np.lexsort((rows.move, rows.player)))
    found = Players(all=int(np.count_nonzero(_begins(rows.player))))
    rows = rows.only(rows.move != 0)
    _add_up(found, rows, list(range(len(cuts) + 2)))
    _add_up(found, rows.without_levels(), [ALL])
    return found


def _sql(level: str, where: Where) -> str:
    """A row per player, reply and level; a nameless player is a player of one game.

    The curve stands in a row of its own: as a constant it would be copied for
    every block of rows.
    """
    return f"""
        WITH visit AS (
            SELECT coalesce(mover_id::BIGINT, -1 - game_id::BIGINT) AS player, move,
                {level} AS level, half_points::INTEGER AS points, curve,
                mover_rating::INTEGER - opponent_rating::INTEGER AS difference
            FROM visits, (SELECT $curve::INTEGER[] AS curve)
            WHERE key = $key {where.sql}
        ), compared AS (
            SELECT player, move, level, points, {HALF} * points - curve[{WIDEST + 1} +
                CASE WHEN difference > {WIDEST} THEN {WIDEST}
                    WHEN difference < -{WIDEST} THEN -{WIDEST} ELSE difference END] AS over
            FROM visit
        )
        SELECT player, move, level, count(*), count(points), coalesce(sum(points), 0)::BIGINT,
            count(over), coalesce(sum(over), 0)::BIGINT, coalesce(sum(over * over), 0)::BIGINT
        FROM compared GROUP BY player, move, level
    """


@dataclass(frozen=True, slots=True)
class _Rows:
    """Columns of `_sql`, named as in `Cluster`."""

    player: Ints
    move: Ints
    level: Ints
    k: Ints
    m: Ints
    h: Ints
    r: Ints
    d: Ints
    squares: Ints

    def only(self, which: NDArray[np.int64] | NDArray[np.bool_]) -> _Rows:
        return _Rows(*(column[which] for column in self._columns()))

    def without_levels(self) -> _Rows:
        """One row per player and reply. The rows must be in that order."""
        starts = np.flatnonzero(_begins(self.player) | _begins(self.move))
        player, move, _, *sums = self._columns()
        added = (np.add.reduceat(column, starts) if len(starts) else column for column in sums)
        return _Rows(player[starts], move[starts], np.zeros_like(starts), *added)

    def _columns(self) -> list[Ints]:
        return [getattr(self, name) for name in self.__slots__]


def _begins(values: Ints) -> NDArray[np.bool_]:
    """True where a value differs from the one before it."""
    return np.concatenate(([True], values[1:] != values[:-1]))[: len(values)]


def _add_up(found: Players, rows: _Rows, levels: list[int]) -> None:
    """Fill in some levels; the rows are in order of player and count levels from 0."""
    person = (np.cumsum(_begins(rows.player)) - 1) * len(levels) + rows.level
    everybody = int(found.all) * len(levels)
    games = np.bincount(person, rows.k, everybody).astype(np.int64)
    n, by_level = games[person], games.reshape(-1, len(levels))
    found.went_on.update(zip(levels, np.count_nonzero(by_level, axis=0).tolist(), strict=True))
    found.nn.update(zip(levels, (by_level * by_level).sum(axis=0).tolist(), strict=True))
    moves = np.unique(rows.move)
    group = np.searchsorted(moves, rows.move) * len(levels) + rows.level
    top = np.zeros(len(moves) * len(levels), np.int64)
    np.maximum.at(top, group, np.where(rows.player >= 0, rows.k, 0))
    sums = _sums(group, len(top), rows, n)
    for place in np.flatnonzero(sums[0]).tolist():
        players, known, compared, *others = (int(column[place]) for column in sums)
        key = int(moves[place // len(levels)]), levels[place % len(levels)]
        found.replies[key] = Cluster(players, known, compared, int(top[place]), *others)


def _sums(group: Ints, size: int, rows: _Rows, n: Ints) -> list[NDArray[Any]]:
    """The columns of `Cluster` but for ``top``, by group. Whole numbers below 2 ** 53."""
    k, m, h, r, d = rows.k, rows.m, rows.h, rows.r, rows.d
    values: list[NDArray[Any]] = [k > 0, m > 0, r > 0, k * k, k * n, h * h, h * m, m * m]
    values += [r, d, rows.squares, d * d, d * r, r * r]
    return [np.bincount(group, value, size) for value in values]
