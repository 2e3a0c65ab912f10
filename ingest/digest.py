"""One number for all that a library says, however it came to say it."""

from __future__ import annotations

from hashlib import sha256
from pathlib import Path

import duckdb

from ingest import schema
from ingest.driver import driver_errors

# Left out: ids, physical order, the fingerprints and the hashes of forgotten names
# (their key is secret and differs from library to library), and what depends on which
# of two files came first: how the ledger divides added and duplicates, the name of a
# file that came under two.
_SAME = "if(starts_with({0}.same, '?'), '?', {0}.same)"
_GAME = f"""
CREATE TEMP VIEW said AS
SELECT games.id, hash({_SAME.format("white")}, {_SAME.format("black")},
    white.name, black.name, white_rating, black_rating, rating_scale,
    result, played, year, month, day, event, site, round,
    time_control, pace, termination, start_fen, ending, cut_short, plies, mainline,
    source, game_number) AS game
FROM games
LEFT JOIN players AS white ON white.id = white_id
LEFT JOIN players AS black ON black.id = black_id
"""

_TABLES = {
    "meta": (
        "SELECT if(starts_with(name, 'forgotten'), hash(1), hash(name, value)) AS row FROM meta "
        "WHERE name IN ('schema_version', 'plies') OR regexp_matches(name, '^forgotten [0-9a-f]+$')"
    ),
    "players": f"SELECT hash(name, {_SAME.format('players')}) AS row FROM players",
    "games": "SELECT game AS row FROM said",
    "visits": (
        f"SELECT hash(key, move, piece, ply, game, {_SAME.format('players')}, mover_rating, "
        "opponent_rating, half_points, pace, played, swing, mated) AS row "
        "FROM visits JOIN said ON said.id = game_id LEFT JOIN players ON players.id = mover_id"
    ),
    "positions": "SELECT hash(key, games) AS row FROM positions",
    "memberships": (
        "SELECT hash(game, name) AS row FROM memberships "
        "JOIN said ON said.id = game_id JOIN collections ON collections.id = collection_id"
    ),
    "records": (
        "SELECT hash(game, sha256, options, collections.name, game_number, year, month, day) "
        "AS row FROM records JOIN said ON said.id = game_id JOIN files ON files.id = file_id "
        "JOIN collections ON collections.id = collection_id"
    ),
    "files": (
        "SELECT hash(collections.name, sha256, options, encoding, found, "
        "added + duplicates, rejected, left_out) AS row "
        "FROM files JOIN collections ON collections.id = collection_id"
    ),
    "rejects": (
        "SELECT hash(collections.name, sha256, options, game_number, line, kind, reason, excerpt) "
        "AS row FROM rejects JOIN files ON files.id = file_id "
        "JOIN collections ON collections.id = collection_id WHERE kind <> 'duplicate'"
    ),
}


def digest(library: Path) -> str:
    """64 hexadecimal digits, equal for two libraries that say the same.

    Comparable within one version of DuckDB. Raises what
    `schema.open_for_reading` raises.
    """
    with driver_errors(library), schema.open_for_reading(library) as connection:
        return digest_of(connection)


def digest_of(connection: duckdb.DuckDBPyConnection) -> str:
    """The same through an open connection."""
    lines = [f"{table} {found}" for table, found in table_sums(connection).items()]
    return sha256("\n".join(lines).encode()).hexdigest()


def table_sums(connection: duckdb.DuckDBPyConnection) -> dict[str, tuple[object, ...]]:
    """What each table says: the number of its rows, and the sum of their hashes.

    A sum does not care for the order, and keeps equal rows apart from none.
    """
    connection.execute(_GAME)
    sums = {
        table: connection.execute(f"SELECT count(*), sum(row) FROM ({rows})").fetchall()[0]
        for table, rows in _TABLES.items()
    }
    connection.execute("DROP VIEW said")
    return sums
