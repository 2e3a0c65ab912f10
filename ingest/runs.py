"""Sorted runs of visits: appending, merging, counting positions, rewriting the file.

A look-up pays for every run whose keys it may lie in, so runs are kept few:
small ones are merged when more than `MOST_RUNS` overlap. A merge inside the
file leaves free blocks behind, which later adds fill; once they are too many
the library is written anew beside itself, in one run, and renamed.
"""

from __future__ import annotations

import os
import shutil
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import duckdb
import numpy as np
import pyarrow as pa

from ingest import schema, settling
from ingest.driver import driver_errors

MOST_RUNS = 16  # that overlap at a key
SPARE_RUNS = 3  # at least so many fewer are left after a merge
SLICE_ROWS = 2_000_000  # of visits, counted at a time
MOST_FREE = 0.3  # of the file's blocks
SMALL_FILE = 64  # blocks; below it free ones do not matter
RENAME_TRIES = 40

TABLES = (
    "collections",
    "memberships",
    "players",
    "games",
    "records",
    "positions",
    "files",
    "rejects",
)


@dataclass(frozen=True, slots=True)
class Run:
    """One sorted stretch of `visits`."""

    id: int
    rows: int
    first_key: int
    last_key: int
    summed: bool


def all_runs(connection: duckdb.DuckDBPyConnection) -> list[Run]:
    """The runs, oldest first."""
    rows = connection.execute(
        "SELECT id, rows, first_key, last_key, summed FROM runs ORDER BY id"
    ).fetchall()
    return [Run(*row) for row in rows]


def append(connection: duckdb.DuckDBPyConnection, visits: pa.Table) -> None:
    """Append visits, in order as `rows.sorted_visits` makes them, as one more run."""
    if not len(visits):
        return
    (run,) = connection.execute("SELECT coalesce(max(id), 0) + 1 FROM runs").fetchall()[0]
    settling.insert(connection, "visits", [visits], {"run": run})
    first, last = visits["key"][0].as_py(), visits["key"][-1].as_py()
    connection.execute(
        "INSERT INTO runs VALUES (?, ?, ?, ?, false)", [run, len(visits), first, last]
    )


def overlapping(runs: Sequence[Run]) -> int:
    """The largest number of runs that one key may lie in."""
    edges = [(run.first_key, 1) for run in runs] + [(run.last_key + 1, -1) for run in runs]
    most = depth = 0
    for _, step in sorted(edges):
        depth += step
        most = max(most, depth)
    return most


def tail_to_merge(runs: Sequence[Run]) -> list[Run]:
    """The newest runs that are worth merging, none when few overlap.

    A run joins while the newer ones together are at least its size, so that a
    row is merged again only after the heap it lies in has doubled; beyond that
    only for as long as too many runs would be left.
    """
    if overlapping(runs) <= MOST_RUNS:
        return []
    tail = [runs[-1]]
    total = runs[-1].rows
    for run in reversed(runs[:-1]):
        left = len(runs) - len(tail) + 1
        if run.rows > total and left <= MOST_RUNS - SPARE_RUNS:
            break
        tail.append(run)
        total += run.rows
    return tail[::-1]


def merge(connection: duckdb.DuckDBPyConnection, tail: Sequence[Run]) -> None:
    """Sort the newest runs into one, in place."""
    first = tail[0].id
    with schema.transaction(connection):
        connection.execute(
            f"CREATE OR REPLACE TEMP TABLE tail AS SELECT * REPLACE ({first} AS run) "
            f"FROM visits WHERE run >= {first} ORDER BY key, move, game_id"
        )
        connection.execute(f"DELETE FROM visits WHERE run >= {first}")
        connection.execute("INSERT INTO visits SELECT * FROM tail")
        connection.execute("DROP TABLE tail")
        recount_runs(connection)


def recount_runs(connection: duckdb.DuckDBPyConnection) -> None:
    """Describe the runs anew after rows went or runs were merged."""
    connection.execute(
        "CREATE OR REPLACE TEMP TABLE seen AS SELECT run, count(*) AS rows, "
        "min(key) AS first_key, max(key) AS last_key FROM visits GROUP BY run"
    )
    connection.execute(
        "CREATE OR REPLACE TEMP TABLE counted AS SELECT seen.*, coalesce(summed, false) AS summed "
        "FROM seen LEFT JOIN runs ON seen.run = runs.id ORDER BY run"
    )
    connection.execute("DELETE FROM runs")
    connection.execute("INSERT INTO runs SELECT * FROM counted")
    connection.execute("DROP TABLE seen")
    connection.execute("DROP TABLE counted")


def sum_positions(connection: duckdb.DuckDBPyConnection) -> None:
    """Bring `positions` up to date with the runs that it does not count yet.

    Only positions of the new runs are counted again, over all runs.
    """
    summed = {run.summed for run in all_runs(connection)}
    if False not in summed:
        return
    with schema.transaction(connection):
        if True in summed:
            _sum_touched(connection)
        else:
            sum_all_positions(connection)
        connection.execute("UPDATE runs SET summed = true")


def sum_all_positions(connection: duckdb.DuckDBPyConnection) -> None:
    """Count every position anew."""
    connection.execute("DELETE FROM positions")
    for within in _slices(connection):
        _sum(connection, f"visits WHERE {within}")


def _sum_touched(connection: duckdb.DuckDBPyConnection) -> None:
    for within in _slices(connection):
        connection.execute(
            "CREATE OR REPLACE TEMP TABLE touched AS SELECT DISTINCT key FROM visits "
            f"WHERE run IN (SELECT id FROM runs WHERE NOT summed) AND {within}"
        )
        connection.execute("DELETE FROM positions WHERE key IN (SELECT key FROM touched)")
        _sum(connection, f"visits SEMI JOIN touched USING (key) WHERE {within}")
    connection.execute("DROP TABLE touched")


def _sum(connection: duckdb.DuckDBPyConnection, visits: str) -> None:
    keys = connection.execute(f"SELECT key FROM {visits}").fetchnumpy()["key"]
    # Sorted runs need only be merged: a third of the work of GROUP BY.
    keys = np.sort(keys, kind="stable")
    first = np.flatnonzero(np.concatenate(([True], keys[1:] != keys[:-1]))[: len(keys)])
    games = np.diff(np.append(first, len(keys)))
    often = games >= schema.LEAST_GAMES
    counted = pa.table({"key": keys[first[often]], "games": games[often]})
    settling.insert(connection, "positions", [counted], {})


def _slices(connection: duckdb.DuckDBPyConnection) -> list[str]:
    """Conditions that part the keys, so that each part can be counted in memory.

    Keys are spread evenly, and runs are sorted: a slice touches its own rows only.
    """
    rows = sum(run.rows for run in all_runs(connection))
    number = rows // SLICE_ROWS + 1
    edges = [(1 << 64) * i // number for i in range(number + 1)]
    return [f"key BETWEEN {low}::UBIGINT AND {high - 1}::UBIGINT" for low, high in pairwise(edges)]


def tidy(path: Path, *, rewrite: bool = False) -> None:
    """What follows the last file of an `add`: positions, merging, perhaps a rewrite.

    The caller holds the sidecar and has no connection open.
    """
    with driver_errors(path):
        connection = schema.open_for_writing(path)
        try:
            sum_positions(connection)
            runs = all_runs(connection)
            tail = tail_to_merge(runs)
            # Merged in place they would leave half the file free.
            worth_it = 2 * sum(run.rows for run in tail) > sum(run.rows for run in runs)
            if tail and not worth_it:
                merge(connection, tail)
            connection.execute("CHECKPOINT")
            worth_it = worth_it or _too_free(connection)
        finally:
            connection.close()
        if rewrite or (worth_it and _has_room(path)):
            rewrite_library(path)


def _has_room(path: Path) -> bool:
    """Whether a copy of the library fits on the disk; without one it is only a bit slower."""
    return shutil.disk_usage(path.parent).free > path.stat().st_size


def _too_free(connection: duckdb.DuckDBPyConnection) -> bool:
    total, free = connection.execute(
        "SELECT total_blocks, free_blocks FROM pragma_database_size()"
    ).fetchall()[0]
    return bool(total > SMALL_FILE and free > MOST_FREE * total)


def _as_they_are(_: duckdb.DuckDBPyConnection) -> dict[str, str]:
    """No table is read differently."""
    return {}


Reading = Callable[[duckdb.DuckDBPyConnection], Mapping[str, str]]


def rewrite_library(path: Path, reading: Reading = _as_they_are) -> None:
    """Write the library anew, in one run and without free blocks, and put it in place.

    ``reading`` gets the connection to the new file, which has the library as the
    database ``old``, and says by which SELECT a table is read from it, if not as
    it is. The caller holds the sidecar and has no connection open. A kill leaves
    the old library as it was.
    """
    beside = schema.beside(path)
    with driver_errors(path):
        schema.discard(beside)
        try:
            _copy(path, beside, reading)
            _rename(beside, path)
        finally:
            schema.discard(beside)


def _copy(path: Path, beside: Path, reading: Reading) -> None:
    connection = schema.connect(beside)
    try:
        quoted = str(path).replace("'", "''")
        connection.execute(f"ATTACH '{quoted}' AS old (READ_ONLY)")
        selects = reading(connection)
        with schema.transaction(connection):
            connection.execute(schema.DDL)
            for table in ("meta", *TABLES):
                rows = selects.get(table, f"SELECT * FROM old.{table}")
                connection.execute(f"INSERT INTO {table} {rows}")
            connection.execute(
                "INSERT INTO visits SELECT * REPLACE (1 AS run) FROM old.visits "
                "ORDER BY key, move, game_id"
            )
            connection.execute(
                "INSERT INTO runs SELECT 1, count(*), min(key), max(key), "
                "(SELECT coalesce(bool_and(summed), true) FROM old.runs) "
                "FROM visits HAVING count(*) > 0"
            )
    finally:
        connection.close()


def _rename(beside: Path, path: Path) -> None:
    """Put the new file in place; on Windows a reader may keep the old one for a moment."""
    for tries_left in reversed(range(RENAME_TRIES)):
        try:
            os.replace(beside, path)
        except PermissionError:
            if not tries_left:
                raise
            time.sleep(schema.RETRY_AFTER)
        else:
            return
