"""Whether a library keeps its promises."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import chess
import duckdb

from ingest import schema
from ingest.driver import driver_errors
from ingest.poskey import key_of

SAMPLE = 200  # games replayed
TWINS_LISTED = 50
MEMORY_LIMIT = "1GB"  # it sorts and counts the whole library at once
TWIN_PLIES = 10  # a shorter beginning says nothing

# Counts of rows that must not be there, with the sentence that says so.
_NONE_OF: tuple[tuple[str, str], ...] = (
    (
        "files whose counts do not add up",
        "FROM files WHERE found <> added + duplicates + rejected + left_out OR cut_short > added",
    ),
    (
        "files whose records are not all there",
        "FROM files WHERE added + duplicates <> "
        "(SELECT count(*) FROM records WHERE file_id = files.id)",
    ),
    (
        "files whose rejected games are not all named",
        "FROM files WHERE rejected <> "
        "(SELECT count(*) FROM rejects WHERE file_id = files.id AND kind = 'rejected')",
    ),
    (
        "memberships without a record, or twice",
        "FROM (SELECT game_id, collection_id FROM memberships EXCEPT ALL "
        "SELECT DISTINCT game_id, collection_id FROM records JOIN files ON files.id = file_id)",
    ),
    (
        "records without a membership",
        "FROM (SELECT DISTINCT game_id, collection_id FROM records "
        "JOIN files ON files.id = file_id EXCEPT SELECT game_id, collection_id FROM memberships)",
    ),
    ("games in no collection", "FROM games ANTI JOIN memberships ON game_id = id"),
    ("games without visits", "FROM games ANTI JOIN visits ON game_id = id"),
    (
        "games with more visits than positions",
        "FROM (SELECT game_id, count(*) AS n FROM visits GROUP BY game_id) "
        "JOIN games ON id = game_id WHERE n > plies + 1",
    ),
    (
        "visits beyond the library's plies or their game's end",
        "FROM visits JOIN games ON games.id = game_id "
        "WHERE ply >= (SELECT value::INTEGER FROM meta WHERE name = 'plies') "
        "OR (move = 0) <> (ply = plies) OR (move = 0 AND cut_short)",
    ),
    (
        "visits that differ from their game in rating, pace or date",
        "FROM visits JOIN games ON games.id = game_id "
        "WHERE visits.pace <> games.pace OR visits.played IS DISTINCT FROM games.played "
        "OR NOT ((mover_rating IS NOT DISTINCT FROM white_rating "
        "AND opponent_rating IS NOT DISTINCT FROM black_rating "
        "AND mover_id IS NOT DISTINCT FROM white_id "
        "AND half_points IS NOT DISTINCT FROM result) "
        "OR (mover_rating IS NOT DISTINCT FROM black_rating "
        "AND opponent_rating IS NOT DISTINCT FROM white_rating "
        "AND mover_id IS NOT DISTINCT FROM black_id "
        "AND half_points IS NOT DISTINCT FROM 2::UTINYINT - result))",
    ),
    (
        "runs that are not as long or wide as they claim",
        "FROM (SELECT run, count(*) AS n, min(key) AS low, max(key) AS high "
        "FROM visits GROUP BY run) FULL JOIN runs ON run = id "
        "WHERE (n, low, high) IS DISTINCT FROM (rows, first_key, last_key)",
    ),
    (
        "visits out of order in their run",
        # Without an ORDER BY rows come as they lie, which is what is asked here; ordered
        # by rowid it takes four times as long and 600 MB more at nine million visits.
        "FROM (SELECT run, (key, move, game_id) AS place, lag(run) OVER () AS run_before, "
        "lag((key, move, game_id)) OVER () AS place_before FROM visits) "
        "WHERE run < run_before OR (run = run_before AND place <= place_before)",
    ),
    (
        "positions miscounted",
        "FROM (SELECT key, count(*) AS n FROM visits GROUP BY key HAVING n >= 5) "
        # Not yet summed: an `add` was broken off; the next one sums them.
        "FULL JOIN positions USING (key) WHERE n IS DISTINCT FROM games "
        "AND (SELECT coalesce(bool_and(summed), true) FROM runs)",
    ),
)

# (table, column, table that the number must be found in)
_POINTERS = (
    ("games", "white_id", "players"),
    ("games", "black_id", "players"),
    ("visits", "mover_id", "players"),
    ("visits", "game_id", "games"),
    ("memberships", "game_id", "games"),
    ("memberships", "collection_id", "collections"),
    ("memberships", "file_id", "files"),
    ("records", "game_id", "games"),
    ("records", "file_id", "files"),
    ("rejects", "file_id", "files"),
    ("files", "collection_id", "collections"),
)
_UNIQUE = ("games", "players", "collections", "files", "runs")


@dataclass(frozen=True, slots=True)
class Twin:
    """Two games that are probably one: same players and date, one mainline begins the other."""

    white: str
    black: str
    date: str
    plies: int
    other_plies: int
    game_id: int
    other_id: int


@dataclass(frozen=True, slots=True)
class VerifyReport:
    """What `verify` found. A sound library has no problems; twins are only a hint."""

    games: int
    visits: int
    replayed: int
    problems: tuple[str, ...]
    twins: tuple[Twin, ...]
    twins_in_all: int


def verify(library: Path) -> VerifyReport:
    """Check a library's invariants. Raises what `schema.open_for_reading` raises."""
    with driver_errors(library), schema.open_for_reading(library) as connection:
        connection.execute(f"SET memory_limit = '{MEMORY_LIMIT}'")
        problems = [*_broken_rules(connection), *_dangling(connection)]
        sample = _sample(connection)
        problems += _replay_problems(connection, sample)
        twins, in_all = _twins(connection)
        counts = [
            int(connection.execute(f"SELECT count(*) FROM {table}").fetchall()[0][0])
            for table in ("games", "visits")
        ]
    return VerifyReport(counts[0], counts[1], len(sample), tuple(problems), twins, in_all)


def _broken_rules(connection: duckdb.DuckDBPyConnection) -> list[str]:
    found = []
    for sentence, rows in _NONE_OF:
        (number,) = connection.execute(f"SELECT count(*) {rows}").fetchall()[0]
        if number:
            found.append(f"{sentence}: {number}")
    return found


def _dangling(connection: duckdb.DuckDBPyConnection) -> list[str]:
    found = []
    for table, column, target in _POINTERS:
        (number,) = connection.execute(
            f"SELECT count(*) FROM {table} ANTI JOIN {target} ON {target}.id = {column} "
            f"WHERE {column} IS NOT NULL"
        ).fetchall()[0]
        if number:
            found.append(f"{table} whose {column} is not among the {target}: {number}")
    for table in _UNIQUE:
        (number,) = connection.execute(
            f"SELECT count(*) - count(DISTINCT id) FROM {table}"
        ).fetchall()[0]
        if number:
            found.append(f"{table} with a number that another has: {number}")
    return found


_SampleRow = tuple[int, str | None, list[int], bool]


def _sample(connection: duckdb.DuckDBPyConnection) -> list[_SampleRow]:
    """The same games every time, spread over the library."""
    return connection.execute(
        f"SELECT id, start_fen, mainline, cut_short FROM games ORDER BY hash(id), id LIMIT {SAMPLE}"
    ).fetchall()


def _replay_problems(connection: duckdb.DuckDBPyConnection, sample: list[_SampleRow]) -> list[str]:
    plies = int(schema.read_meta(connection)["plies"])
    stored: dict[int, set[tuple[int, int, int, int]]] = {row[0]: set() for row in sample}
    for game, *visit in connection.execute(
        "SELECT game_id, key, move, piece, ply FROM visits "
        "WHERE game_id IN (SELECT unnest($games))",
        {"games": list(stored)},
    ).fetchall():
        stored[game].add((visit[0], visit[1], visit[2], visit[3]))
    wrong = [row[0] for row in sample if _visits_by_replay(row, plies) != stored[row[0]]]
    if not wrong:
        return []
    named = ", ".join(map(str, sorted(wrong)[:5]))
    return [f"games whose visits are not those of their mainline: {len(wrong)} (ids {named})"]


def _visits_by_replay(row: _SampleRow, plies: int) -> set[tuple[int, int, int, int]] | None:
    """(key, move, piece, ply) of each first arrival; None when a move is illegal."""
    _, start_fen, mainline, cut_short = row
    board = chess.Board(start_fen) if start_fen else chess.Board()
    visits: dict[int, tuple[int, int, int, int]] = {}
    for ply in range(min(len(mainline) + 1, plies)):
        key = key_of(board)
        if ply == len(mainline):
            if not cut_short:
                visits.setdefault(key, (key, 0, _ending(board), ply))
            break
        packed = mainline[ply]
        move = chess.Move(packed & 63, packed >> 6 & 63, packed >> 12 or None)
        if not board.is_legal(move):
            return None
        visits.setdefault(key, (key, packed, board.piece_type_at(move.from_square) or 0, ply))
        board.push(move)
    return set(visits.values())


def _ending(board: chess.Board) -> int:
    if board.is_checkmate():
        return schema.END_CHECKMATE
    return schema.END_STALEMATE if board.is_stalemate() else schema.END_OF_RECORD


_TWINS = f"""
FROM games AS one JOIN games AS other
ON one.white_id = other.white_id AND one.black_id = other.black_id AND one.id <> other.id
AND (one.plies < other.plies OR (one.plies = other.plies AND one.id < other.id))
AND one.plies >= {TWIN_PLIES}
AND coalesce(one.year = other.year, true) AND coalesce(one.month = other.month, true)
AND coalesce(one.day = other.day, true)
AND one.start_fen IS NOT DISTINCT FROM other.start_fen
AND one.mainline = other.mainline[1:one.plies]
JOIN players AS white ON white.id = one.white_id
JOIN players AS black ON black.id = one.black_id
"""


def _twins(connection: duckdb.DuckDBPyConnection) -> tuple[tuple[Twin, ...], int]:
    (in_all,) = connection.execute(f"SELECT count(*) {_TWINS}").fetchall()[0]
    rows = connection.execute(
        "SELECT white.name, black.name, concat_ws('.', other.year, other.month, other.day), "
        f"one.plies, other.plies, one.id, other.id {_TWINS} "
        f"ORDER BY white.name, black.name, one.id, other.id LIMIT {TWINS_LISTED}"
    ).fetchall()
    return tuple(Twin(*row) for row in rows), int(in_all)
