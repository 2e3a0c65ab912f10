"""The SQL of one file's transaction: insertions, and what follows from them.

Everything here runs inside the transaction of the caller.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import duckdb
import pyarrow as pa

from ingest.duplicates import DATE_CODE
from ingest.rows import NO_DAY, NO_HALF_POINTS, NO_SWING

_PLAYED = f"DATE '1970-01-01' + nullif(played, {NO_DAY})"

# Tags of a game that a better record of it replaces.
_TAGS = (
    "white_rating, black_rating, rating_scale, played, year, month, day, "
    "event, site, round, time_control, pace, termination, source, game_number"
)
_TAGS_READ = (
    f"nullif(white_rating, 0), nullif(black_rating, 0), $rating_scale, {_PLAYED}, "
    "nullif(year, 0), nullif(month, 0), nullif(day, 0), "
    "event, site, round, time_control, pace, termination, $source, game_number"
)

_INSERTS = {
    "visits": (
        "INSERT INTO visits SELECT key, move, piece, ply, game_id, nullif(mover_id, 0), "
        "nullif(mover_rating, 0), nullif(opponent_rating, 0), "
        f"nullif(half_points, {NO_HALF_POINTS}), pace, {_PLAYED}, nullif(swing, {NO_SWING}), "
        "mated::BOOLEAN, $run FROM arriving"
    ),
    "games": (
        f"INSERT INTO games (id, white_id, black_id, result, {_TAGS}, start_fen, ending, "
        "cut_short, plies, mainline, fingerprint) "
        f"SELECT id, nullif(white_id, 0), nullif(black_id, 0), nullif(result, -1), {_TAGS_READ}, "
        "start_fen, ending, cut_short::BOOLEAN, plies, mainline, fingerprint FROM arriving"
    ),
    "replaced": (
        f"INSERT INTO replaced (id, white_begins, {_TAGS}) "
        f"SELECT id, white_begins, {_TAGS_READ} FROM arriving"
    ),
    "records": (
        "INSERT INTO records SELECT game_id, $file_id, game_number, year, month, day FROM arriving"
    ),
    "positions": "INSERT INTO positions SELECT key, games FROM arriving",
    "rejects": (
        "INSERT INTO rejects "
        "SELECT $file_id, game_number, line, kind, reason, excerpt FROM arriving"
    ),
}


def insert(
    connection: duckdb.DuckDBPyConnection,
    table: str,
    arrow_tables: Sequence[pa.Table],
    constants: Mapping[str, object],
) -> None:
    """Append Arrow tables of one shape to a table of the library, without copies.

    DuckDB finds ``arriving`` among the variables here. What is registered by
    name instead would stay in memory until the transaction ends.
    """
    if arrow_tables:
        arriving = pa.concat_tables(arrow_tables)  # noqa: F841
        connection.execute(_INSERTS[table], dict(constants))


def begin(connection: duckdb.DuckDBPyConnection) -> None:
    """Make room for the better tags that a file may bring."""
    connection.execute(
        "CREATE OR REPLACE TEMP TABLE replaced AS "
        f"SELECT id, true AS white_begins, {_TAGS} FROM games LIMIT 0"
    )


def give_way(connection: duckdb.DuckDBPyConnection) -> None:
    """Let stored games take the better tags that came for them, and their visits too."""
    connection.execute(
        "CREATE OR REPLACE TEMP TABLE winning AS SELECT * FROM replaced "
        "QUALIFY row_number() OVER (PARTITION BY id ORDER BY rowid DESC) = 1"
    )
    connection.execute("DROP TABLE replaced")
    (any_come,) = connection.execute("SELECT count(*) FROM winning").fetchall()[0]
    if any_come:
        shown = ("white_rating", "black_rating", "pace", "played")
        differ = " OR ".join(f"games.{tag} IS DISTINCT FROM winning.{tag}" for tag in shown)
        connection.execute(
            "CREATE OR REPLACE TEMP TABLE shown AS SELECT winning.* FROM winning "
            f"JOIN games USING (id) WHERE {differ}"
        )
        connection.execute(
            "UPDATE visits SET pace = shown.pace, played = shown.played, "
            "mover_rating = CASE WHEN (ply % 2 = 0) = white_begins "
            "THEN white_rating ELSE black_rating END, "
            "opponent_rating = CASE WHEN (ply % 2 = 0) = white_begins "
            "THEN black_rating ELSE white_rating END "
            "FROM shown WHERE visits.game_id = shown.id"
        )
        tags = ", ".join(f"{tag} = winning.{tag}" for tag in _TAGS.split(", "))
        connection.execute(f"UPDATE games SET {tags} FROM winning WHERE games.id = winning.id")
        connection.execute("DROP TABLE shown")
    connection.execute("DROP TABLE winning")


def join(connection: duckdb.DuckDBPyConnection, file_id: int, apart: Sequence[int]) -> bool:
    """Enter the file's games in its collection.

    ``apart`` are new games beside which games of other dates stand: vaguer
    records may move to them. True when a game lost its last record by that.
    """
    connection.execute(
        "INSERT INTO memberships "
        "SELECT DISTINCT game_id, collection_id, file_id "
        "FROM records JOIN files ON files.id = file_id "
        "ANTI JOIN memberships AS there "
        "ON there.game_id = records.game_id AND there.collection_id = files.collection_id "
        f"WHERE file_id = {file_id}"
    )
    return bool(apart) and _move_vaguer(connection, apart)


def _move_vaguer(connection: duckdb.DuckDBPyConnection, apart: Sequence[int]) -> bool:
    """Put each vaguer record under the earliest game that refines its date."""
    connection.execute(
        "CREATE OR REPLACE TEMP TABLE alike AS "
        f"SELECT id, fingerprint, {DATE_CODE} AS date FROM games WHERE fingerprint IN "
        "(SELECT fingerprint FROM games WHERE id IN (SELECT unnest($apart)))",
        {"apart": list(apart)},
    )
    connection.execute(
        "CREATE OR REPLACE TEMP TABLE moving AS "
        "SELECT file_id, game_number, any_value(game_id) AS was, "
        "arg_min(other.id, other.date) AS game_id "
        f"FROM (SELECT *, {DATE_CODE} AS date FROM records) AS record "
        "JOIN alike AS mine ON mine.id = game_id "
        "JOIN alike AS other ON other.fingerprint = mine.fingerprint "
        "AND (record.date IN (0, other.date) "
        "OR record.date % 10000 = 0 AND record.date // 10000 = other.date // 10000 "
        "OR record.date % 100 = 0 AND record.date // 100 = other.date // 100) "
        "GROUP BY file_id, game_number HAVING was <> game_id"
    )
    touched = "(SELECT was FROM moving UNION SELECT game_id FROM moving)"
    connection.execute(
        "UPDATE records SET game_id = moving.game_id FROM moving "
        "WHERE records.file_id = moving.file_id AND records.game_number = moving.game_number"
    )
    connection.execute(f"DELETE FROM memberships WHERE game_id IN {touched}")
    connection.execute(
        "INSERT INTO memberships SELECT game_id, collection_id, min(file_id) "
        f"FROM records JOIN files ON files.id = file_id WHERE game_id IN {touched} "
        "GROUP BY game_id, collection_id"
    )
    connection.execute("DROP TABLE alike")
    connection.execute("DROP TABLE moving")
    return delete_unrecorded(connection)


def delete_unrecorded(connection: duckdb.DuckDBPyConnection) -> bool:
    """Delete games without a record, their visits, and players without a game.

    True when there were such games. `runs` and `positions` are left to be brought
    up to date: the runs are marked as not summed.
    """
    connection.execute(
        "CREATE OR REPLACE TEMP TABLE gone AS "
        "SELECT id FROM games ANTI JOIN records ON id = game_id"
    )
    (number,) = connection.execute("SELECT count(*) FROM gone").fetchall()[0]
    if number:
        connection.execute("DELETE FROM visits WHERE game_id IN (SELECT id FROM gone)")
        connection.execute("DELETE FROM games WHERE id IN (SELECT id FROM gone)")
        connection.execute(
            "DELETE FROM players WHERE id NOT IN ("
            "SELECT white_id FROM games WHERE white_id IS NOT NULL "
            "UNION SELECT black_id FROM games WHERE black_id IS NOT NULL)"
        )
        connection.execute("UPDATE runs SET summed = false")
    connection.execute("DROP TABLE gone")
    return bool(number)
