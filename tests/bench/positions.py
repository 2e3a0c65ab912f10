"""Positions to ask about, taken from the library itself: popular ones and rare ones."""

from __future__ import annotations

from pathlib import Path

import chess

from explorer.positions.position import Position, position_of
from explorer.query.library import open_library
from explorer.query.moves import unpack

POPULAR_PLIES = (4, 6, 8, 10, 12)
RARE_PLIES = (3, 5, 7, 9, 11)
RARE_GAMES = (10, 40)


def start() -> Position:
    return position_of(chess.Board())


def popular(library: Path) -> list[Position]:
    """The most reached position at each of some plies."""
    return [_chosen(library, ply, "true", "count(*) DESC, key") for ply in POPULAR_PLIES]


def rare(library: Path) -> list[Position]:
    """At each of some plies, a position that a few games reached."""
    low, high = RARE_GAMES
    few = f"count(*) BETWEEN {low} AND {high}"
    return [_chosen(library, ply, few, "key") for ply in RARE_PLIES]


def _chosen(library: Path, ply: int, having: str, order: str) -> Position:
    with open_library(library) as opened, opened.reading() as (cursor, _):
        found = cursor.execute(
            f"""
            SELECT mainline[1:{ply}] FROM games WHERE start_fen IS NULL AND id IN (
                SELECT min(game_id) FROM visits WHERE ply = {ply}
                GROUP BY key HAVING {having} ORDER BY {order} LIMIT 1)
            """
        ).fetchone()
    board = chess.Board()
    for move in found[0]:
        board.push(unpack(move))
    return position_of(board)
