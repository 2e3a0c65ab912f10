"""An open library: one read-only connection, let go when games are being added."""

from __future__ import annotations

import os
import re
import threading
from collections.abc import Iterator
from contextlib import AbstractContextManager, ExitStack, contextmanager
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations
from pathlib import Path
from types import TracebackType

import duckdb
import numpy as np

from explorer.numbers import expectation as expected
from explorer.query.limits import asking
from ingest import locks, schema
from ingest.dataset import Results, Scales, summary_of
from ingest.driver import driver_errors
from ingest.errors import LibraryBusy
from ingest.tags import same_name

Looks = tuple[int, ...]
MOST_WORDS = 12  # of a collection's name that are looked at for a player's


@dataclass(frozen=True)
class Facts:
    """What every query needs to know of a library; it holds while the library is open.

    ``collections`` are names to ids, in order of name. ``scales`` are the
    names given with ``add --rating-scale``. ``results`` has a row for each
    rating difference (White's rating minus Black's): difference, games, White's
    half points. ``people`` are the players after whom collections are named.
    """

    plies: int
    collections: dict[str, int]
    scales: Scales
    results: Results
    people: tuple[str, ...]

    @cached_property
    def has_own_curve(self) -> bool:
        """Whether the library is large enough to say itself what score to expect."""
        return sum(games for _, games, _ in self.results) >= expected.MIN_GAMES_FOR_OWN

    @property
    def expectation_source(self) -> str:
        """Where expected scores come from: "fide" or "library"."""
        return "library" if self.has_own_curve else "fide"

    @cached_property
    def expectation(self) -> expected.Expectation:
        """The expected scores: the library's own once it is large enough, else FIDE's."""
        if not self.has_own_curve:
            return expected.fide_expectation()
        return expected.fit_expectation(*np.array(self.results).T)

    @cached_property
    def _parts(self) -> tuple[list[int], list[int]]:
        curves = self.expectation.white, self.expectation.black
        white, black = (np.rint(curve * expected.PARTS).astype(int).tolist() for curve in curves)
        return white, black

    def curve(self, to_move: str) -> list[int]:
        """Expected score in 1 / PARTS at differences -WIDEST to WIDEST, for a mover's colour."""
        return self._parts[to_move == "black"]


class Library:
    """A library open for reading. Threads may share it: each asks through its own cursor."""

    def __init__(self, path: Path) -> None:
        """Opens nothing yet; `open_library` does."""
        self.path = path
        self._free = threading.Condition()
        self._users = 0
        self._connection: duckdb.DuckDBPyConnection | None = None
        self._facts: Facts | None = None
        self._looks: Looks = ()  # of the file that is open

    def __enter__(self) -> Library:
        """Itself."""
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Close the connection."""
        self.let_go()

    @contextmanager
    def reading(self) -> Iterator[tuple[duckdb.DuckDBPyConnection, Facts]]:
        """A cursor and the facts that hold for it. Not to be nested within a thread.

        When another process is adding games, waits a while for it. LibraryBusy
        when it takes longer; the driver's errors become ours. Ended early when the thread's
        `limits.Limit` says so.
        """
        with self._free:
            connection, facts = self._opened()
            self._users += 1
        try:
            with self._errors(), connection.cursor() as cursor, asking(cursor):
                yield cursor, facts
        finally:
            with self._free:
                self._users -= 1
                self._free.notify_all()

    def let_go(self) -> None:
        """Close the connection when nobody reads; the next question opens it again."""
        with self._free:
            if self._connection is not None and not self._users:
                self._connection.close()
                self._connection = self._facts = None

    def _opened(self) -> tuple[duckdb.DuckDBPyConnection, Facts]:
        """The connection, closed first if somebody waits to write or another file stands in
        the library's place. Holds the condition."""
        if self._connection is not None and (self._wanted() or looks_of(self.path) != self._looks):
            if not self._free.wait_for(lambda: not self._users, schema.READER_PATIENCE):
                raise LibraryBusy(f"{self.path}: games are being added; try again in a moment")
            self.let_go()
        if self._connection is None or self._facts is None:
            with self._errors():
                self._looks = looks_of(self.path)
                self._connection, self._facts = self._connect()
        return self._connection, self._facts

    def _connect(self) -> tuple[duckdb.DuckDBPyConnection, Facts]:
        """A new connection, and the facts."""
        with ExitStack() as undo:
            connection = schema.open_for_reading(self.path)
            undo.callback(connection.close)
            plies = int(schema.read_meta(connection)["plies"])
            facts = facts_of(connection, plies, *summary_of(connection))
            undo.pop_all()
        return connection, facts

    def _wanted(self) -> bool:
        """Whether another process waits to write."""
        return locks.holder(self.path) is not None

    def _errors(self) -> AbstractContextManager[None]:
        """What turns the driver's errors into ours."""
        return driver_errors(self.path)


def looks_of(path: Path) -> Looks:
    """A file from outside; empty where there is none. It must not be opened while a library is."""
    try:
        found = os.stat(path)
    except OSError:
        return ()
    return found.st_ino, found.st_size, found.st_mtime_ns


def open_library(path: Path | str) -> Library:
    """Open a library for reading, to be closed by ``with``.

    LibraryMissing, LibraryVersion, LibraryDamaged or LibraryBusy when it cannot be.
    """
    library = Library(Path(path))
    with library.reading():
        return library


def facts_of(
    connection: duckdb.DuckDBPyConnection, plies: int, scales: Scales, results: Results
) -> Facts:
    """The facts of what a connection leads to; the rest as `summary_of` has it."""
    collections = connection.execute("SELECT name, id FROM collections ORDER BY name").fetchall()
    people = _people(connection, [name for name, _ in collections])
    return Facts(plies, dict(collections), scales, results, people)


def _people(connection: duckdb.DuckDBPyConnection, collections: list[str]) -> tuple[str, ...]:
    """The players whose whole name stands in a collection's name, in any spelling."""
    # A hyphen joins words of a name, or stands for the blank between them.
    words = [
        re.findall(word, name)[:MOST_WORDS]
        for name in collections
        for word in (r"[^\s,._]+", r"[^\W_]+")
    ]
    spans = {" ".join(w[i:j]) for w in words for i, j in combinations(range(len(w) + 1), 2)}
    rows = connection.execute(
        "SELECT name FROM players WHERE same IN (SELECT unnest($1)) ORDER BY name",
        [sorted(map(same_name, spans))],
    ).fetchall()
    return tuple(name for (name,) in rows)
