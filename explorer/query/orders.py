"""`orders`: the move orders by which games reached a position, and where they part."""

from __future__ import annotations

from typing import Any

from duckdb import DuckDBPyConnection

from explorer.positions.position import Position, numbered
from explorer.query.filters import Filters
from explorer.query.library import Library
from explorer.query.model import Order, OrdersAnswer
from explorer.query.moves import line_of
from explorer.query.origin import facts_of, nothing_found, source_of
from explorer.query.where import Where, where

SHOWN = 20


def orders(
    library: Library, position: Position, filters: Filters, top: int = SHOWN
) -> OrdersAnswer:
    """The move orders to a position, the commonest first; ``filters.top`` goes before ``top``.

    Those of fewer than ``filters.min_games`` games are counted, but not shown.

    NothingFound when no game that passes the filters reached the position.
    """
    with library.reading() as (cursor, facts):
        chosen = where(cursor, facts, filters)
        rows = _rows(cursor, position, chosen, filters.top or top)
        if not rows:
            raise nothing_found(cursor, facts, position, chosen)
        source = source_of(cursor, facts, position, filters, chosen)
    every, games = rows[0][3], rows[0][4]
    rows = [row for row in rows if row[2] >= filters.min_games]
    return OrdersAnswer(
        position=facts_of(position),
        filters=filters,
        source=source,
        games=games,
        orders=_orders(rows, games),
        orders_left_out=every - len(rows),
    )


def count_orders(cursor: DuckDBPyConnection, position: Position, where: Where) -> int:
    """The number of move orders by which the chosen games reached the position."""
    sql = f"SELECT count(*) FROM ({_orders_sql(where)})"
    row = cursor.execute(sql, {"key": position.key, **where.params}).fetchone()
    return int(row[0]) if row else 0


def _orders_sql(where: Where) -> str:
    """A row per move order: its start, its moves, its games."""
    return f"""
        SELECT start_fen, array_slice(mainline, 1, ply) AS moves, count(*) AS games
        FROM (SELECT game_id, ply FROM visits WHERE key = $key {where.sql}) here
        JOIN games ON games.id = here.game_id
        GROUP BY start_fen, moves
    """


def _rows(
    cursor: DuckDBPyConnection, position: Position, where: Where, top: int
) -> list[tuple[Any, ...]]:
    """The commonest orders: start, moves, games, number of orders, games of all orders."""
    return cursor.execute(
        f"""
        SELECT *, count(*) OVER (), sum(games) OVER ()::BIGINT FROM ({_orders_sql(where)})
        ORDER BY games DESC, array_length(moves), moves, start_fen NULLS FIRST
        LIMIT {top}
        """,
        {"key": position.key, **where.params},
    ).fetchall()


def _orders(rows: list[tuple[Any, ...]], games: int) -> tuple[Order, ...]:
    first = rows[0] if rows else ()
    found = []
    for start, moves, count, *_ in rows:
        ucis, sans = line_of(moves, start)
        found.append(
            Order(
                line=numbered(sans, start),
                start_fen=start,
                ucis=ucis,
                games=count,
                share=count / games,
                parts_at=_parts_at(first[1], moves) if start == first[0] else 0,
            )
        )
    return tuple(found)


def _parts_at(commonest: list[int], moves: list[int]) -> int | None:
    """The ply from which two lines differ; None when one is the beginning of the other."""
    for ply, (one, other) in enumerate(zip(commonest, moves, strict=False)):
        if one != other:
            return ply
    return None
