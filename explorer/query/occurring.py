"""In how many games a mistake occurs: of all that players have, and on the way to it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import chess
import numpy as np
from duckdb import DuckDBPyConnection

from explorer.positions.position import Position
from explorer.query.bands import level_number
from explorer.query.groups import Counted, Crowd
from explorer.query.moves import pack
from explorer.query.pairs import PLAYER
from explorer.query.subtree import Subtree
from explorer.query.sums import rate_of
from explorer.query.where import Where
from ingest.poskey import key_of

# All games: those from the normal start with a move by each side that were not cut short
# before the move in question could come; ``first`` is the ply at which it came first.
ALL_GAMES = "start_fen IS NULL AND plies >= 2"
NOT_CUT_BEFORE = "(NOT cut_short OR plies > {first})"
END = 255  # no position that a library keeps comes later


def in_all_games(
    cursor: DuckDBPyConnection,
    position: Position,
    where: Where,
    cuts: Sequence[int],
    move: int,
) -> Crowd:
    """All games that players had with the colour to move, and those in which the move occurs.

    Of a move that nobody played the place counts at which its position was reached first.
    """
    own, other = position.to_move, "white" if position.to_move == "black" else "black"
    here = f"""
        SELECT game_id, move = $move AS hit, ply FROM visits WHERE key = $key {where.sql}
            AND game_id IN (SELECT id FROM games WHERE {ALL_GAMES})
    """
    params = {"key": position.key, "move": move, **where.params}
    sql = f"SELECT coalesce(min(ply) FILTER (hit), min(ply), {END}) FROM ({here})"
    ((first,),) = cursor.execute(sql, params).fetchall()
    games = f"""
        SELECT id AS game_id, {own}_id AS mover_id, {own}_rating AS mover_rating,
            {other}_rating AS opponent_rating, pace, played,
            id IN (SELECT game_id FROM ({here}) WHERE hit) AS hit
        FROM games WHERE {ALL_GAMES} AND {NOT_CUT_BEFORE.format(first=first)}
    """
    return _crowd(cursor, f"({games}) WHERE true {where.sql}", params, "hit", cuts)


def each_in_all_games(cursor: DuckDBPyConnection, subtree: Subtree) -> list[Counted]:
    """The same for each pair of the table `pairs`, over all levels chosen.

    Games that were cut short are few, and they alone count for one pair and not for another:
    they are added pair by pair.
    """
    colours = ("white", "black")
    whole, cut = (" UNION ALL ".join(_players(c, cut, subtree) for c in colours) for cut in (0, 1))
    rows = cursor.execute(
        f"""
        WITH whole AS MATERIALIZED ({whole}), cut AS MATERIALIZED ({cut}),
        hit AS MATERIALIZED (
            SELECT number, white, {PLAYER} AS player, count(*)::DOUBLE AS k, min(ply) AS first
            FROM ({subtree.visits}) JOIN pairs USING (key)
            WHERE move = reply AND game_id IN (SELECT id FROM games WHERE {ALL_GAMES})
            GROUP BY ALL
        ), late AS (
            SELECT number, white, player, sum(n) AS more
            FROM cut JOIN pairs USING (white)
            JOIN (SELECT number, min(first) AS first FROM hit GROUP BY number) USING (number)
            WHERE plies > first GROUP BY ALL
        ), added AS (
            SELECT number, sum(more) AS n, sum(more * more + 2 * more * coalesce(n, 0)) AS nn,
                count_if(n IS NULL) AS players
            FROM late LEFT JOIN whole USING (white, player) GROUP BY number
        ), everybody AS (
            SELECT white, sum(n) AS n, sum(n * n) AS nn, count(*) AS players
            FROM whole GROUP BY white
        ), hits AS (
            SELECT number, sum(k) AS k, sum(k * k) AS kk,
                sum(k * (coalesce(n, 0) + coalesce(more, 0))) AS kn, count(*) AS who,
                max(CASE WHEN player >= 0 THEN k ELSE 0 END) AS top
            FROM hit LEFT JOIN whole USING (white, player)
            LEFT JOIN late USING (number, white, player) GROUP BY number
        )
        SELECT coalesce(k, 0), coalesce(everybody.n, 0) + coalesce(added.n, 0), coalesce(kk, 0),
            coalesce(kn, 0), coalesce(everybody.nn, 0) + coalesce(added.nn, 0),
            coalesce(everybody.players, 0) + coalesce(added.players, 0), coalesce(who, 0),
            coalesce(top, 0)::INTEGER
        FROM pairs LEFT JOIN everybody USING (white) LEFT JOIN hits USING (number)
        LEFT JOIN added USING (number) ORDER BY number
        """,
        subtree.params,
    ).fetchall()
    return [rate_of(k, n, (kk, kn, nn), *counts) for k, n, kk, kn, nn, *counts in rows]


def _players(colour: str, cut: int, subtree: Subtree) -> str:
    """Games by player of that colour, ``cut`` short (then by length as well) or not."""
    other = "black" if colour == "white" else "white"
    length, unread = (", plies", "") if cut else ("", "NOT")
    return f"""
        SELECT {colour == "white"} AS white, {PLAYER} AS player, count(*)::DOUBLE AS n {length}
        FROM (SELECT *, id AS game_id, {colour}_id AS mover_id, {colour}_rating AS mover_rating,
            {other}_rating AS opponent_rating FROM games)
        WHERE {ALL_GAMES} AND {unread} cut_short {subtree.where.sql} GROUP BY ALL
    """


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
