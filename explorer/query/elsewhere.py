"""Legal moves that nobody played here and that lead to a position other games reached."""

from __future__ import annotations

from collections.abc import Collection
from typing import Any

import chess
from duckdb import DuckDBPyConnection

from explorer.positions.names import name_of_key
from explorer.positions.position import Position
from explorer.query.filters import Filters
from explorer.query.library import Library
from explorer.query.model import Transposing
from explorer.query.moves import key_after
from explorer.query.where import Where, where


def elsewhere(
    library: Library, position: Position, filters: Filters, played: Collection[str]
) -> tuple[Transposing, ...]:
    """The moves that transpose among those that are not ``played`` (UCI), the best known first."""
    moves = {chess.Move.from_uci(uci) for uci in played}
    with library.reading() as (cursor, facts):
        after = where(cursor, facts, filters, opponent_moves=True)
        return transposing(cursor, position, moves, after)


def transposing(
    cursor: DuckDBPyConnection, position: Position, played: Collection[chess.Move], after: Where
) -> tuple[Transposing, ...]:
    """The unplayed moves that transpose, the best known first.

    ``after`` speaks of the visits after the move (`where.where(opponent_moves=True)`).
    """
    board = chess.Board(position.fen)
    keys = {move: key_after(board, move) for move in board.legal_moves if move not in played}
    counts = _counts(cursor, tuple(keys.values()), after)
    found = [
        Transposing(board.san(move), move.uci(), counts[key], name_of_key(key))
        for move, key in keys.items()
        if key in counts
    ]
    return tuple(sorted(found, key=lambda other: (-other.games_there, other.san)))


def _counts(cursor: DuckDBPyConnection, keys: tuple[int, ...], after: Where) -> dict[int, int]:
    """Games that reached each position; those that none reached are left out.

    One equality after the other: row groups are passed over by `key = ...`
    only, not by a list of keys.
    """
    if not keys:
        return {}
    params: dict[str, Any] = {**after.params}
    parts = []
    for number, key in enumerate(keys):
        params[f"key{number}"] = key
        parts.append(
            f"SELECT $key{number} AS key, count(*) AS games FROM visits "
            f"WHERE key = $key{number} {after.sql}"
        )
    sql = f"SELECT key, games FROM ({' UNION ALL '.join(parts)}) WHERE games > 0"
    return dict(cursor.execute(sql, params).fetchall())
