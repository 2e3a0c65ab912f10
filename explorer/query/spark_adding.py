"""Files read by Spark, each on the next free core, and settled here into a dataset.

Reading and replaying are shared out. What is read comes back in the order in which
the files were named, to the one writer that every `add` has: so duplicates, tags and the
ledger are what they are without Spark, however the files were shared out.
"""

from __future__ import annotations

from collections.abc import Generator, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from itertools import groupby
from operator import itemgetter
from pathlib import Path
from typing import TYPE_CHECKING, Any

from explorer.query.spark_session import quiet, session, spark_errors
from ingest.errors import InputError, UsageError
from ingest.parquet import Moved, beside, export_parquet, free
from ingest.pipeline import AddOptions, AddReport, add_readings
from ingest.reading import Reader, Reading, Step
from ingest.sources import STANDARD_INPUT, Source, find_sources

if TYPE_CHECKING:
    from pyspark import RDD

Piece = str | Step | InputError  # a file's hash, its games, or why they cannot be read


def add_with_spark(
    folder: Path,
    paths: Sequence[str],
    collection: str,
    options: AddOptions | None = None,
    *,
    master: str | None = None,
    partitions: int | None = None,
) -> tuple[AddReport, Moved | None]:
    """Make a dataset of PGN files, equal to that of a library to which they were added.

    Shared out in so many ``partitions``, each file alone if None. The dataset appears
    whole or not at all; there is none, and no `Moved`, when no file could be read.
    UsageError when something is at ``folder``, or for a pipe; EngineTrouble when Spark cannot
    run or breaks down; the errors of `add_collection` besides.
    """
    options = options or AddOptions()
    if STANDARD_INPUT in paths:
        raise UsageError("-: a pipe cannot be read by several; save it as a file and name that")
    sources = find_sources(paths, any_size=options.any_size)
    with free(folder), beside(folder, ".adding") as place:
        spark = session(master).sparkContext
        library = place / "library.duckdb"

        def read(plies: int) -> Iterable[Reading]:
            work = partial(_pieces, reader=options.reader(plies))
            shared = spark.parallelize(list(enumerate(sources)), partitions or len(sources))
            return _read(shared.flatMap(work), sources, str(folder))

        report = add_readings(library, read, collection, options)
        return report, export_parquet(library, folder) if library.exists() else None


def _pieces(numbered: tuple[int, Source], *, reader: Reader) -> Iterator[tuple[int, Piece]]:
    """What runs elsewhere: one file, read."""
    number, source = numbered
    try:
        yield number, source.sha256()
        for step in reader.steps(source):
            chunk = step.chunk
            excerpts = tuple(map(chunk.excerpt, range(len(chunk.numbers))))
            chunk = replace(chunk, excerpt=excerpts.__getitem__)  # which can be sent
            yield number, step._replace(chunk=chunk)
    except InputError as error:
        yield number, error


def _read(pieces: RDD[Any], sources: Sequence[Source], place: str) -> Iterator[Reading]:
    """The files, in order, once all of them are read."""
    from pyspark import StorageLevel

    with spark_errors(place), quiet():
        pieces.persist(StorageLevel.DISK_ONLY)
        pieces.count()
    arriving = _arriving(pieces, place)
    for number, own in groupby(arriving, itemgetter(0)):
        yield ReadElsewhere(sources[number], _sound(own))
    with spark_errors(place):
        pieces.unpersist()


def _arriving(pieces: RDD[Any], place: str) -> Iterator[tuple[int, Piece]]:
    with spark_errors(place):
        yield from pieces.toLocalIterator(prefetchPartitions=True)


@dataclass(frozen=True, slots=True)
class ReadElsewhere:
    """A source that Spark has read."""

    source: Source
    pieces: Iterator[str | Step]

    @property
    def name(self) -> str:
        """What the source is called."""
        return self.source.name

    @property
    def size(self) -> int | None:
        """Of the file as it lies there."""
        return self.source.size

    def sha256(self) -> str:
        """The hash of the file, which is the first that comes."""
        return str(next(self.pieces))

    def steps(self) -> Generator[Step]:
        """Its games, which come next."""
        for piece in self.pieces:
            if isinstance(piece, Step):
                yield piece


def _sound(numbered: Iterable[tuple[int, Piece]]) -> Iterator[str | Step]:
    for _, piece in numbered:
        if isinstance(piece, InputError):
            raise piece
        yield piece
