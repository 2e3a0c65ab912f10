"""One game, each of its moves with how common it is at its position."""

from __future__ import annotations

from dataclasses import dataclass

import chess
from duckdb import DuckDBPyConnection

from explorer.positions.position import position_of
from explorer.query.filters import Filters
from explorer.query.games import rows_at
from explorer.query.lesson_shares import visits_at_all
from explorer.query.library import Facts, Library
from explorer.query.mistake_model import Rate
from explorer.query.model import GameRow, Source
from explorer.query.moves import pack
from explorer.query.origin import source_of
from explorer.query.pairs import PLAYER
from explorer.query.sums import rate_of
from explorer.query.where import where
from ingest.errors import NothingFound
from ingest.poskey import key_of

HIGHEST_ID = 2**32 - 1


@dataclass(frozen=True, slots=True)
class GameAnswer:
    """A game. ``rates`` are how often each of its moves is played by the chosen players who
    went on from its position: one a ply, to where the library's games end."""

    row: GameRow
    filters: Filters
    source: Source
    rates: tuple[Rate, ...]


def game(library: Library, number: int, filters: Filters) -> GameAnswer:
    """The game of this id. NothingFound when there is none.

    ``filters`` choose the games that its moves are set beside; the game itself may be none
    of them.
    """
    with library.reading() as (cursor, facts):
        rows = _row(cursor, number)
        if not rows:
            raise NothingFound(f"game {number}: there is none of that number in the library")
        board = chess.Board(rows[0].start_fen or chess.STARTING_FEN)
        start = position_of(board)
        rates = _rates(cursor, facts, board, rows[0].ucis[: facts.plies], filters)
        chosen = where(cursor, facts, filters)
        source = source_of(cursor, facts, start, filters, chosen)
    return GameAnswer(rows[0], filters, source, rates)


def _row(cursor: DuckDBPyConnection, number: int) -> tuple[GameRow, ...]:
    sql = "SELECT id, 0, 0 FROM games WHERE id = $1"
    found = cursor.execute(sql, [number]).fetchall() if 0 <= number <= HIGHEST_ID else []
    return rows_at(cursor, found)


def _rates(
    cursor: DuckDBPyConnection,
    facts: Facts,
    board: chess.Board,
    ucis: tuple[str, ...],
    filters: Filters,
) -> tuple[Rate, ...]:
    """How often each move is played. A position that comes again is asked about once."""
    keys, moves = [], []
    for uci in ucis:
        keys.append(key_of(board))
        moves.append(pack(board.push_uci(uci)))
    asked = list(dict.fromkeys(zip(keys, moves, strict=True)))
    found = dict(zip(asked, _asked(cursor, facts, asked, filters), strict=True))
    return tuple(found[pair] for pair in zip(keys, moves, strict=True))


def _asked(
    cursor: DuckDBPyConnection, facts: Facts, pairs: list[tuple[int, int]], filters: Filters
) -> list[Rate]:
    """The rates of moves at positions, in their order; players are the sample."""
    if not pairs:
        return []
    chosen = where(cursor, facts, filters)
    distinct = list(dict.fromkeys(key for key, _ in pairs))
    visits = visits_at_all(cursor, distinct, f"move, {PLAYER} AS player", chosen.sql)
    rows = cursor.execute(
        f"""
        WITH by_player AS (
            SELECT pairs.place, player, count(*) AS n, count(*) FILTER (here.move = pairs.move) AS k
            FROM ({visits}) here
            JOIN (SELECT unnest($places) AS place, unnest($numbers) AS number,
                unnest($moves) AS move) pairs USING (number)
            GROUP BY pairs.place, player)
        SELECT place, sum(k), sum(n), sum(k * k), sum(k * n), sum(n * n),
            count(*), count(*) FILTER (k > 0), max(k) FILTER (player > 0)
        FROM by_player GROUP BY place
        """,
        {
            **chosen.params,
            "places": list(range(len(pairs))),
            "numbers": [distinct.index(key) for key, _ in pairs],
            "moves": [move for _, move in pairs],
        },
    ).fetchall()
    by_place = {place: sums for place, *sums in rows}
    return [_rate(by_place.get(place)) for place in range(len(pairs))]


def _rate(sums: list[int] | None) -> Rate:
    if sums is None:
        return Rate(0, 0, 0, None, None, None)
    k, n, kk, kn, nn, players, case_players, top = (float(number or 0) for number in sums)
    return rate_of(k, n, [kk, kn, nn], int(players), int(case_players), int(top)).rate
