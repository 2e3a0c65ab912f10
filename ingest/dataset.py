"""A library as a folder of Parquet files: how they lie, and the tables that DuckDB makes of them.

    FOLDER/_replybook.json              what it is; written last: without it there is no dataset
    FOLDER/_secret.json                 what a library needs to find duplicates and forgotten
                                        names; no question needs it
    FOLDER/visits/part=NNNN/*.parquet   `part`: the top bits of the key; in order of key, move
                                        and game
    FOLDER/games/*.parquet ...          one folder for each other table

Keys and fingerprints stand there as signed numbers of the same 64 bits, since not
every engine has unsigned ones. `visits` gets the key back as it is in a library, and beside
it ``signed_key`` and ``part``: a condition on these lets the engine pass over whole files.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from typing import Any

import duckdb

from ingest import schema
from ingest.driver import driver_errors
from ingest.errors import LibraryDamaged, LibraryError, LibraryMissing, LibraryVersion

MANIFEST = "_replybook.json"
SECRET = "_secret.json"
REMOTE = "s3://"
PART_DIGITS = 4
DAMAGED = "the dataset is damaged; export it again with: replybook export parquet FOLDER"

# Stored tables; `positions` follows from `visits`, `runs` is about a library's file.
TABLES = ("visits", "games", "players", "collections", "memberships", "records", "files", "rejects")
_ORDER = {
    "visits": "key, move, game_id",
    "games": "id",
    "players": "same",
    "collections": "id",
    "memberships": "collection_id, game_id",
    "records": "file_id, game_number, game_id",
    "files": "id",
    "rejects": "file_id, game_number, line, kind, reason",
}
_SIGNED = "if({0} >= 1::UBIGINT << 63, ({0}::HUGEINT - (1::HUGEINT << 64))::BIGINT, {0}::BIGINT)"
_UNSIGNED = "({0}::HUGEINT & 18446744073709551615)::UBIGINT"

# Errors of DuckDB that speak of a dataset's files, in words of ours.
_KNOWN: tuple[tuple[type[LibraryError], tuple[str, ...], str], ...] = (
    (
        LibraryError,
        ("HTTP", "Could not establish connection", "curl", "httpfs", "Extension"),
        "the place cannot be reached; check its name, the network and who may read it",
    ),
    (
        LibraryDamaged,
        (
            "arquet",
            "magic bytes",
            "Snappy",
            "ZSTD",
            "TProtocolException",
            "No files found",
            "Binder Error",
            "don't know what type",
        ),
        DAMAGED,
    ),
)


Scales = tuple[str, ...]
Results = tuple[tuple[int, int, int], ...]


@dataclass(frozen=True, slots=True)
class Manifest:
    """What `_replybook.json` says.

    ``key_bits`` are the bits of a key that make its part. ``levels`` are the usual cuts
    between levels. ``counts`` are rows, ``files`` Parquet files of each table. ``digest``
    is the library's, made by DuckDB of version ``duckdb``. ``scales`` and ``results`` are
    what `summary_of` gives: so that no question has to go through all games for them.
    """

    schema_version: int
    plies: int
    levels: tuple[int, ...]
    key_bits: int
    counts: dict[str, int]
    files: dict[str, int]
    digest: str
    duckdb: str
    scales: Scales
    results: Results

    def written(self) -> str:
        """As the file has it: a line for each value."""
        lines = (f"{json.dumps(name)}: {json.dumps(value)}" for name, value in asdict(self).items())
        return "{\n" + ",\n".join(lines) + "\n}\n"


def signed(key: int) -> int:
    """The signed number of the same 64 bits."""
    return key - (1 << 64) if key >> 63 else key


def part_of(key: int, key_bits: int) -> int:
    """The part of `visits` in which a position lies."""
    return key >> (64 - key_bits)


def keys_of_part(part: int, key_bits: int) -> tuple[int, int]:
    """The first and the last key that lie in a part."""
    width = 64 - key_bits
    return part << width, ((part + 1) << width) - 1


def part_folder(part: int) -> str:
    """``visits/part=0007``."""
    return f"visits/part={part:0{PART_DIGITS}}"


def stored(table: str) -> str:
    """The columns of a library's table as a dataset has them, for a SELECT."""
    return ", ".join(
        f"{_SIGNED.format(name)} AS {name}" if kind == "UBIGINT" else name
        for name, kind in columns_of(table)
    )


def in_order(table: str) -> str:
    """In which order the rows of a table lie; it may be all the same where more rows are equal."""
    return ", ".join(f"{table}.{column}" for column in _ORDER[table].split(", "))


def columns_of(table: str) -> list[tuple[str, str]]:
    """Names and types of a table's columns in a library; `visits` without its run."""
    return [column for column in _shapes()[table] if (table, column[0]) != ("visits", "run")]


def _shapes() -> dict[str, list[tuple[str, str]]]:
    found: dict[str, list[tuple[str, str]]] = {}
    with duckdb.connect() as empty:
        empty.execute(schema.DDL)
        rows = empty.execute(
            "SELECT table_name, column_name, data_type FROM duckdb_columns() "
            "ORDER BY table_name, column_index"
        ).fetchall()
    for table, name, kind in rows:
        found.setdefault(table, []).append((name, kind))
    return found


def summary_of(connection: duckdb.DuckDBPyConnection) -> tuple[Scales, Results]:
    """The rating scales that games name, and results by difference of the ratings.

    A row of these: White's rating minus Black's, games, White's half points.
    """
    scales = connection.execute(
        "SELECT DISTINCT rating_scale FROM games WHERE rating_scale IS NOT NULL ORDER BY 1"
    ).fetchall()
    results = connection.execute(
        """
        SELECT white_rating::INTEGER - black_rating AS difference, count(*), sum(result)::BIGINT
        FROM games
        WHERE difference IS NOT NULL AND result IS NOT NULL
        GROUP BY difference ORDER BY difference
        """
    ).fetchall()
    return tuple(scale for (scale,) in scales), tuple(results)


def is_remote(address: str) -> bool:
    """Whether a dataset lies in a store that is reached over the network."""
    return address.startswith(REMOTE)


def within(address: str, *names: str) -> str:
    """The address of something inside a dataset, for DuckDB: a slash joins on every system."""
    return "/".join((address.rstrip("/\\"), *names))


def connect(address: str) -> duckdb.DuckDBPyConnection:
    """DuckDB without a file of its own, and able to read what lies at the address.

    LibraryError when it cannot be made able to.
    """
    connection = schema.connect_to_none()
    if is_remote(address):
        with dataset_errors(address):
            # Takes keys and region from the environment, as AWS_ACCESS_KEY_ID and so on.
            connection.execute("INSTALL httpfs")
            connection.execute("LOAD httpfs")
    return connection


@contextmanager
def dataset_errors(address: str) -> Iterator[None]:
    """Turn what DuckDB raises about a dataset into one of our errors, one line each."""
    with driver_errors(address):
        try:
            yield
        except duckdb.Error as error:
            text = str(error)
            for kind, phrases, sentence in _KNOWN:
                if any(phrase in text for phrase in phrases):
                    raise kind(f"{address}: {sentence}") from error
            raise


def read_manifest(connection: duckdb.DuckDBPyConnection, address: str) -> Manifest:
    """What a dataset says of itself. LibraryMissing, LibraryVersion or LibraryDamaged."""
    said = _read_json(connection, address, MANIFEST)
    if said is None:
        raise LibraryMissing(
            f"{address}: there is no dataset of Replybook there; make one with: "
            "replybook export parquet FOLDER"
        )
    version = said.get("schema_version") if isinstance(said, dict) else None
    if version != schema.SCHEMA_VERSION and isinstance(version, int):
        raise LibraryVersion(
            f"{address}: the dataset has schema {version}, this program reads "
            f"{schema.SCHEMA_VERSION}; export it with the same version of Replybook"
        )
    try:
        return _manifest_of(said)
    except (AttributeError, KeyError, TypeError, ValueError) as error:
        raise LibraryDamaged(f"{address}: {MANIFEST} is damaged; {DAMAGED}") from error


def _manifest_of(said: dict[str, Any]) -> Manifest:
    return Manifest(
        schema_version=int(said["schema_version"]),
        plies=int(said["plies"]),
        levels=tuple(map(int, said["levels"])),
        key_bits=int(said["key_bits"]),
        counts={table: int(said["counts"][table]) for table in TABLES},
        files={table: int(said["files"][table]) for table in TABLES},
        digest=str(said["digest"]),
        duckdb=str(said["duckdb"]),
        scales=tuple(map(str, said["scales"])),
        results=tuple((int(a), int(b), int(c)) for a, b, c in said["results"]),
    )


def read_secret(connection: duckdb.DuckDBPyConnection, address: str) -> dict[str, str]:
    """The rows of `meta` that a dataset keeps apart; none where they were taken away."""
    said = _read_json(connection, address, SECRET)
    return {str(name): str(value) for name, value in said.items()} if said else {}


def _read_json(connection: duckdb.DuckDBPyConnection, address: str, name: str) -> Any:
    """None when there is no such file."""
    with dataset_errors(address):
        file = within(address, name)
        if not connection.execute("SELECT file FROM glob($1)", [file]).fetchall():
            return None
        ((text,),) = connection.execute("SELECT content FROM read_text($1)", [file]).fetchall()
    try:
        return json.loads(text)
    except ValueError as error:
        raise LibraryDamaged(f"{address}: {name} is damaged; {DAMAGED}") from error


def make_views(
    connection: duckdb.DuckDBPyConnection, address: str, manifest: Manifest, of: str = ""
) -> None:
    """Make the dataset's tables, under the names that they have in a library.

    ``of`` stands before the names. LibraryDamaged when files are missing or hold
    something else.
    """
    with dataset_errors(address):
        for table in TABLES:
            files = files_of(address, table)
            ((count,),) = connection.execute("SELECT count(*) FROM glob($1)", [files]).fetchall()
            if count != manifest.files[table]:
                told = f"{count:,} of {manifest.files[table]:,} files of {table} are there"
                raise LibraryDamaged(f"{address}: {told}; {DAMAGED}")
            connection.execute(f"CREATE VIEW {of}{table} AS {_select(table, files)}")
        connection.execute(
            f"CREATE VIEW {of}positions AS SELECT key, count(*)::UINTEGER AS games "
            f"FROM {of}visits GROUP BY key HAVING count(*) >= {schema.LEAST_GAMES}"
        )


def make_empty(connection: duckdb.DuckDBPyConnection) -> None:
    """Make the same tables as `make_views`, of no rows and without files."""
    connection.execute(schema.DDL)
    connection.execute("ALTER TABLE visits DROP COLUMN run")
    connection.execute("ALTER TABLE visits ADD COLUMN signed_key BIGINT")
    connection.execute("ALTER TABLE visits ADD COLUMN part INTEGER")


def files_of(address: str, table: str) -> str:
    """A pattern that finds the files of a table."""
    return within(address, table, "*/*.parquet" if table == "visits" else "*.parquet")


def _select(table: str, files: str) -> str:
    columns = [
        f"{_UNSIGNED.format(name)} AS {name}" if kind == "UBIGINT" else f"{name}::{kind} AS {name}"
        for name, kind in columns_of(table)
    ]
    hive = ""
    if table == "visits":
        columns += ["key AS signed_key", "part"]
        hive = ", hive_partitioning = true, hive_types = {'part': 'INTEGER'}"
    quoted = files.replace("'", "''")
    return f"SELECT {', '.join(columns)} FROM read_parquet('{quoted}'{hive})"
