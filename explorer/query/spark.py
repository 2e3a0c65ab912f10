"""A dataset asked through Spark, with the same queries: what reads many files runs there.

An empty database of DuckDB's with the same tables stands beside it. It says of each
question which types its answer has, holds the temporary tables, which are small, and
hands the answers on as it hands on its own.
"""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import AbstractContextManager, ExitStack, contextmanager
from typing import TYPE_CHECKING, cast

import pyarrow as pa
from duckdb import DuckDBPyConnection, DuckDBPyRelation

from explorer.query.dataset import Dataset
from explorer.query.library import Facts, facts_of
from explorer.query.pruning import Params, narrowed
from explorer.query.spark_session import quiet, session, spark_errors
from explorer.query.translate import KEY_TYPE, for_spark, from_spark, translated, type_in_spark
from ingest.dataset import TABLES, Manifest, connect, make_empty, read_manifest, within

if TYPE_CHECKING:
    from pyspark.sql import SparkSession

STORED = "stored_"  # begins the names of tables as the files have them
_UNSIGNED = f"""CAST(CAST({{0}} AS {KEY_TYPE})
    + CASE WHEN {{0}} < 0 THEN 18446744073709551616 ELSE 0 END AS {KEY_TYPE}) AS {{0}}"""


class SparkDataset(Dataset):
    """A dataset open for reading through Spark; one question at a time."""

    def __init__(self, address: str, master: str | None) -> None:
        """Opens nothing yet; `open_with_spark` does."""
        super().__init__(address)
        self._master = master
        self._turn = threading.RLock()

    @contextmanager
    def reading(self) -> Iterator[tuple[DuckDBPyConnection, Facts]]:
        """As of a library, when it is this thread's turn."""
        with self._turn, super().reading() as asked:
            yield asked

    def _connect(self) -> tuple[DuckDBPyConnection, Facts]:
        with ExitStack() as undo:
            beside = connect(self._address)
            undo.callback(beside.close)
            manifest = read_manifest(beside, self._address)
            make_empty(beside)
            spark = Tables(session(self._master).newSession(), self._address, beside)
            # The queries ask of a connection no more than `SparkCursor` has.
            asked = cast(DuckDBPyConnection, SparkCursor(spark, beside, manifest))
            facts = facts_of(asked, manifest.plies, manifest.scales, manifest.results)
            undo.pop_all()
        return asked, facts

    @contextmanager
    def _errors_of_both(self) -> Iterator[None]:
        with super()._errors(), spark_errors(self._address):
            yield

    def _errors(self) -> AbstractContextManager[None]:
        return self._errors_of_both()


def open_with_spark(address: str, master: str | None = None) -> Dataset:
    """Open a dataset for reading through Spark; ``master`` as Spark has it, ``local[2]`` say.

    EngineTrouble when Spark cannot run, the errors of `open_dataset` besides.
    """
    opened = SparkDataset(address, master)
    with opened.reading():
        return opened


class Tables:
    """The dataset's tables in one session of Spark, each made when it is first asked for."""

    def __init__(self, spark: SparkSession, address: str, shapes: DuckDBPyConnection) -> None:
        """``shapes`` has the same tables, empty."""
        self.spark = spark
        self._address = address.replace("s3://", "s3a://", 1)  # as Hadoop calls it
        self._shapes = shapes
        self._made: set[str] = set()

    def need(self, table: str) -> None:
        """Make a table, unless it is there."""
        if table in self._made:
            return
        shape = self._shapes.sql(f"FROM main.{table}").to_arrow_table().schema
        stored = ", ".join(
            f"{field.name} {'BIGINT' if _is_key(field) else type_in_spark(field.type)}"
            for field in shape
            if field.name != "signed_key"
        )
        rows = self.spark.read.schema(stored).parquet(within(self._address, table))
        rows.createOrReplaceTempView(STORED + table)
        columns = ", ".join(map(_column, shape))
        made = self.spark.sql(f"SELECT {columns} FROM {STORED}{table}")
        made.createOrReplaceTempView(table)
        self._made.add(table)

    def put(self, table: str, rows: pa.Table) -> None:
        """Make a temporary table of these rows, in place of one of the name."""
        with quiet():
            self.spark.createDataFrame(for_spark(rows)).createOrReplaceTempView(table)

    def rows(self, sql: str) -> pa.Table:
        """The rows of a SELECT."""
        with quiet():
            return self.spark.sql(sql).toArrow()


def _is_key(field: pa.Field) -> bool:
    return bool(field.type == pa.uint64())


def _column(field: pa.Field) -> str:
    """A column of a library's table, of those that the files have."""
    if _is_key(field):
        return _UNSIGNED.format(field.name)
    return "key AS signed_key" if field.name == "signed_key" else str(field.name)


class SparkCursor:
    """What the queries need of a DuckDB connection, with Spark behind it."""

    def __init__(self, spark: Tables, beside: DuckDBPyConnection, manifest: Manifest) -> None:
        """``beside`` has the dataset's tables, empty, and takes the answers."""
        self._spark, self._beside, self._manifest = spark, beside, manifest
        self._answers = beside.cursor()  # of which not all may be fetched

    def execute(self, sql: str, params: Params = None) -> DuckDBPyConnection:
        """Run a statement; its answer is fetched as from DuckDB."""
        asked = translated(narrowed(sql, params, self._manifest.key_bits), params)
        of_files = asked.tables.intersection(TABLES)
        for table in of_files:
            self._spark.need(table)
        if asked.made is None:
            shape = self._beside.sql(sql, params=params)
            rows = self._spark.rows(asked.sql) if of_files else shape.to_arrow_table()
            return self._take(self._answers, rows, shape)
        self._beside.execute(sql, params)  # of no rows if it is about the files
        if of_files:
            shape = self._beside.sql(f"FROM {asked.made}")
            self._take(self._beside, self._spark.rows(asked.sql), shape, asked.made)
        self._spark.put(asked.made, self._beside.sql(f"FROM {asked.made}").to_arrow_table())
        return self._beside

    def _take(
        self,
        taker: DuckDBPyConnection,
        rows: pa.Table,
        shape: DuckDBPyRelation,
        into: str | None = None,
    ) -> DuckDBPyConnection:
        """Rows with the names and types of ``shape``, to be fetched or put ``into`` a table."""
        arrived = from_spark(rows, shape.to_arrow_table().schema)  # noqa: F841
        # What is wider than 64 bits has come as a decimal number.
        columns = ", ".join(
            f'#{place}::{kind} AS "{name}"'
            for place, (name, kind) in enumerate(zip(shape.columns, shape.types, strict=True), 1)
        )
        target = f"INSERT INTO {into}" if into else ""
        return taker.execute(f"{target} SELECT {columns} FROM arrived")

    def cursor(self) -> SparkCursor:
        """Another one to the same tables."""
        return SparkCursor(self._spark, self._beside.cursor(), self._manifest)

    def close(self) -> None:
        """Close what is beside; Spark goes on for the next one."""
        self._answers.close()
        self._beside.close()

    def interrupt(self) -> None:
        """End what Spark is doing."""
        self._spark.spark.sparkContext.cancelAllJobs()

    def __enter__(self) -> SparkCursor:
        """Itself."""
        return self

    def __exit__(self, *_: object) -> None:
        """Close it."""
        self.close()
