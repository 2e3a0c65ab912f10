"""A library -> a dataset of Parquet files, and back."""

from __future__ import annotations

import json
import os
import shutil
from collections.abc import Iterator, Mapping
from contextlib import closing, contextmanager
from dataclasses import dataclass
from math import ceil, log2
from pathlib import Path

import duckdb

from ingest import dataset, locks, runs, schema
from ingest.dataset import DAMAGED, MANIFEST, SECRET, Manifest
from ingest.digest import digest_of
from ingest.driver import driver_errors
from ingest.errors import InputError, LibraryDamaged, LibraryError, UsageError
from ingest.levels import DEFAULT_CUTS

PART_ROWS = 500_000  # of visits, so that a look-up opens a file of some megabytes
FEWEST_BITS, MOST_BITS = 2, 12
ROW_GROUP = 61_440  # visits that are read for a rare position; half as many take 4 % more room
PUBLIC = ("schema_version", "plies", "made_by")  # of `meta`: the rest is secret


@dataclass(frozen=True, slots=True)
class Moved:
    """What was written to a dataset or read from one; ``bytes`` are the dataset's, if known."""

    games: int
    visits: int
    parts: int
    bytes: int | None = None


def export_parquet(library: Path, folder: Path) -> Moved:
    """Write a library as a dataset; the folder appears whole or not at all.

    UsageError when something is there already, InputError when it cannot be written,
    LibraryError and its kinds as of `schema.open_for_reading`.
    """
    with driver_errors(library), schema.open_for_reading(library) as connection:
        meta = schema.read_meta(connection)
        with written(folder) as new:
            manifest = _write(connection, new, int(meta["plies"]))
            secret = {name: meta[name] for name in sorted(meta) if name not in PUBLIC}
            finish(new, manifest, secret)
    size = sum(file.stat().st_size for file in folder.rglob("*") if file.is_file())
    return _moved(manifest, size)


def _moved(manifest: Manifest, size: int | None = None) -> Moved:
    counts = manifest.counts
    return Moved(counts["games"], counts["visits"], 1 << manifest.key_bits, size)


@contextmanager
def written(folder: Path) -> Iterator[Path]:
    """A new folder beside, which takes the folder's name if all goes well.

    UsageError when something is there already, InputError when it cannot be written.
    """
    with free(folder), beside(folder, ".new") as new:
        yield new
        if folder.exists():
            folder.rmdir()  # Windows renames to no folder that is there, be it empty
        os.replace(new, folder)


@contextmanager
def free(folder: Path) -> Iterator[None]:
    """UsageError when something is there already, InputError when it cannot be written."""
    try:
        if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
            raise UsageError(f"{folder}: something is there already; name a new folder")
        yield
    except (OSError, duckdb.IOException) as error:
        reason = getattr(error, "strerror", None) or " ".join(str(error).split())[:200]
        raise InputError(f"{folder}: cannot be written ({reason}); name another folder") from error


@contextmanager
def beside(folder: Path, ending: str) -> Iterator[Path]:
    """A new folder beside, for as long as it is needed; what a killed process left there goes."""
    new = Path(os.path.abspath(folder) + ending)
    try:
        shutil.rmtree(new, ignore_errors=True)
        new.mkdir(parents=True)
        yield new
    finally:
        shutil.rmtree(new, ignore_errors=True)


def _write(connection: duckdb.DuckDBPyConnection, new: Path, plies: int) -> Manifest:
    counts = {
        table: int(connection.execute(f"SELECT count(*) FROM {table}").fetchall()[0][0])
        for table in dataset.TABLES
    }
    bits = key_bits_for(counts["visits"])
    for part in range(1 << bits):
        first, last = dataset.keys_of_part(part, bits)
        within = f"WHERE visits.key BETWEEN {first} AND {last}"
        copy(connection, "visits", new / dataset.part_folder(part), within)
    for table in dataset.TABLES:
        if table != "visits":
            copy(connection, table, new / table)
    scales, results = dataset.summary_of(connection)
    return Manifest(
        schema_version=schema.SCHEMA_VERSION,
        plies=plies,
        levels=DEFAULT_CUTS,
        key_bits=bits,
        counts=counts,
        files=dict.fromkeys(dataset.TABLES, 1) | {"visits": 1 << bits},
        digest=digest_of(connection),
        duckdb=duckdb.__version__,
        scales=scales,
        results=results,
    )


def key_bits_for(visits: int) -> int:
    """How many bits of the key make its part, so that parts have a good size."""
    return min(MOST_BITS, max(FEWEST_BITS, ceil(log2(max(1, visits / PART_ROWS)))))


def copy(connection: duckdb.DuckDBPyConnection, table: str, folder: Path, where: str = "") -> None:
    """Write rows of a table into a folder, in order."""
    folder.mkdir(parents=True)
    file = str(folder / f"{table}.parquet").replace("'", "''")
    connection.execute(
        f"COPY (SELECT {dataset.stored(table)} FROM {table} {where} "
        f"ORDER BY {dataset.in_order(table)}) TO '{file}' "
        f"(FORMAT parquet, COMPRESSION zstd, ROW_GROUP_SIZE {ROW_GROUP})"
    )


def finish(new: Path, manifest: Manifest, secret: Mapping[str, str]) -> None:
    """Write what makes a folder of files a dataset; the secret for its owner alone."""
    secrets = new / SECRET
    secrets.touch(mode=0o600)
    secrets.write_text(json.dumps(secret, indent=1) + "\n", "utf-8")
    (new / MANIFEST).write_text(manifest.written(), "utf-8")


def library_from(address: str, library: Path) -> Moved:
    """Make a library of a dataset, equal to the one that it was exported from.

    UsageError when there is a library already, InputError when the dataset is none, is
    damaged or has lost its secret file, LibraryError when the library cannot be written.
    """
    with locks.held(library), driver_errors(library):
        if library.exists():
            raise UsageError(
                f"--from-parquet: there is a library already ({library}); "
                "name a new one with --library"
            )
        library.parent.mkdir(parents=True, exist_ok=True)
        new = schema.beside(library)
        schema.discard(new)
        try:
            with as_input(), closing(dataset.connect(address)) as connection:
                manifest = _read(connection, address, new)
            os.replace(new, library)
        finally:
            schema.discard(new)
    return _moved(manifest)


@contextmanager
def as_input() -> Iterator[None]:
    """What is wrong with a dataset is wrong with what was named to be read."""
    try:
        yield
    except LibraryError as error:
        raise InputError(str(error)) from error


def _read(connection: duckdb.DuckDBPyConnection, address: str, new: Path) -> Manifest:
    manifest = dataset.read_manifest(connection, address)
    secret = dataset.read_secret(connection, address)
    if "fingerprint_key" not in secret:
        raise LibraryDamaged(
            f"{address}: {SECRET} is missing, without which no library can be made of it; "
            "ask for the whole dataset, or ask questions with --dataset"
        )
    dataset.make_views(connection, address, manifest)
    quoted = str(new).replace("'", "''")
    connection.execute(f"ATTACH '{quoted}' AS made")
    connection.execute("USE made")
    with dataset.dataset_errors(address):
        _fill(connection, manifest, secret)
        runs.sum_positions(connection)
        _compare(connection, address, manifest)
    connection.execute("CHECKPOINT made")
    return manifest


def _fill(
    connection: duckdb.DuckDBPyConnection, manifest: Manifest, secret: Mapping[str, str]
) -> None:
    """The dataset's tables, which are called ``memory.main``, into those of the library."""
    with schema.transaction(connection):
        connection.execute(schema.DDL)
        meta = schema.first_meta(manifest.plies) | dict(secret)
        connection.executemany("INSERT INTO meta VALUES (?, ?)", list(meta.items()))
        for table in dataset.TABLES:
            if table != "visits":
                columns = ", ".join(name for name, _ in dataset.columns_of(table))
                rows = f"SELECT {columns} FROM memory.main.{table} ORDER BY {_by(table)}"
                connection.execute(f"INSERT INTO {table} {rows}")
        columns = ", ".join(name for name, _ in dataset.columns_of("visits"))
        for part in range(1 << manifest.key_bits):
            connection.execute(
                f"INSERT INTO visits SELECT {columns}, 1 FROM memory.main.visits "
                f"WHERE part = {part} ORDER BY {_by('visits')}"
            )
        connection.execute(
            "INSERT INTO runs SELECT 1, count(*), min(key), max(key), false "
            "FROM visits HAVING count(*) > 0"
        )


def _by(table: str) -> str:
    return dataset.in_order(table).replace(f"{table}.", "")


def _compare(connection: duckdb.DuckDBPyConnection, address: str, manifest: Manifest) -> None:
    """LibraryDamaged when the library is not what the manifest says."""
    for table in dataset.TABLES:
        ((count,),) = connection.execute(f"SELECT count(*) FROM {table}").fetchall()
        if count != manifest.counts[table]:
            raise LibraryDamaged(
                f"{address}: {count:,} of {manifest.counts[table]:,} rows of {table} are there; "
                f"{DAMAGED}"
            )
    told = (manifest.scales, manifest.results) == dataset.summary_of(connection)
    # Another version of DuckDB may hash in another way.
    hashed_alike = manifest.duckdb == duckdb.__version__
    if not told or (hashed_alike and digest_of(connection) != manifest.digest):
        raise LibraryDamaged(f"{address}: it is not what its digest says; {DAMAGED}")
