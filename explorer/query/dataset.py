"""A dataset of Parquet files, asked like a library: no file of DuckDB's is needed."""

from __future__ import annotations

from contextlib import AbstractContextManager, ExitStack
from pathlib import Path
from typing import cast

from duckdb import DuckDBPyConnection

from explorer.query.library import Facts, Library, facts_of
from explorer.query.pruning import Pruned
from ingest.dataset import connect, dataset_errors, make_views, read_manifest


class Dataset(Library):
    """A dataset open for reading, as a `Library`; it is not expected to change meanwhile."""

    def __init__(self, address: str) -> None:
        """Opens nothing yet; `open_dataset` does."""
        super().__init__(Path(address))
        self._address = address

    def _connect(self) -> tuple[DuckDBPyConnection, Facts]:
        with ExitStack() as undo:
            connection = connect(self._address)
            undo.callback(connection.close)
            manifest = read_manifest(connection, self._address)
            make_views(connection, self._address, manifest)
            # The queries ask of a connection no more than `Pruned` has.
            asked = cast(DuckDBPyConnection, Pruned(connection, manifest.key_bits))
            facts = facts_of(asked, manifest.plies, manifest.scales, manifest.results)
            undo.pop_all()
        return asked, facts

    def _wanted(self) -> bool:
        return False

    def _errors(self) -> AbstractContextManager[None]:
        return dataset_errors(self._address)


def open_dataset(address: str) -> Library:
    """Open a dataset for reading, a folder or a place in a store (``s3://...``).

    LibraryMissing, LibraryVersion, LibraryDamaged, or LibraryError for a store that cannot
    be reached.
    """
    opened = Dataset(address)
    with opened.reading():
        return opened
