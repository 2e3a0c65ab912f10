"""What stands around every answer: the position's facts, where the numbers come from,
and why there is no answer."""

from __future__ import annotations

from typing import Any

from duckdb import DuckDBPyConnection

from explorer.positions.position import Position, numbered
from explorer.query.filters import Filters
from explorer.query.library import Facts
from explorer.query.model import PositionFacts, Source
from explorer.query.where import EVERYTHING, Where
from ingest.errors import NothingFound
from ingest.poskey import format_key, key_of

NO_GAMES_YET = "the library has no games yet; add some with: replybook add FILES --collection NAME"


def facts_of(position: Position) -> PositionFacts:
    """The position as answers carry it."""
    by_moves = position.from_normal_start or bool(position.ucis)
    return PositionFacts(
        fen=position.fen,
        line=position.numbered if by_moves else None,
        name=position.name,
        key=format_key(position.key),
        to_move=position.to_move,
    )


def source_of(
    cursor: DuckDBPyConnection, facts: Facts, position: Position, filters: Filters, where: Where
) -> Source:
    """Where the numbers at a position come from."""
    return Source(
        collections=filters.collections or tuple(facts.collections),
        expectation=facts.expectation_source,
        vague_dates=_vague_dates(cursor, position, where),
        rating_scales=_scales(cursor, facts, position, where),
        plies=facts.plies,
        people=facts.people,
    )


def _vague_dates(cursor: DuckDBPyConnection, position: Position, where: Where) -> int:
    if not where.possible:
        return 0
    return _count(
        cursor,
        f"""
        SELECT count(*) FROM games WHERE {where.possible} AND id IN
            (SELECT game_id FROM visits WHERE key = $key AND played IS NULL {where.undated})
        """,
        {"key": position.key, **where.params},
    )


def _scales(
    cursor: DuckDBPyConnection, facts: Facts, position: Position, where: Where
) -> tuple[str, ...]:
    """The rating scales among the chosen games; not looked for where there are none."""
    if not facts.scales:
        return ()
    rows = cursor.execute(
        f"""
        SELECT DISTINCT rating_scale FROM games
        WHERE rating_scale IS NOT NULL
          AND id IN (SELECT game_id FROM visits WHERE key = $key {where.sql})
        ORDER BY rating_scale
        """,
        {"key": position.key, **where.params},
    ).fetchall()
    return tuple(scale for (scale,) in rows)


def nothing_found(
    cursor: DuckDBPyConnection, facts: Facts, position: Position, where: Where
) -> NothingFound:
    """Why no game answers a question about the position."""
    if not facts.collections:
        return NothingFound(NO_GAMES_YET)
    at_start = "the starting position" if position.from_normal_start else position.fen
    here = position.numbered or at_start
    if games := reached(cursor, position.key):
        vague = _vague_dates(cursor, position, where)
        dates = f" ({vague:,} because of a vague date)" if vague else ""
        return NothingFound(
            f"{here}: none of the {games:,} games that reached it passes the filters{dates}; "
            "loosen them"
        )
    if position.from_normal_start and len(position.ucis) >= facts.plies:
        return NothingFound(
            f"{here}: this is beyond the first {facts.plies // 2} moves of a game that the library "
            "keeps; make one that keeps more with: replybook add --library NEW --moves NUMBER"
        )
    return NothingFound(f"{here}: no game reached this position; {_deepest(cursor, position)}")


def _deepest(cursor: DuckDBPyConnection, position: Position) -> str:
    """The last position on the line that games reached, in words."""
    board = position.board()
    while board.move_stack:
        board.pop()
        if games := reached(cursor, key_of(board)):
            line = numbered(position.sans[: len(board.move_stack)], position.start)
            return f"{games:,} came as far as {line or 'its starting position'}"
    return "ask about an earlier one"


def reached(cursor: DuckDBPyConnection, key: int, where: Where = EVERYTHING) -> int:
    """The number of chosen games that reached a position."""
    sql = f"SELECT count(*) FROM visits WHERE key = $key {where.sql}"
    return _count(cursor, sql, {"key": key, **where.params})


def _count(cursor: DuckDBPyConnection, sql: str, params: dict[str, Any]) -> int:
    row = cursor.execute(sql, params).fetchone()
    return int(row[0]) if row else 0
