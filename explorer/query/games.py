"""`games`: the games that reached a position, in the order asked for."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from duckdb import DuckDBPyConnection

from explorer.positions.position import Position
from explorer.query.filters import Filters
from explorer.query.library import Library
from explorer.query.model import GameRow, GamesAnswer
from explorer.query.moves import line_of
from explorer.query.origin import facts_of, nothing_found, reached, source_of
from explorer.query.where import Where, where
from ingest.errors import UsageError
from ingest.schema import END_CHECKMATE
from ingest.tags import Pace

SHOWN = 20

# What comes first: the strongest, the newest, the shortest. The rest makes the
# order the same whatever order the games were added in.
_SORTS = {
    "rating": "white_rating::INTEGER + black_rating DESC NULLS LAST",
    "date": "year DESC NULLS LAST, month DESC NULLS LAST, day DESC NULLS LAST",
    "length": "plies",
}
_THEN = (
    "year DESC NULLS LAST, month DESC NULLS LAST, day DESC NULLS LAST, "
    "source, game_number, games.id"
)
_RESULTS = {2: "1-0", 1: "1/2-1/2", 0: "0-1", None: "*"}


def games(
    library: Library,
    position: Position,
    filters: Filters,
    sort: str = "rating",
    at_most_moves: int | None = None,
    top: int = SHOWN,
) -> GamesAnswer:
    """The games through a position; ``filters.top`` goes before ``top``.

    ``sort``: "rating" (mean of both, highest first, unrated last), "date"
    (newest first) or "length" (shortest first). ``at_most_moves`` keeps decisive
    games of one to so many moves; there may be none. NothingFound when no game
    that passes the filters reached the position, UsageError for another ``sort``.
    """
    if sort not in _SORTS:
        raise UsageError(f"sort {sort!r}: no such order; write one of {', '.join(_SORTS)}")
    with library.reading() as (cursor, facts):
        chosen = where(cursor, facts, filters)
        params = {"key": position.key, **chosen.params}
        through = reached(cursor, position.key, chosen)
        if not through:
            raise nothing_found(cursor, facts, position, chosen)
        visits = _visits_sql(chosen, at_most_moves)
        count = _count(cursor, visits, params) if at_most_moves else through
        in_order = f"{visits} ORDER BY {_SORTS[sort]}, {_THEN} LIMIT {filters.top or top}"
        rows = _rows(cursor, in_order, params)
        source = source_of(cursor, facts, position, filters, chosen)
    return GamesAnswer(
        position=facts_of(position),
        filters=filters,
        source=source,
        games=count,
        rows=rows,
    )


def _visits_sql(where: Where, at_most_moves: int | None) -> str:
    short = ""
    if at_most_moves:
        short = f"WHERE result <> 1 AND NOT cut_short AND plies BETWEEN 1 AND {2 * at_most_moves}"
    return f"""
        FROM (SELECT game_id, ply, move FROM visits WHERE key = $key {where.sql}) here
        JOIN games ON games.id = here.game_id
        {short}
    """


def _count(cursor: DuckDBPyConnection, visits: str, params: dict[str, Any]) -> int:
    row = cursor.execute(f"SELECT count(*) {visits}", params).fetchone()
    return int(row[0]) if row else 0


def _rows(cursor: DuckDBPyConnection, visits: str, params: dict[str, Any]) -> tuple[GameRow, ...]:
    """The games of the visits in order; what is shown is fetched for those only."""
    first = cursor.execute(f"SELECT id, ply, move {visits}", params).fetchall()
    return rows_at(cursor, first)


def rows_at(
    cursor: DuckDBPyConnection, first: Sequence[tuple[int, int, int]]
) -> tuple[GameRow, ...]:
    """Games by id, ply here and packed reply (0: none), in that order."""
    ids = ", ".join(str(number) for number, _, _ in first) or "NULL"
    shown = cursor.execute(
        f"""
        SELECT games.id, white.name, black.name, white_rating, black_rating, result,
            year, month, day, played, event, site, round, pace, time_control, termination,
            plies, ending, cut_short, start_fen, mainline
        FROM games
        LEFT JOIN players white ON white.id = white_id
        LEFT JOIN players black ON black.id = black_id
        WHERE games.id IN ({ids})
        """
    ).fetchall()
    by_id = {row[0]: row for row in shown}
    return tuple(_game(by_id[number], ply, move) for number, ply, move in first)


def _game(row: tuple[Any, ...], ply_here: int, reply: int) -> GameRow:
    (*tags, plies, ending, cut_short, start_fen, mainline) = row
    number, white, black, white_rating, black_rating, result, year, month, day, *more = tags
    played, event, site, event_round, pace, time_control, termination = more
    ucis, sans = line_of(mainline, start_fen)
    return GameRow(
        id=number,
        white=white,
        black=black,
        white_rating=white_rating,
        black_rating=black_rating,
        result=_RESULTS[result],
        date=f"{_digits(year, 4)}.{_digits(month, 2)}.{_digits(day, 2)}",
        played=played,
        event=event,
        site=site,
        round=event_round,
        pace=Pace(pace).word,
        time_control=time_control,
        termination=termination,
        moves=(plies + 1) // 2,
        reply=sans[ply_here] if reply else None,
        ended_by_mate=ending == END_CHECKMATE,
        cut_short=cut_short,
        start_fen=start_fen,
        ucis=ucis,
        sans=sans,
        ply_here=ply_here,
    )


def _digits(number: int | None, width: int) -> str:
    """Part of a date as PGN writes it (8.1.1.3)."""
    return "?" * width if number is None else f"{number:0{width}}"
