"""Reading the ledger: the collections, and what became of the games of their files."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from duckdb import DuckDBPyConnection

from ingest import schema
from ingest.driver import driver_errors
from ingest.errors import UsageError, shown


@dataclass(frozen=True, slots=True)
class Collection:
    """A collection and what it holds. ``first`` and ``last`` are years, if any is known."""

    name: str
    files: int
    games: int
    players: int
    rejected: int
    first: int | None
    last: int | None


@dataclass(frozen=True, slots=True)
class Reject:
    """One line of the ledger. ``kind`` is rejected, cut short, duplicate or noted."""

    collection: str
    file: str
    game_number: int
    line: int
    kind: str
    reason: str
    excerpt: str


@dataclass(frozen=True, slots=True)
class ReadFile:
    """A file that was read, and what became of its games: found = the other four together."""

    collection: str
    name: str
    found: int
    added: int
    duplicates: int
    rejected: int
    left_out: int
    cut_short: int


_COLLECTIONS = """
WITH held AS (
    SELECT collection_id, count(*) AS games, min(year) AS first, max(year) AS last
    FROM memberships JOIN games ON games.id = game_id GROUP BY collection_id
), named AS (
    SELECT collection_id, count(DISTINCT player) AS players FROM (
        SELECT collection_id, unnest([white_id, black_id]) AS player
        FROM memberships JOIN games ON games.id = game_id
    ) GROUP BY collection_id
), read AS (
    SELECT collection_id, count(*) AS files, sum(rejected) AS rejected
    FROM files GROUP BY collection_id
)
SELECT name, coalesce(files, 0), coalesce(games, 0), coalesce(players, 0),
    coalesce(rejected, 0)::BIGINT, first, last
FROM collections
LEFT JOIN held ON held.collection_id = id
LEFT JOIN named ON named.collection_id = id
LEFT JOIN read ON read.collection_id = id
ORDER BY name
"""

_REJECTS = """
SELECT collections.name, files.name, game_number, line, kind, reason, excerpt
FROM rejects JOIN files ON files.id = file_id JOIN collections ON collections.id = collection_id
WHERE $collection IS NULL OR collections.name = $collection
ORDER BY collections.name, files.name, files.id, game_number, kind, reason
LIMIT $top OFFSET $skip
"""

_FILES = """
SELECT collections.name, files.name, found, added, duplicates, rejected, left_out, cut_short
FROM files JOIN collections ON collections.id = collection_id
ORDER BY collections.name, files.name, files.id
LIMIT $1
"""

EVERY = 2**62


def collections(library: Path) -> list[Collection]:
    """The collections of a library by name. Raises what `schema.open_for_reading` raises."""
    with driver_errors(library), schema.open_for_reading(library) as connection:
        return collections_of(connection)


def collections_of(connection: DuckDBPyConnection) -> list[Collection]:
    """The same from an open library."""
    return [Collection(*row) for row in connection.execute(_COLLECTIONS).fetchall()]


def files_of(connection: DuckDBPyConnection, top: int) -> list[ReadFile]:
    """The files that were read into an open library, by collection and name, at most ``top``."""
    return [ReadFile(*row) for row in connection.execute(_FILES, [top]).fetchall()]


def rejects(library: Path, collection: str | None = None) -> list[Reject]:
    """The ledger's lines about single games, by collection, file and number.

    UsageError when there is no such collection.
    """
    with driver_errors(library), schema.open_for_reading(library) as connection:
        return rejects_of(connection, collection)


def rejects_of(
    connection: DuckDBPyConnection, collection: str | None = None, top: int = EVERY, skip: int = 0
) -> list[Reject]:
    """The same from an open library: at most ``top`` lines, after the first ``skip``."""
    names = [name for (name,) in connection.execute("SELECT name FROM collections").fetchall()]
    if collection is not None and collection not in names:
        known = ", ".join(map(shown, sorted(names))) or "none"
        raise UsageError(
            f"collection {shown(collection)!r}: there is none of that name; there are: {known}"
        )
    asked = {"collection": collection, "top": top, "skip": skip}
    return [Reject(*row) for row in connection.execute(_REJECTS, asked).fetchall()]
