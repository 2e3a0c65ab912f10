"""Legal moves that nobody played here and that lead to a position other games reached."""

from __future__ import annotations

from collections.abc import Collection
from typing import Any

import chess
from duckdb import DuckDBPyConnection

from explorer.positions.names import name_of_key
from explorer.positions.position import Position
from explorer.query.model import Transposing
from explorer.query.moves import key_after
from explorer.query.where import Where


def transposing(
    cursor: DuckDBPyConnection, position: Position, played: Collection[chess.Move], where: Where
) -> tuple[Transposing, ...]:
    """The unplayed moves that transpose, the best known first.

    ``where`` speaks of the visits after the move (`where.where(opponent_moves=True)`).
    """
    board = chess.Board(position.fen)
    keys = {move: key_after(board, move) for move in board.legal_moves if move not in played}
    counts = _counts(cursor, tuple(keys.values()), where)
    found = [
        Transposing(board.san(move), move.uci(), counts[key], name_of_key(key))
        for move, key in keys.items()
        if key in counts
    ]
    return tuple(sorted(found, key=lambda other: (-other.games_there, other.san)))


def _counts(cursor: DuckDBPyConnection, keys: tuple[int, ...], where: Where) -> dict[int, int]:
    """Games that reached each position; those that none reached are left out.

    One equality after the other: row groups are passed over by `key = ...`
    only, not by a list of keys.
    """
    if not keys:
        return {}
    params: dict[str, Any] = {**where.params}
    parts = []
    for number, key in enumerate(keys):
        params[f"key{number}"] = key
        parts.append(
            f"SELECT $key{number} AS key, count(*) AS games FROM visits "
            f"WHERE key = $key{number} {where.sql}"
        )
    sql = f"SELECT key, games FROM ({' UNION ALL '.join(parts)}) WHERE games > 0"
    return dict(cursor.execute(sql, params).fetchall())
