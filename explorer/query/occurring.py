"""In how many games a mistake occurs: of all that players have, and on the way to it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import chess
import numpy as np
from duckdb import DuckDBPyConnection

from explorer.positions.position import Position
from explorer.query.bands import level_number
from explorer.query.groups import Crowd
from explorer.query.moves import pack
from explorer.query.where import Where
from ingest.poskey import key_of


def in_all_games(
    cursor: DuckDBPyConnection,
    position: Position,
    where: Where,
    cuts: Sequence[int],
    move: int,
    earliest: int,
) -> Crowd:
    """All games that players had with the colour to move, and those in which the move occurs.

    Games from the normal start with a move by each side and not cut short before
    ``earliest``, the first ply at which the position was reached.
    """
    own, other = position.to_move, "white" if position.to_move == "black" else "black"
    games = f"""
        SELECT id AS game_id, {own}_id AS mover_id, {own}_rating AS mover_rating,
            {other}_rating AS opponent_rating, pace, played, plies, cut_short,
            id IN (SELECT game_id FROM visits WHERE key = $key AND move = $move) AS hit
        FROM games WHERE start_fen IS NULL AND plies >= 2
    """
    whole = f"(hit OR NOT cut_short OR plies > {earliest})"
    params = {"key": position.key, "move": move, **where.params}
    return _crowd(cursor, f"({games}) WHERE {whole} {where.sql}", params, "hit", cuts)


def along_the_line(
    cursor: DuckDBPyConnection, position: Position, where: Where, cuts: Sequence[int]
) -> list[Crowd]:
    """For each earlier move on the line by the side that is to move: how often it was chosen."""
    board, mover = chess.Board(position.start), chess.Board(position.fen).turn
    found = []
    for uci in position.ucis:
        move = chess.Move.from_uci(uci)
        if board.turn == mover:
            params = {"key": key_of(board), "move": pack(move), **where.params}
            here = f"visits WHERE key = $key AND move <> 0 {where.sql}"
            found.append(_crowd(cursor, here, params, "move = $move", cuts))
        board.push(move)
    return found


def _crowd(
    cursor: DuckDBPyConnection, games: str, params: dict[str, Any], hit: str, cuts: Sequence[int]
) -> Crowd:
    """``games``: what stands after FROM, with the columns of the mover."""
    columns = cursor.execute(
        f"""
        SELECT coalesce(mover_id::BIGINT, -1 - game_id::BIGINT) AS player,
            {level_number(cuts, "mover_rating")} AS level,
            count_if({hit}) AS cases, count(*) AS games
        FROM {games} GROUP BY player, level
        """,
        params,
    ).fetchnumpy()
    player, level, cases, games_ = (np.asarray(c, np.int64) for c in columns.values())
    person = np.unique(player, return_inverse=True)[1]
    return Crowd(person, player >= 0, level, cases, games_)
