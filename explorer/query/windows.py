"""The moves that games played after a position, as arrays, and who played them."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from duckdb import DuckDBPyConnection
from numpy.typing import NDArray

from explorer.positions.position import Position
from explorer.query.visits import NOT_KNOWN, PLIES, Ints, Visits
from explorer.query.where import Where

# The ply, from 0, that a game's first move has by the counters of its own start
# (`first_ply` in explorer.positions.position).
_FIRST_PLY = """
    CASE WHEN start_fen IS NULL THEN 0 ELSE (split_part(start_fen, ' ', 2) = 'b')::INTEGER
        + 2 * (coalesce(try_cast(split_part(start_fen, ' ', 6) AS INTEGER), 1) - 1) END
"""


@dataclass(frozen=True, slots=True)
class Windows:
    """The games whose record goes on for so many plies after a position, in order of game.

    ``mover`` and ``other`` are their visits there, seen by the side to move and by the
    other one. ``moves`` has shape (games, plies), packed. ``ply`` is the number
    of the first one, from 0, by the game's own counting.
    """

    mover: Visits
    other: Visits
    moves: NDArray[np.uint16]
    ply: Ints

    def __len__(self) -> int:
        """The number of games."""
        return len(self.ply)


def windows_after(
    cursor: DuckDBPyConnection, position: Position, visits: Visits, where: Where, plies: int
) -> Windows:
    """The chosen games that went on for ``plies`` plies; ``visits`` are all of the position."""
    other = "black" if position.to_move == "white" else "white"
    table = cursor.sql(
        f"""
        SELECT game_id::BIGINT * {PLIES} + ply AS game_ply, {_FIRST_PLY} + ply AS ply,
            coalesce({other}_id::BIGINT, -1 - game_id::BIGINT) AS other,
            mainline[ply + 1:ply + {plies}] AS moves
        FROM (SELECT game_id, ply::INTEGER AS ply FROM visits WHERE key = $key {where.sql}) here
        JOIN games ON id = game_id
        WHERE plies >= ply + {plies}
        ORDER BY game_ply
        """,
        params={"key": position.key, **where.params},
    ).to_arrow_table()
    columns = {name: table[name].combine_chunks() for name in table.column_names}
    game_ply = np.asarray(columns["game_ply"], np.int64)
    mover = visits.only(np.isin(visits.game_ply, game_ply))
    moves = np.asarray(columns["moves"].flatten(), np.uint16).reshape(-1, plies)
    people = np.asarray(columns["other"], np.int64)
    return Windows(mover, turned(mover, people), moves, np.asarray(columns["ply"], np.int64))


def turned(visits: Visits, other: Ints) -> Visits:
    """The same visits seen by the side that is not to move, but for the swing; ``other`` are
    its players."""
    known = visits.points != NOT_KNOWN
    return replace(
        visits,
        player=other,
        rating=visits.opponent_rating,
        opponent_rating=visits.rating,
        points=np.where(known, 2 - visits.points, NOT_KNOWN),
        person=np.unique(other, return_inverse=True)[1],
    )
