"""The whole way from PGN files into a library.

Three stages overlap: reading and splitting, replaying, writing. Each file is
one transaction, and DuckDB is open for that long only; the sidecar lock stands
for the whole command.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Sequence
from contextlib import closing
from dataclasses import dataclass, field, fields, replace
from pathlib import Path

import duckdb

from ingest import locks, runs, schema
from ingest.door import Door
from ingest.driver import MISSING, driver_errors
from ingest.errors import InputError, LibraryMissing, UsageError
from ingest.levels import HIGHEST_RATING
from ingest.loader import Chunk, Counts, FileEntry, FileLoader, Known, already_in
from ingest.players import remember
from ingest.reading import Reader, ReadHere, Reading
from ingest.replay import REJECTED
from ingest.sources import find_sources
from ingest.tags import Pace
from ingest.tombstones import Tombstones

FIRST_REJECTS = 5  # that a report names


@dataclass(frozen=True, slots=True)
class AddOptions:
    """How games are read. ``pace`` and ``unrated_as`` stand in for tags that are missing.

    ``plies`` is the number that a new library keeps of each game; None takes
    the library's own. ``any_size`` lets packed files unpack to whatever they will.
    ``door`` looks at the games as the other options made them. ``remember`` are
    forgotten names that the library shall know again, from before the first file.
    """

    plies: int | None = None
    pace: Pace | None = None
    unrated_as: int | None = None
    rating_scale: str | None = None
    strict: bool = False
    any_size: bool = False
    door: Door = field(default_factory=Door)
    remember: tuple[str, ...] = ()

    def reader(self, plies: int) -> Reader:
        """What reads games for a library that keeps so many plies."""
        return Reader(plies, self.pace, self.unrated_as, self.strict, self.door)

    @property
    def supplied(self) -> str:
        """The options that stand in for missing tags, as the ledger has them."""
        return _said(self._supplied)

    @property
    def written(self) -> str:
        """All options that change what is stored, as the ledger has them."""
        strict = {"strict": "yes" if self.strict else None}
        return _said(self._supplied | strict | self.door.written)

    @property
    def _supplied(self) -> dict[str, str | None]:
        return {
            "pace": self.pace.word if self.pace else None,
            "rating-scale": self.rating_scale,
            "unrated-as": None if self.unrated_as is None else str(self.unrated_as),
        }


def _said(options: dict[str, str | None]) -> str:
    return " ".join(f"{name}={options[name]}" for name in sorted(options) if options[name])


@dataclass(frozen=True, slots=True)
class FileReport:
    """What became of one source. ``error`` is why nothing of it was kept."""

    name: str
    found: int = 0
    added: int = 0
    duplicates: int = 0
    rejected: int = 0
    left_out: int = 0
    cut_short: int = 0
    already_in: bool = False
    encoding: str = ""
    error: str | None = None


@dataclass(frozen=True, slots=True)
class FirstReject:
    """One of the first rejected games, for the closing summary."""

    file: str
    game_number: int
    line: int
    reason: str


@dataclass(frozen=True, slots=True)
class AddReport:
    """What `add_collection` did, file by file and together.

    ``collection`` is what the library calls it: without a forgotten name.
    """

    files: tuple[FileReport, ...]
    totals: Counts
    first_rejects: tuple[FirstReject, ...]
    seconds: float
    collection: str = ""


@dataclass(frozen=True, slots=True)
class Progress:
    """How far an `add` is in one source. ``bytes_total`` is None when nobody knows."""

    name: str
    games: int
    bytes_done: int
    bytes_total: int | None


Listener = Callable[[Progress], None]
Readings = Callable[[int], Iterable[Reading]]


def add_collection(
    library: Path,
    paths: Sequence[str],
    collection: str,
    options: AddOptions | None = None,
    progress: Listener | None = None,
) -> AddReport:
    """Add PGN files to a collection, making library and collection when they are not there.

    Each file enters whole or not at all. One that cannot be read is named in
    its report, and the others go on. A new library into which nothing came is
    taken away again. Raises InputError when a path leads
    nowhere, UsageError for options out of range, NothingFound for a name to remember
    that is not forgotten, LibraryError and its kinds.
    """
    options = options or AddOptions()
    _check(collection, options)
    sources = find_sources(paths, any_size=options.any_size)

    def read_here(plies: int) -> Iterable[Reading]:
        return [ReadHere(source, options.reader(plies)) for source in sources]

    return add_readings(library, read_here, collection, options, progress)


def add_readings(
    library: Path,
    readings: Readings,
    collection: str,
    options: AddOptions,
    progress: Listener | None = None,
) -> AddReport:
    """The same with what ``readings`` makes of the number of plies that the library keeps.

    One after the other is asked for, and taken to its end before the next.
    """
    began = time.monotonic()
    _check(collection, options)
    with locks.held(library), driver_errors(library):
        adding = _Adding(library, collection, options, progress or _deaf)
        try:
            reports = [adding.add(reading) for reading in readings(adding.plies)]
        finally:
            adding.leave()
        if library.exists():
            runs.tidy(library)
    totals = Counts()
    for report in reports:
        totals += Counts(*(getattr(report, field.name) for field in fields(Counts)))
    seconds = time.monotonic() - began
    rejects = tuple(adding.first_rejects)
    return AddReport(tuple(reports), totals, rejects, seconds, adding.collection)


def _deaf(_: Progress) -> None:
    """Hear nothing."""


def _check(collection: str, options: AddOptions) -> None:
    if not collection.strip():
        raise UsageError("--collection: the name is empty; give the games a name")
    if options.unrated_as is not None and not 1 <= options.unrated_as <= HIGHEST_RATING:
        raise UsageError(
            f"--unrated-as {options.unrated_as}: not a rating; "
            f"choose one between 1 and {HIGHEST_RATING}"
        )


def _name_for(connection: duckdb.DuckDBPyConnection, forgotten: Tombstones, collection: str) -> str:
    """The collection's name without forgotten ones, the same each time."""
    taken = [name for (name,) in connection.execute("SELECT name FROM collections").fetchall()]
    clean, row = forgotten.collection(collection, taken)
    if row:
        connection.execute("INSERT INTO meta VALUES (?, ?)", row)
    return clean


class _Adding:
    """One `add` under way."""

    def __init__(
        self, library: Path, collection: str, options: AddOptions, progress: Listener
    ) -> None:
        self._library, self._progress = library, progress
        self._known: Known | None = None
        self.first_rejects: list[FirstReject] = []
        self._for_nothing = not library.exists()  # made here, and no file in it yet
        if self._for_nothing and options.remember:
            raise LibraryMissing(f"{library}: {MISSING}")
        if self._for_nothing:
            schema.create(library, options.plies or schema.DEFAULT_PLIES)
        with schema.open_for_writing(library) as connection:
            self.plies = int(schema.read_meta(connection)["plies"])
            for name in options.remember:
                with schema.transaction(connection):
                    remember(connection, Tombstones(schema.read_meta(connection)), name)
            self._forgotten = Tombstones(schema.read_meta(connection))
            self.collection = _name_for(connection, self._forgotten, collection)
        if options.rating_scale:
            scale = self._forgotten.whole(options.rating_scale)
            options = replace(options, rating_scale=scale)
        self._options = options
        if options.plies not in (None, self.plies):
            raise UsageError(
                f"--moves: {library} keeps {self.plies / 2:g} moves of each game, "
                f"not {options.plies / 2:g}; leave --moves out or add to another library"
            )

    def add(self, source: Reading) -> FileReport:
        """One source, in a transaction of its own."""
        try:
            entry = FileEntry(
                self._forgotten.label(source.name),
                source.sha256(),
                self._options.written,
                self.collection,
                self._options.supplied,
                self._options.rating_scale,
            )
            with closing(schema.open_for_writing(self._library)) as connection:
                if already_in(connection, entry):
                    return FileReport(source.name, already_in=True)
                return self._load(connection, source, entry)
        except InputError as error:
            self._known = None  # it may know games that were rolled back
            return FileReport(source.name, error=str(error))

    def leave(self) -> None:
        """Leave no library behind that was made for nothing."""
        if self._for_nothing:
            schema.discard(self._library)

    def _load(
        self, connection: duckdb.DuckDBPyConnection, source: Reading, entry: FileEntry
    ) -> FileReport:
        known = self._known or Known(connection)
        self._known = None
        with schema.transaction(connection):
            loader = FileLoader(connection, known, entry)
            encoding = ""
            rejects: list[FirstReject] = []
            with closing(source.steps()) as steps:
                for step in steps:
                    loader.take(step.chunk)
                    encoding = step.encoding
                    rejects += _rejects(source.name, step.chunk)[: FIRST_REJECTS - len(rejects)]
                    found = loader.counts.found
                    self._progress(Progress(source.name, found, step.bytes_done, source.size))
            still_good = loader.finish(encoding)
        self._for_nothing = False
        if still_good:
            self._known = known
        self.first_rejects += rejects[: FIRST_REJECTS - len(self.first_rejects)]
        counts = {field.name: getattr(loader.counts, field.name) for field in fields(Counts)}
        return FileReport(source.name, **counts, encoding=encoding)


def _rejects(file: str, chunk: Chunk) -> list[FirstReject]:
    return [
        FirstReject(file, remark.game_number, remark.line, remark.reason)
        for remark in chunk.remarks
        if remark.kind == REJECTED
    ]
