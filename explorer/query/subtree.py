"""The positions under a position: every one that games came to later, by any move order."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import chess
import numpy as np
from duckdb import DuckDBPyConnection
from numpy.typing import NDArray

from explorer.numbers.expectation import WIDEST
from explorer.positions.position import Position
from explorer.query.library import Facts
from explorer.query.where import Where
from ingest.poskey import key_of

START_KEY = key_of(chess.Board())

SLICE = 400_000  # games whose players are told apart at a time; more is slower, and takes memory


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


def curves_of(facts: Facts) -> dict[str, Any]:
    """Parameters of SQL with `expected_of`: the curves of both colours."""
    return {"white": facts.curve("white"), "black": facts.curve("black")}


def expected_of(white: str) -> str:
    """SQL for a mover's expected score in 1 / PARTS; ``white`` says whether that is White.

    It takes the columns white_curve and black_curve.
    """
    # Of a NULL `least` and `greatest` would make the other value.
    difference = "mover_rating::INTEGER - opponent_rating::INTEGER"
    place = f"""{WIDEST + 1} + CASE WHEN {difference} > {WIDEST} THEN {WIDEST}
        WHEN {difference} < -{WIDEST} THEN -{WIDEST} ELSE {difference} END"""
    return f"CASE WHEN {white} THEN white_curve[{place}] ELSE black_curve[{place}] END"
