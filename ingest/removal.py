"""Taking a collection out of a library again."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import duckdb

from ingest import locks, runs, schema, settling
from ingest.driver import driver_errors
from ingest.errors import NothingFound, UsageError, shown


@dataclass(frozen=True, slots=True)
class Removal:
    """What `remove_collection` took out: files, games, and games kept for other collections."""

    files: int
    games: int
    kept: int


def remove_collection(library: Path, name: str) -> Removal:
    """Remove a collection: its files, and the games that no other collection has.

    A game that stays keeps the tags it has. UsageError when there is no such
    collection; LibraryError and its kinds when the library cannot be changed.
    """
    with locks.held(library), driver_errors(library):
        connection = schema.open_for_writing(library)
        try:
            with schema.transaction(connection):
                removal = _remove(connection, _find(connection, name))
        finally:
            connection.close()
        runs.tidy(library)
    return removal


def _find(connection: duckdb.DuckDBPyConnection, name: str) -> int:
    rows = connection.execute("SELECT id, name FROM collections ORDER BY name").fetchall()
    for number, known in rows:
        if known == name:
            return int(number)
    if not rows:
        raise NothingFound(f"collection {shown(name)!r}: the library has no collections")
    names = ", ".join(shown(known) for _, known in rows)
    raise UsageError(f"collection {shown(name)!r}: there is none of that name; there are: {names}")


def _remove(connection: duckdb.DuckDBPyConnection, collection: int) -> Removal:
    def count(sql: str) -> int:
        return int(connection.execute(sql).fetchall()[0][0])

    members = count(f"SELECT count(*) FROM memberships WHERE collection_id = {collection}")
    files = count(f"SELECT count(*) FROM files WHERE collection_id = {collection}")
    before = count("SELECT count(*) FROM games")
    its_files = f"(SELECT id FROM files WHERE collection_id = {collection})"
    for table in ("records", "rejects"):
        connection.execute(f"DELETE FROM {table} WHERE file_id IN {its_files}")
    connection.execute(f"DELETE FROM memberships WHERE collection_id = {collection}")
    connection.execute(f"DELETE FROM files WHERE collection_id = {collection}")
    connection.execute(f"DELETE FROM collections WHERE id = {collection}")
    if settling.delete_unrecorded(connection):
        runs.recount_runs(connection)
        runs.sum_all_positions(connection)
    gone = before - count("SELECT count(*) FROM games")
    return Removal(files, gone, members - gone)
