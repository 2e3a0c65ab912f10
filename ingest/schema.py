"""The library's tables, their version, and how a library is opened.

Never open(), hash or copy the library's file in a process that has it
connected: closing that handle drops DuckDB's lock on the file (POSIX).

History of the schema, one line a version:
1  the first.
"""

from __future__ import annotations

import os
import secrets
import shutil
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from importlib.metadata import version
from pathlib import Path

import duckdb

from ingest import locks
from ingest.driver import MISSING, driver_errors
from ingest.errors import LibraryBusy, LibraryMissing, LibraryVersion, UsageError

SCHEMA_VERSION = 1
DEFAULT_PLIES = 40
MOST_PLIES = 255  # `visits.ply` is one byte

MEMORY_LIMIT = "300MB"  # of DuckDB; the arrays of an `add` come on top
THREADS = min(4, os.cpu_count() or 1)
EXCERPT = 200  # characters of a game's text in `rejects`
LEAST_GAMES = 5  # of a position in `positions`
READER_PATIENCE = 2.0  # seconds
RETRY_AFTER = 0.05

# What a visit's `piece` says when `move` is 0: why the record stops there.
END_OF_RECORD = 0
END_CHECKMATE = 7
END_STALEMATE = 8

DDL = """
-- One value a name: schema_version, plies, fingerprint_key (hex, secret of this library), made_by;
-- and hashes of forgotten names, keyed with that secret, as `tombstones` writes them.
CREATE TABLE meta (name VARCHAR NOT NULL, value VARCHAR NOT NULL);

-- A named group of games added together.
CREATE TABLE collections (id UINTEGER NOT NULL, name VARCHAR NOT NULL);

-- Which games belong to which collections, once each, and the file that first
-- brought them there. Follows from `records`; kept for the queries.
CREATE TABLE memberships (
    game_id UINTEGER NOT NULL, collection_id UINTEGER NOT NULL, file_id UINTEGER NOT NULL
);

-- A player's name once, in its best spelling; `same` is the form that is compared
-- (no case, accents, spacing or comma order). A forgotten player is called "a player",
-- and `same` is a question mark and a keyed hash, which no name is compared as.
CREATE TABLE players (id UINTEGER NOT NULL, name VARCHAR NOT NULL, same VARCHAR NOT NULL);

CREATE TABLE games (
    id UINTEGER NOT NULL,
    white_id UINTEGER,               -- NULL: the tag gives no name
    black_id UINTEGER,
    white_rating USMALLINT,          -- NULL: unrated
    black_rating USMALLINT,
    rating_scale VARCHAR,            -- add --rating-scale; NULL: not said
    result UTINYINT,                 -- half points of White: 2, 1, 0; NULL: unknown
    played DATE,                     -- NULL when the tag is too vague
    year USMALLINT,                  -- kept even when the date is vague
    month UTINYINT,
    day UTINYINT,
    event VARCHAR, site VARCHAR, round VARCHAR,
    time_control VARCHAR,
    pace UTINYINT NOT NULL,          -- tags.Pace
    termination VARCHAR,             -- only the PGN standard's values (9.8.1)
    start_fen VARCHAR,               -- NULL: the normal starting position
    ending UTINYINT NOT NULL,        -- END_OF_RECORD, END_CHECKMATE or END_STALEMATE
    cut_short BOOLEAN NOT NULL,      -- the text could not be read beyond the mainline kept here
    plies UINTEGER NOT NULL,         -- length of the mainline
    mainline USMALLINT[] NOT NULL,   -- the whole mainline, packed as in `visits`
    fingerprint UBIGINT NOT NULL,    -- keyed hash of names, result and mainline, for duplicates
    source VARCHAR NOT NULL,         -- whose tags these are: a file's SHA-256, what was supplied
    game_number UINTEGER NOT NULL    -- the game's number in that file
);

-- Every record of a game that was read, its own and its duplicates', with the date
-- as that record gives it (0: not given). A vaguer record stands under the earliest
-- game of the same fingerprint whose date refines its own.
CREATE TABLE records (
    game_id UINTEGER NOT NULL, file_id UINTEGER NOT NULL, game_number UINTEGER NOT NULL,
    year USMALLINT NOT NULL, month UTINYINT NOT NULL, day UTINYINT NOT NULL
);

-- The heart: one row per game per position, for the first N plies; a game's
-- first arrival only. Sorted by (key, move, game_id) within each run.
CREATE TABLE visits (
    key UBIGINT NOT NULL,            -- position before the move
    move USMALLINT NOT NULL,         -- from + 64 * to + 4096 * promotion; 0: the record stops here
    piece UTINYINT NOT NULL,         -- what moves, 1-6 (pawn to king); with move 0 an END_ value
    ply UTINYINT NOT NULL,           -- 0 at the game's first position
    game_id UINTEGER NOT NULL,
    mover_id UINTEGER,
    mover_rating USMALLINT,
    opponent_rating USMALLINT,
    half_points UTINYINT,            -- of the mover; NULL: result unknown
    pace UTINYINT NOT NULL,
    played DATE,
    swing TINYINT,                   -- pawns, for the mover; NULL: cut short, mated, or no move
    mated BOOLEAN NOT NULL,          -- the mover is mated within the window
    run USMALLINT NOT NULL           -- the sorted run that the row lies in; costs next to no space
);

-- The sorted runs that `visits` consists of, oldest first: rows lie in this order.
-- `summed`: `positions` counts these visits already.
CREATE TABLE runs (
    id USMALLINT NOT NULL, rows UBIGINT NOT NULL,
    first_key UBIGINT NOT NULL, last_key UBIGINT NOT NULL, summed BOOLEAN NOT NULL
);

-- Positions that at least five games reached; refreshed when an `add` ends.
CREATE TABLE positions (key UBIGINT NOT NULL, games UINTEGER NOT NULL);

-- The ledger: one row per source read.
-- found = added + duplicates + rejected + left_out, always; cut_short are among the added.
CREATE TABLE files (
    id UINTEGER NOT NULL,
    collection_id UINTEGER NOT NULL,
    name VARCHAR NOT NULL,
    sha256 VARCHAR NOT NULL,
    options VARCHAR NOT NULL,        -- the options of `add` that change what is stored
    encoding VARCHAR NOT NULL,
    found UINTEGER NOT NULL, added UINTEGER NOT NULL, duplicates UINTEGER NOT NULL,
    rejected UINTEGER NOT NULL, left_out UINTEGER NOT NULL, cut_short UINTEGER NOT NULL
);

CREATE TABLE rejects (
    file_id UINTEGER NOT NULL,
    game_number UINTEGER NOT NULL,   -- in the file, from 1
    line UINTEGER NOT NULL,          -- where the game begins, from 1
    kind VARCHAR NOT NULL,           -- 'rejected', 'cut short', 'duplicate' or 'noted'
    reason VARCHAR NOT NULL,
    excerpt VARCHAR NOT NULL         -- first 200 characters of the game's text
);
"""


def connect(path: Path, *, read_only: bool = False) -> duckdb.DuckDBPyConnection:
    """A connection with the settings that every connection needs, the schema unchecked.

    Raises what DuckDB raises: the caller knows what the file is to a person.
    """
    return _connect(str(path), _own_spill() if read_only else _spill(path), read_only)


def connect_to_none() -> duckdb.DuckDBPyConnection:
    """A connection to no file, with the same settings."""
    return _connect(":memory:", _own_spill(), False)


def _connect(path: str, spill: Path, read_only: bool) -> duckdb.DuckDBPyConnection:
    settings: dict[str, str | bool | int | float | list[str]] = {
        "autoinstall_known_extensions": False,
        "autoload_known_extensions": False,
        "memory_limit": MEMORY_LIMIT,
        "threads": THREADS,
        "temp_directory": str(spill),
    }
    connection = duckdb.connect(path, read_only=read_only, config=settings)
    connection.execute("SET enable_progress_bar = false")  # it prints into piped output
    return connection


def _own_spill() -> Path:
    """Where what this process alone reads is put when it does not fit into memory."""
    return Path(tempfile.gettempdir()) / f"replybook-{os.getpid()}"


def create(path: Path, plies: int = DEFAULT_PLIES) -> None:
    """Make an empty library that keeps the first ``plies`` plies of a game.

    It appears whole or not at all. UsageError when the number is out of range.
    """
    if not 1 <= plies <= MOST_PLIES:
        raise UsageError(
            f"--moves: {plies} plies cannot be kept; choose between 1 and {MOST_PLIES // 2} moves"
        )
    beginning = beside(path)
    with driver_errors(path):
        path.parent.mkdir(parents=True, exist_ok=True)
        _log_of(path).unlink(missing_ok=True)
        discard(beginning)
        try:
            make_tables(beginning, first_meta(plies))
            os.replace(beginning, path)
        finally:
            discard(beginning)


def discard(path: Path) -> None:
    """Delete a database, or what a killed process left of one."""
    path.unlink(missing_ok=True)
    _log_of(path).unlink(missing_ok=True)
    shutil.rmtree(_spill(path), ignore_errors=True)


def beside(path: Path) -> Path:
    """Where a new file is written that will take the library's place."""
    return path.with_name(path.name + ".new")


def _spill(path: Path) -> Path:
    """Where a writer puts what does not fit into memory."""
    return path.with_name(path.name + ".tmp")


def _log_of(path: Path) -> Path:
    """Where DuckDB's log lies; a new database beside an old one's log cannot be opened."""
    return path.with_name(path.name + ".wal")


def make_tables(path: Path, meta: dict[str, str]) -> None:
    """A new database file with our tables, empty but for ``meta``."""
    connection = connect(path)
    try:
        connection.execute(DDL)
        connection.executemany("INSERT INTO meta VALUES (?, ?)", list(meta.items()))
    finally:
        connection.close()


def first_meta(plies: int) -> dict[str, str]:
    """`meta` of a new library; its secret is drawn."""
    return {
        "schema_version": str(SCHEMA_VERSION),
        "plies": str(plies),
        "fingerprint_key": secrets.token_hex(32),
        "made_by": f"replybook {version('replybook')}",
    }


def read_meta(connection: duckdb.DuckDBPyConnection) -> dict[str, str]:
    """The values of `meta` by name."""
    return dict(connection.execute("SELECT name, value FROM meta").fetchall())


def check_version(connection: duckdb.DuckDBPyConnection, path: Path) -> dict[str, str]:
    """`meta`, once the library is known to be of our version; LibraryVersion if not."""
    with driver_errors(path):
        meta = read_meta(connection)
    found = meta.get("schema_version", "none")
    if found != str(SCHEMA_VERSION):
        newer = found.isdecimal() and int(found) > SCHEMA_VERSION
        cure = (
            "install the newest version: pip install --upgrade replybook"
            if newer
            else "add the PGN files to a new library with: replybook add FILES --collection NAME"
        )
        raise LibraryVersion(
            f"{path}: the library has schema {found}, this program reads {SCHEMA_VERSION}; {cure}"
        )
    return meta


def open_for_writing(path: Path) -> duckdb.DuckDBPyConnection:
    """The one writing connection of a process that holds the sidecar lock.

    A reader may still be letting go: tries for as long as a reader does. What a
    killed process left beside the library is cleared away.
    """
    if not path.exists():
        raise LibraryMissing(f"{path}: {MISSING}")
    locks.refuse_if_lost(path)
    with driver_errors(path):
        discard(beside(path))
    shutil.rmtree(_spill(path), ignore_errors=True)
    return _patiently(path, read_only=False)


def open_for_reading(path: Path) -> duckdb.DuckDBPyConnection:
    """A read-only connection to a library of our version.

    Waits up to two seconds for a writer to finish. Raises LibraryMissing,
    LibraryVersion, LibraryDamaged or LibraryBusy.
    """
    return _patiently(path, read_only=True)


def _patiently(path: Path, *, read_only: bool) -> duckdb.DuckDBPyConnection:
    deadline = time.monotonic() + READER_PATIENCE
    while True:
        try:
            if read_only:
                locks.refuse_if_held(path)
            return _checked(path, read_only=read_only)
        except LibraryBusy:
            if time.monotonic() >= deadline:
                raise
        time.sleep(RETRY_AFTER)


def _checked(path: Path, *, read_only: bool) -> duckdb.DuckDBPyConnection:
    with driver_errors(path):
        connection = connect(path, read_only=read_only)
    try:
        check_version(connection, path)
    except BaseException:
        with suppress(duckdb.Error):
            connection.close()
        raise
    return connection


@contextmanager
def transaction(connection: duckdb.DuckDBPyConnection) -> Iterator[None]:
    """All of it or nothing; the one place that begins and ends transactions."""
    connection.execute("BEGIN")
    try:
        yield
        connection.execute("COMMIT")
    except BaseException:
        with suppress(duckdb.Error):  # the failure may have ended it already
            connection.execute("ROLLBACK")
        raise
