"""Arrays -> rows: one file's games into the library, whole or not at all.

Visits are gathered until they make a sorted run worth having; games and records
go with them. What follows from all records of the file (tags that give way to
better ones, memberships, the ledger) is settled in SQL when the file ends.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, fields
from typing import NamedTuple

import duckdb
import numpy as np
import pyarrow as pa
from numpy.typing import NDArray

from ingest import rows, runs, schema, settling
from ingest.duplicates import SHA_DIGITS, Fingerprints, KnownGames, Verdict, date_codes
from ingest.players import Players
from ingest.replay import Batch
from ingest.tags import TagColumns
from ingest.tombstones import Tombstones

I64 = NDArray[np.int64]

RUN_ROWS = 3_000_000  # visits gathered for one run
DUPLICATES_NAMED = 1_000  # of one file; all are counted


class LedgerRow(NamedTuple):
    """One line about one game of a file, as in `rejects`."""

    game_number: int
    line: int
    kind: str
    reason: str
    excerpt: str


@dataclass(frozen=True, slots=True)
class Chunk:
    """A stretch of a file's games, read and replayed: n found, G of them readable and let in.

    ``numbers`` (G) are these games' numbers in the file, ``lines`` the
    lines that they begin in; ``excerpt`` gives the beginning of a row's text.
    """

    found: int
    rejected: int
    left_out: int
    batch: Batch
    tags: TagColumns
    numbers: I64
    lines: I64
    remarks: list[LedgerRow]
    excerpt: Callable[[int], str]


@dataclass(slots=True)
class Counts:
    """found = added + duplicates + rejected + left_out; cut_short are among the added."""

    found: int = 0
    added: int = 0
    duplicates: int = 0
    rejected: int = 0
    left_out: int = 0
    cut_short: int = 0

    def __add__(self, other: Counts) -> Counts:
        """The counts of both together."""
        names = [field.name for field in fields(self)]
        return Counts(*(getattr(self, name) + getattr(other, name) for name in names))

    def add_up(self) -> bool:
        """Whether the identity holds."""
        told = self.added + self.duplicates + self.rejected + self.left_out
        return self.found == told and self.cut_short <= self.added


@dataclass(frozen=True, slots=True)
class FileEntry:
    """What the ledger says of a file before it is read.

    ``supplied`` are those of the ``options`` that stand in for missing tags.
    """

    name: str
    sha256: str
    options: str
    collection: str
    supplied: str = ""
    rating_scale: str | None = None

    @property
    def source(self) -> str:
        """Where tags come from, as `games.source` has it: the file, and what was supplied."""
        return f"{self.sha256} {self.supplied}".rstrip()


class Known:
    """What the library holds already, in memory while an `add` lasts.

    Belongs to the last committed state of the library: load it anew after a
    file that was rolled back.
    """

    def __init__(self, connection: duckdb.DuckDBPyConnection) -> None:
        """Read it from a library."""
        meta = schema.read_meta(connection)
        self.fingerprints = Fingerprints(meta["fingerprint_key"])
        self.forgotten = Tombstones(meta)
        self.games = KnownGames(connection)
        self.players = Players(connection, self.forgotten)
        self.next_game = _next_id(connection, "games")
        self.names: dict[str, str] = dict(
            connection.execute("SELECT sha256, name FROM files ORDER BY id DESC").fetchall()
        )


def _next_id(connection: duckdb.DuckDBPyConnection, table: str) -> int:
    (highest,) = connection.execute(f"SELECT coalesce(max(id), 0) FROM {table}").fetchall()[0]
    return int(highest) + 1


def already_in(connection: duckdb.DuckDBPyConnection, entry: FileEntry) -> bool:
    """Whether this file, with these options, is in this collection."""
    return bool(
        connection.execute(
            "SELECT 1 FROM files JOIN collections ON collections.id = collection_id "
            "WHERE sha256 = ? AND options = ? AND collections.name = ?",
            [entry.sha256, entry.options, entry.collection],
        ).fetchall()
    )


class FileLoader:
    """Takes the chunks of one file, inside the caller's transaction."""

    def __init__(
        self, connection: duckdb.DuckDBPyConnection, known: Known, entry: FileEntry
    ) -> None:
        """Begin a file; ``known`` grows with what it brings."""
        self._connection, self._known, self._entry = connection, known, entry
        self._source = known.games.source_number(entry.source)
        self._file_id = _next_id(connection, "files")
        self._visits: list[rows.VisitRows] = []
        self._games: list[pa.Table] = []
        self._replaced: list[pa.Table] = []
        self._records: list[pa.Table] = []
        self._remarks: list[LedgerRow] = []
        self._apart: list[int] = []
        self._duplicates_named = 0
        self.counts = Counts()
        known.names.setdefault(entry.sha256, entry.name)
        settling.begin(connection)

    def take(self, chunk: Chunk) -> None:
        """Decide what is new in a chunk and keep it for the next run."""
        batch, tags, known = chunk.batch, chunk.tags, self._known
        prints = known.fingerprints.of(batch, tags, self._entry.sha256, chunk.numbers)
        dates = date_codes(tags.year, tags.month, tags.day)
        verdict = known.games.judge(prints, dates, chunk.numbers, self._source, known.next_game)
        known.next_game += int(verdict.new.sum())
        players = known.players.numbers(tags.white), known.players.numbers(tags.black)
        if known.forgotten:  # the fingerprints are those of the tags as the file has them
            tags = known.forgotten.clean_tags(tags)
        table = rows.tag_table(tags, chunk.numbers)
        self._games.append(rows.games_table(batch, table, players, prints, verdict))
        if verdict.replaced:
            self._replaced.append(rows.replaced_table(table, verdict.replaced, batch.start_fen))
        self._records.append(rows.records_table(tags, chunk.numbers, verdict))
        self._apart += verdict.apart
        self._tell(chunk, verdict)
        self._visits.append(rows.visit_rows(batch, tags, players, verdict))
        if sum(map(len, self._visits)) >= RUN_ROWS:
            self._flush()

    def _tell(self, chunk: Chunk, verdict: Verdict) -> None:
        """Count, and name the duplicates up to a bound."""
        added = int(verdict.new.sum())
        cut_short = int((verdict.new & (chunk.batch.cut_ply >= 0)).sum())
        duplicates = len(verdict.new) - added
        self.counts += Counts(
            chunk.found, added, duplicates, chunk.rejected, chunk.left_out, cut_short
        )
        forgotten = self._known.forgotten
        self._remarks += [
            remark._replace(
                reason=forgotten.reason(remark.kind, remark.reason),
                excerpt=forgotten.excerpt(remark.excerpt),
            )
            for remark in chunk.remarks
        ]
        for row, (source, number) in verdict.equals.items():
            if self._duplicates_named == DUPLICATES_NAMED:
                break
            self._duplicates_named += 1
            sha256 = self._known.games.sources[source][:SHA_DIGITS]
            name = self._known.names.get(sha256, "a removed file")
            reason = f"the same game as number {number} of {name}"
            self._remarks.append(
                LedgerRow(
                    int(chunk.numbers[row]),
                    int(chunk.lines[row]),
                    "duplicate",
                    reason,
                    forgotten.excerpt(chunk.excerpt(row)),
                )
            )

    def _flush(self) -> None:
        connection, file_id = self._connection, {"file_id": self._file_id}
        own = {"source": self._entry.source, "rating_scale": self._entry.rating_scale}
        if self._visits:
            visits = rows.sorted_visits(self._visits)
            self._visits.clear()
            runs.append(connection, visits)
        settling.insert(connection, "games", self._games, own)
        settling.insert(connection, "replaced", self._replaced, own)
        settling.insert(connection, "records", self._records, file_id)
        if self._remarks:
            columns = zip(LedgerRow._fields, zip(*self._remarks, strict=True), strict=True)
            settling.insert(connection, "rejects", [pa.table(dict(columns))], file_id)
        for kept in (self._games, self._replaced, self._records, self._remarks):
            kept.clear()

    def finish(self, encoding: str) -> bool:
        """Settle the file and write its line in the ledger; the caller commits.

        False when `Known` must be loaded anew before the next file.
        """
        if not self.counts.add_up():
            raise AssertionError(f"{self._entry.name}: the counts do not add up: {self.counts}")
        self._flush()
        connection = self._connection
        self._known.players.save(connection)
        settling.give_way(connection)
        collection_id = self._collection()
        connection.execute(
            "INSERT INTO files VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
            [
                self._file_id,
                collection_id,
                self._entry.name,
                self._entry.sha256,
                self._entry.options,
                encoding,
                *(getattr(self.counts, field.name) for field in fields(Counts)),
            ],
        )
        games_went = settling.join(connection, self._file_id, self._apart)
        if games_went:
            runs.recount_runs(connection)
        return not games_went

    def _collection(self) -> int:
        name, connection = self._entry.collection, self._connection
        found = connection.execute("SELECT id FROM collections WHERE name = ?", [name]).fetchall()
        if found:
            return int(found[0][0])
        number = _next_id(connection, "collections")
        connection.execute("INSERT INTO collections VALUES (?, ?)", [number, name])
        return number
