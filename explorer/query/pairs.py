"""A few (position, reply) pairs, and what is asked of each: all of them in one query."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import chess
from duckdb import DuckDBPyConnection

from explorer.numbers.clusters import design_effect
from explorer.numbers.expectation import PARTS
from explorer.numbers.intervals import wilson
from explorer.positions.position import Position, position_of
from explorer.query.groups import Counted
from explorer.query.library import Facts
from explorer.query.mistake_model import Rate
from explorer.query.model import ReplyLevel
from explorer.query.moves import unpack
from explorer.query.subtree import Subtree, curves_of, expected_of
from explorer.query.sums import Sums, sums_of
from ingest.levels import bands

PLAYER = "coalesce(mover_id::BIGINT, -1 - game_id::BIGINT)"


def put_pairs(
    cursor: DuckDBPyConnection, keys: Sequence[int], moves: Sequence[int], white: Sequence[bool]
) -> None:
    """Put the pairs into the table `pairs`, numbered from 0; it lives as long as the cursor.

    ``white`` says whether White is to move there.
    """
    cursor.execute(
        """
        CREATE OR REPLACE TEMP TABLE pairs AS SELECT unnest($1::INTEGER[]) AS number,
            unnest($2::UBIGINT[]) AS key, unnest($3::USMALLINT[]) AS reply,
            unnest($4::BOOLEAN[]) AS white
        """,
        [list(range(len(keys))), list(keys), list(moves), list(white)],
    )


def rate_of(
    cases: float, games: float, products: Sequence[float], players: int, who_did: int, top: int
) -> Counted:
    """A rate from sums over its players; ``products`` are those of k * k, k * n and n * n."""
    kk, kn, nn = products
    design = design_effect(cases, games, kk, kn, nn, players) if games else 1.0
    low, high = wilson(cases, games, design) or (None, None)
    share = cases / games if games else None
    rate = Rate(int(cases), int(games), players, share, low, high, top, who_did)
    return Counted(rate, design)


NEVER = rate_of(0, 0, (0, 0, 0), 0, 0, 0)
Rates = dict[tuple[int, int], tuple[Counted, float | None]]


def in_all_games(cursor: DuckDBPyConnection, subtree: Subtree) -> list[Counted]:
    """For each pair: of all games that players have with that colour, those in which it occurs.

    All games are those from the normal start with a move by each side, not cut
    short within the moves looked at.
    """
    whole = f"start_fen IS NULL AND plies >= 2 AND NOT (cut_short AND plies < {subtree.end})"
    crowds = (_crowd(colour, f"{whole} {subtree.where.sql}") for colour in ("white", "black"))
    rows = cursor.execute(
        f"""
        WITH crowd AS MATERIALIZED ({" UNION ALL ".join(crowds)}),
        everybody AS (
            SELECT white, sum(n) AS n, sum(n * n) AS nn, count(*) AS players
            FROM crowd GROUP BY white
        ), hit AS (
            SELECT number, white, {PLAYER} AS player, count(*)::DOUBLE AS k
            FROM ({subtree.visits}) JOIN pairs USING (key)
            WHERE move = reply AND game_id IN (SELECT id FROM games WHERE {whole}) GROUP BY ALL
        ), hits AS (
            SELECT number, sum(k) AS k, sum(k * k) AS kk, sum(k * n) AS kn, count(*) AS who,
                max(CASE WHEN player >= 0 THEN k ELSE 0 END) AS top
            FROM hit JOIN crowd USING (white, player) GROUP BY number
        )
        SELECT coalesce(k, 0), coalesce(n, 0), coalesce(kk, 0), coalesce(kn, 0), coalesce(nn, 0),
            coalesce(players, 0), coalesce(who, 0), coalesce(top, 0)::INTEGER
        FROM pairs LEFT JOIN everybody USING (white) LEFT JOIN hits USING (number) ORDER BY number
        """,
        subtree.params,
    ).fetchall()
    return [rate_of(k, n, (kk, kn, nn), *counts) for k, n, kk, kn, nn, *counts in rows]


def _crowd(colour: str, condition: str) -> str:
    """Games by player of that colour; to the condition the columns look like a visit's."""
    other = "black" if colour == "white" else "white"
    return f"""
        SELECT {colour == "white"} AS white, {PLAYER} AS player, count(*)::DOUBLE AS n
        FROM (SELECT *, id AS game_id, {colour}_id AS mover_id, {colour}_rating AS mover_rating,
            {other}_rating AS opponent_rating FROM games)
        WHERE {condition} GROUP BY player
    """


def rates_by_level(cursor: DuckDBPyConnection, subtree: Subtree, level: str) -> Rates:
    """(pair, level) -> how often it is chosen there, and its score (0-1).

    ``level`` is SQL for the number of the mover's level.
    """
    rows = cursor.execute(
        f"""
        WITH person AS (
            SELECT number, {level} AS level, {PLAYER} AS player,
                count(*)::DOUBLE AS n, count_if(move = reply)::DOUBLE AS k,
                count(half_points) FILTER (move = reply) AS known,
                sum(half_points) FILTER (move = reply) AS points
            FROM ({subtree.visits}) JOIN pairs USING (key) GROUP BY ALL
        )
        SELECT number, level, sum(k), sum(n), sum(k * k), sum(k * n), sum(n * n), count(*),
            count_if(k > 0), max(CASE WHEN player >= 0 THEN k ELSE 0 END)::INTEGER,
            sum(points) / 2 / nullif(sum(known), 0)
        FROM person GROUP BY number, level
        """,
        subtree.params,
    ).fetchall()
    return {
        (number, level): (rate_of(k, n, (kk, kn, nn), *counts), score)
        for number, level, k, n, kk, kn, nn, *counts, score in rows
    }


def levels_of(rates: Rates, pair: int, cuts: Sequence[int]) -> tuple[ReplyLevel, ...]:
    """The share of one pair at every level, from `rates_by_level`."""
    found = []
    for number, level in enumerate(bands(tuple(cuts))):
        counted, score = rates.get((pair, number), (NEVER, None))
        rate = counted.rate
        share = rate.share, rate.low, rate.high
        games = rate.cases, rate.case_players
        found.append(ReplyLevel(level.label, *games, *share, score, rate.games, rate.players))
    return tuple(found)


def lines_of(cursor: DuckDBPyConnection, subtree: Subtree) -> list[Position]:
    """For each pair the commonest line of moves to it, with the reply at its end."""
    rows = cursor.execute(
        f"""
        SELECT start_fen, moves FROM (
            SELECT number, start_fen, mainline[1:ply + 1] AS moves, row_number() OVER (
                PARTITION BY number
                ORDER BY count(*) DESC, len(moves), moves, start_fen NULLS FIRST) AS place
            FROM (SELECT number, game_id, ply::INTEGER AS ply
                FROM ({subtree.visits}) JOIN pairs USING (key) WHERE move = reply) here
            JOIN games ON games.id = here.game_id
            GROUP BY number, start_fen, moves)
        WHERE place = 1 ORDER BY number
        """,
        subtree.params,
    ).fetchall()
    return [_played(start, moves) for start, moves in rows]


def _played(start_fen: str | None, moves: Sequence[int]) -> Position:
    board = chess.Board(start_fen or chess.STARTING_FEN)
    for move in moves:
        board.push(unpack(move))
    return position_of(board)


def material_at(cursor: DuckDBPyConnection, subtree: Subtree) -> Sums:
    """The moves in the pairs' positions, with the bare swing; positions have the pair's number."""
    sql = f"""
        SELECT number, move, {PLAYER} AS player, mated, NULL::INTEGER AS over,
            {PARTS} * swing::INTEGER AS swing
        FROM ({subtree.visits}) JOIN pairs USING (key)
    """
    return sums_of(cursor, [(sql, subtree.params)], at_least=1)


def answers_to(cursor: DuckDBPyConnection, facts: Facts, subtree: Subtree) -> Sums:
    """What the opponents played right after each pair; positions have the pair's number."""
    sql = f"""
        SELECT number, move, {PLAYER} AS player, mated, NULL::INTEGER AS swing,
            {PARTS // 2} * half_points::INTEGER - {expected_of("NOT white")} AS over
        FROM (SELECT $white::INTEGER[] AS white_curve, $black::INTEGER[] AS black_curve),
            (SELECT number, white, game_id, (ply + 1)::UTINYINT AS ply
                FROM ({subtree.visits}) JOIN pairs USING (key) WHERE move = reply)
            JOIN visits USING (game_id, ply)
        WHERE move <> 0
    """
    params: dict[str, Any] = {**curves_of(facts), **subtree.params}
    return sums_of(cursor, [(sql, params)], at_least=1)
