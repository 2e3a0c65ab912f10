"""How long questions may take: who serves several people ends a question that takes too long.

A limit holds for all that is asked of a library within `limited`, in one thread.
"""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from contextvars import ContextVar

import duckdb

from ingest.errors import LibraryError


class Limit:
    """Ends the questions under it when it is told to; another thread tells it."""

    def __init__(self) -> None:
        """Nothing is ended yet."""
        self._lock = threading.Lock()
        self._cursors: set[duckdb.DuckDBPyConnection] = set()
        self._reason: LibraryError | None = None

    def end(self, reason: LibraryError) -> None:
        """End what is being asked; every further question raises the first reason.

        To be told again until nothing is asked any more: a question that is just about to
        begin does not notice.
        """
        with self._lock:
            self._reason = self._reason or reason
            for cursor in self._cursors:
                with suppress(duckdb.Error):
                    cursor.interrupt()

    @contextmanager
    def _asking(self, cursor: duckdb.DuckDBPyConnection) -> Iterator[None]:
        with self._lock:
            if self._reason:
                raise self._reason
            self._cursors.add(cursor)
        try:
            yield
        except Exception as error:
            if self._reason:
                raise self._reason from error
            raise
        finally:
            with self._lock:
                self._cursors.discard(cursor)


_limit: ContextVar[Limit | None] = ContextVar("limit", default=None)


@contextmanager
def limited(limit: Limit) -> Iterator[None]:
    """What is asked within is under the limit."""
    before = _limit.set(limit)
    try:
        yield
    finally:
        _limit.reset(before)


@contextmanager
def asking(cursor: duckdb.DuckDBPyConnection) -> Iterator[None]:
    """The cursor asks under the limit, if there is one; its reason is raised once it is ended."""
    limit = _limit.get()
    if limit is None:
        yield
        return
    with limit._asking(cursor):
        yield
