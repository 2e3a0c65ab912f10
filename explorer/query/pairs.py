"""A few (position, reply) pairs, and what is asked of each: all of them in one query."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import chess
from duckdb import DuckDBPyConnection

from explorer.numbers.expectation import PARTS
from explorer.positions.position import Position, position_of
from explorer.query.bands import level_number
from explorer.query.library import Facts
from explorer.query.model import ReplyLevel
from explorer.query.moves import unpack
from explorer.query.subtree import Subtree, curves_of, expected_of
from explorer.query.sums import Sums, sums_of
from ingest.levels import bands

LEVELS = 64  # more than there can be
AT_ONCE = 20  # positions in one query
PLAYER = "coalesce(mover_id::BIGINT, -1 - game_id::BIGINT)"


@dataclass(frozen=True, slots=True)
class Pair:
    """A reply (packed) in a position; ``position`` is a number, the same for the same key."""

    position: int
    key: int
    reply: int
    white: bool  # to move


def put_pairs(cursor: DuckDBPyConnection, pairs: Sequence[Pair]) -> None:
    """Put the pairs into the table `pairs`, numbered from 0; it lives as long as the cursor."""
    columns = [[getattr(pair, name) for pair in pairs] for name in Pair.__slots__]
    cursor.execute(
        """
        CREATE OR REPLACE TEMP TABLE pairs AS SELECT unnest($1::INTEGER[]) AS number,
            unnest($2::INTEGER[]) AS position, unnest($3::UBIGINT[]) AS key,
            unnest($4::USMALLINT[]) AS reply, unnest($5::BOOLEAN[]) AS white
        """,
        [list(range(len(pairs))), *columns],
    )


def swings_at(cursor: DuckDBPyConnection, subtree: Subtree, pairs: Sequence[Pair]) -> Sums:
    """The replies in the pairs' positions with their bare swing."""
    return _played_at(cursor, subtree, pairs, "position", "swing")


def shares_at(
    cursor: DuckDBPyConnection, subtree: Subtree, pairs: Sequence[Pair], cuts: Sequence[int] = ()
) -> Sums:
    """The replies in the pairs' positions with their score as the result measured.

    With ``cuts`` the number is position * LEVELS + level, else position.
    """
    level = f" * {LEVELS} + {level_number(cuts, 'mover_rating')}" if cuts else ""
    return _played_at(cursor, subtree, pairs, f"position{level}", "over")


def _played_at(
    cursor: DuckDBPyConnection, subtree: Subtree, pairs: Sequence[Pair], number: str, measure: str
) -> Sums:
    """Few positions at a time, so that memory stays bounded."""
    value = {"over": f"{PARTS // 2} * half_points::INTEGER", "swing": f"{PARTS} * swing::INTEGER"}
    keys = sorted({pair.key for pair in pairs})
    parts = []
    for start in range(0, len(keys), AT_ONCE):
        among = keys[start : start + AT_ONCE]
        visits = replace(subtree, keys=(among[0], among[-1])).visits
        sql = f"""
            SELECT {number} AS number, move, {PLAYER} AS player, mated,
                {value[measure]} AS {measure}
            FROM ({visits}) JOIN (SELECT DISTINCT key, position FROM pairs) USING (key)
        """
        parts.append(cursor.execute(sql, subtree.params).fetchnumpy())
    return sums_of(parts, measures=[measure])


def levels_of(by_level: Sums, pair: Pair, cuts: Sequence[int]) -> tuple[ReplyLevel, ...]:
    """The share and score of a reply at every level, from `shares_at` with cuts."""
    found = []
    for place, level in enumerate(bands(tuple(cuts))):
        number = pair.position * LEVELS + place
        rate = by_level.rate_at(number, pair.reply).rate
        row = by_level.row(number, pair.reply)
        score = None if row is None else by_level.mean(row)
        share = rate.share, rate.low, rate.high
        games = rate.cases, rate.case_players
        found.append(ReplyLevel(level.label, *games, *share, score, rate.games, rate.players))
    return tuple(found)


def lines_of(cursor: DuckDBPyConnection, subtree: Subtree) -> list[Position]:
    """For each pair the commonest line of moves to it, with the reply at its end."""
    rows = cursor.execute(
        f"""
        SELECT start_fen, moves FROM (
            SELECT *, row_number() OVER (
                PARTITION BY number
                ORDER BY games DESC, array_length(moves), moves, start_fen NULLS FIRST) AS place
            FROM (SELECT number, start_fen, array_slice(mainline, 1, ply + 1) AS moves,
                    count(*) AS games
                FROM (SELECT number, game_id, ply::INTEGER AS ply
                    FROM ({subtree.visits}) JOIN pairs USING (key) WHERE move = reply) here
                JOIN games ON games.id = here.game_id
                GROUP BY number, start_fen, moves))
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


def answers_to(
    cursor: DuckDBPyConnection, facts: Facts, subtree: Subtree, after: Sequence[int]
) -> Sums:
    """What the opponents played right after each pair; positions have the pair's number.

    ``after`` has the key of the position after each pair.
    """
    sql = f"""
        SELECT number, move, {PLAYER} AS player, mated,
            {PARTS // 2} * half_points::INTEGER - {expected_of("NOT white")} AS over
        FROM (SELECT $white::INTEGER[] AS white_curve, $black::INTEGER[] AS black_curve),
            (SELECT number, white, game_id, (ply + 1)::UTINYINT AS ply
                FROM ({subtree.visits}) JOIN pairs USING (key) WHERE move = reply)
            JOIN (SELECT * FROM visits WHERE move <> 0
                AND key IN ({", ".join(map(str, sorted(set(after))))})) USING (game_id, ply)
    """
    params: dict[str, Any] = {**curves_of(facts), **subtree.params}
    return sums_of([cursor.execute(sql, params).fetchnumpy()], measures=["over"])
