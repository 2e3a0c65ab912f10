"""The positions under a position: every one that games came to later, by any move order."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import chess
import numpy as np
from duckdb import DuckDBPyConnection
from numpy.typing import NDArray

from explorer.numbers.expectation import PARTS, WIDEST, left_by_level
from explorer.numbers.swing import ExpectedSwing, fit_expected_swing
from explorer.positions.position import Position
from explorer.query.bands import level_number
from explorer.query.filters import Filters
from explorer.query.library import Facts
from explorer.query.where import Where
from ingest.poskey import key_of

START_KEY = key_of(chess.Board())

# In tests a mate counts as a queen lost: whoever walks into mate loses no material.
MATED_AS = -9
SLICE = 200_000  # games whose players are told apart at a time; more is slower, and takes memory
EVEN = PARTS // 2  # stands for an expected score that is not known, where swings are compared


@dataclass(frozen=True, slots=True)
class Subtree:
    """Moves of games that went through ``root``: there and later, before ply ``end``.

    Only those that pass ``where``; ``keys`` narrows it to positions with keys from the first
    to the last, both included, which reads only their part of the library.
    """

    root: Position
    end: int
    where: Where
    keys: tuple[int, int] | None = None

    @property
    def params(self) -> dict[str, Any]:
        """What the SQL of `visits` needs."""
        return (
            self.where.params if self._everything else {**self.where.params, "root": self.root.key}
        )

    @property
    def visits(self) -> str:
        """A SELECT of the visits, with all their columns and ``from_ply``, the root's ply.

        All games from the normal start went through it: they need not be looked up.
        """
        part = f"AND key BETWEEN {self.keys[0]} AND {self.keys[1]}" if self.keys else ""
        if self._everything:
            return f"""
                SELECT *, 0 AS from_ply FROM visits
                WHERE ply < {self.end} AND move <> 0 {part} {self.where.sql}
                    AND game_id NOT IN (SELECT id FROM games WHERE start_fen IS NOT NULL)
            """
        return f"""
            SELECT * FROM visits JOIN
                (SELECT game_id, ply::INTEGER AS from_ply FROM visits WHERE key = $root)
                USING (game_id)
            WHERE ply >= from_ply AND ply < {self.end} AND move <> 0 {part} {self.where.sql}
        """

    @property
    def white_moves(self) -> str:
        """SQL that says of a visit whether White is to move."""
        turn = "=" if self.root.to_move == "white" else "<>"
        return f"(ply::INTEGER - from_ply) % 2 {turn} 0"

    @property
    def _everything(self) -> bool:
        return self.root.key == START_KEY


@dataclass(frozen=True, eq=False, slots=True)
class Popular:
    """Positions by number, in order of key: whether White is to move, and games that went on."""

    key: NDArray[np.uint64]
    white: NDArray[np.bool_]
    games: NDArray[np.int64]

    def slices(self) -> list[tuple[int, int]]:
        """First and last keys of parts of about SLICE games, so that memory stays bounded.

        At least one part, so that there is a result, be it of no rows.
        """
        if not len(self.key):
            return [(0, 0)]
        part = (np.cumsum(self.games) - self.games) // SLICE
        starts = np.flatnonzero(np.diff(part, prepend=-1))
        lasts = [*(starts[1:] - 1), len(part) - 1]
        return [(int(self.key[a]), int(self.key[b])) for a, b in zip(starts, lasts, strict=True)]


def choose_popular(
    cursor: DuckDBPyConnection, subtree: Subtree, side: str | None, least: int, others: int
) -> Popular:
    """The positions where a reply has ``least`` games, and the other replies together ``others``.

    ``side`` is to move there (None: either). They are put into the table `popular`, which
    lives as long as the cursor.
    """
    to_move = {None: "", "white": "AND white", "black": "AND NOT white"}[side]
    cursor.execute(
        f"""
        CREATE OR REPLACE TEMP TABLE popular AS
        SELECT key, white, games, (row_number() OVER (ORDER BY key) - 1)::INTEGER AS number
        FROM (SELECT key, any_value(white) AS white, sum(games)::BIGINT AS games,
                min(games) FILTER (games >= {least}) AS fewest
            FROM (SELECT key, move, any_value({subtree.white_moves}) AS white, count(*) AS games
                FROM ({subtree.visits}) GROUP BY key, move)
            GROUP BY key)
        WHERE games - fewest >= {others} {to_move}
        """,
        subtree.params,
    )
    sql = "SELECT key, white, games FROM popular ORDER BY number"
    key, white, games = map(np.asarray, cursor.execute(sql).fetchnumpy().values())
    return Popular(key, white, games)


@dataclass(frozen=True, eq=False, slots=True)
class Foreseen:
    """What players of each level may expect in the popular positions.

    ``over``: what the expected score leaves, by colour and level, in points.
    """

    over: NDArray[np.float64]
    swing: ExpectedSwing


def foresee(
    cursor: DuckDBPyConnection, facts: Facts, subtree: Subtree, filters: Filters
) -> Foreseen:
    """How players of each level score and what material they lose in the popular positions."""
    columns = cursor.execute(
        f"""
        SELECT white, ply, level, coalesce(expected, {EVEN}) AS expected, count(over) AS compared,
            coalesce(sum(over), 0)::BIGINT AS over, count(swing) AS swings,
            coalesce(sum(swing), 0)::BIGINT AS swing
        FROM (SELECT *, {PARTS // 2} * points - expected AS over FROM ({_valued(subtree, filters)}))
        GROUP BY ALL ORDER BY ALL
        """,
        {**curves_of(facts), **subtree.params},
    ).fetchnumpy()
    white, ply, level, expected, compared, over, swings, swing = (
        np.asarray(column, np.int64) for column in columns.values()
    )
    return Foreseen(
        over=left_by_level(white, level, compared, over / PARTS),
        swing=fit_expected_swing(ply, level, expected / PARTS, swings, swing),
    )


def compared_visits(
    facts: Facts, subtree: Subtree, filters: Filters, foreseen: Foreseen
) -> tuple[str, dict[str, Any]]:
    """SQL and parameters of `sums.sums_of`: the moves in the popular positions.

    ``over`` and ``swing`` are against what such a player may expect there.
    """
    levels = foreseen.over.shape[1]
    sql = f"""
        SELECT number, move, player, mated,
            ({PARTS // 2} * points - expected - surplus[white::INTEGER * {levels} + level + 1]
                )::INTEGER AS over,
            ({PARTS} * swing - base[ply * {levels} + level + 1]
                - slope[ply + 1] * coalesce(expected, {EVEN}) // {PARTS})::INTEGER AS swing
        FROM ({_valued(subtree, filters)}), (SELECT $surplus::INTEGER[] AS surplus,
            $base::INTEGER[] AS base, $slope::INTEGER[] AS slope)
    """
    found = {"surplus": foreseen.over, "base": foreseen.swing.base, "slope": foreseen.swing.slope}
    params = {
        name: np.rint(values * PARTS).astype(int).ravel().tolist() for name, values in found.items()
    }
    return sql, {**params, **curves_of(facts), **subtree.params}


def curves_of(facts: Facts) -> dict[str, Any]:
    """Parameters of SQL with `expected_of`: the curves of both colours."""
    return {"white": facts.curve("white"), "black": facts.curve("black")}


def _valued(subtree: Subtree, filters: Filters) -> str:
    """The moves in the popular positions; points in halves, expected in 1 / PARTS.

    The curves stand in a row of their own: as constants they would be copied for every
    block of rows.
    """
    return f"""
        SELECT number, move, white, coalesce(mover_id::BIGINT, -1 - game_id::BIGINT) AS player,
            mated, ply::INTEGER AS ply, {level_number(filters.cuts, "mover_rating")} AS level,
            half_points::INTEGER AS points,
            CASE WHEN mated THEN {MATED_AS} ELSE swing::INTEGER END AS swing,
            {expected_of("white")} AS expected
        FROM (SELECT $white::INTEGER[] AS white_curve, $black::INTEGER[] AS black_curve),
            ({subtree.visits}) JOIN popular USING (key)
    """


def expected_of(white: str) -> str:
    """SQL for a mover's expected score in 1 / PARTS; ``white`` says whether that is White.

    It takes the columns white_curve and black_curve.
    """
    # Of a NULL `least` and `greatest` would make the other value.
    difference = "mover_rating::INTEGER - opponent_rating::INTEGER"
    place = f"""{WIDEST + 1} + CASE WHEN {difference} > {WIDEST} THEN {WIDEST}
        WHEN {difference} < -{WIDEST} THEN -{WIDEST} ELSE {difference} END"""
    return f"CASE WHEN {white} THEN white_curve[{place}] ELSE black_curve[{place}] END"
