"""One source of games -> chunks, ready to be written: what needs no library to be open.

Here or elsewhere: all that this needs, and all that it makes, can be sent to another process.
"""

from __future__ import annotations

from collections.abc import Generator
from contextlib import closing
from dataclasses import dataclass
from typing import NamedTuple, Protocol

import numpy as np
from numpy.typing import NDArray

from ingest import schema
from ingest.door import Door, Doorkeeper, only_games
from ingest.loader import Chunk, LedgerRow
from ingest.replay import REJECTED, Batch, replay
from ingest.sources import Source
from ingest.splitter import Block, split
from ingest.stages import overlapped
from ingest.tags import Pace, columns

BLOCK_BYTES = 2 << 20  # of text in one step; twice as much costs 150 MB and gains nothing
AHEAD = 12  # steps replayed and waiting while a run is written; 5 MB each


class Step(NamedTuple):
    """A chunk, the encoding of the file so far, and how many of its bytes have been read."""

    chunk: Chunk
    encoding: str
    bytes_done: int


class Reading(Protocol):
    """A source as it is read. ``size`` in bytes is None when unknown."""

    @property
    def name(self) -> str:
        """What the source is called."""

    @property
    def size(self) -> int | None:
        """Of the file as it lies there."""

    def sha256(self) -> str:
        """The hash of the file, 64 hex digits. InputError when it cannot be read."""

    def steps(self) -> Generator[Step]:
        """Its games, in order. InputError when it cannot be read to its end."""


@dataclass(frozen=True, slots=True)
class Reader:
    """How games are read; the values are those of `pipeline.AddOptions`."""

    plies: int
    pace: Pace | None
    unrated_as: int | None
    strict: bool
    door: Door

    def steps(self, source: Source) -> Generator[Step]:
        """The games of a source; the stages before writing, each in its thread."""
        blocks = overlapped(split(source.chunks(), block_bytes=BLOCK_BYTES))
        return overlapped(self._replayed(source, blocks), AHEAD)

    def _replayed(self, source: Source, blocks: Generator[Block]) -> Generator[Step]:
        keeper = Doorkeeper(self.door)
        with closing(blocks):
            for block in blocks:
                yield Step(self._chunk(block, keeper), block.encoding, source.bytes_done)

    def _chunk(self, block: Block, keeper: Doorkeeper) -> Chunk:
        """Replay a block's games, read their tags, and let in those that may come."""
        games = np.arange(len(block.starts))
        sound = games[:0] if keeper.closed else np.setdiff1d(games, list(block.faults))
        batch = replay(
            block.text,
            block.starts[sound],
            block.ends[sound],
            block.careful[sound],
            plies=self.plies,
            strict=self.strict,
        )
        tags = columns(batch.headers, pace=self.pace, unrated_as=self.unrated_as)
        rows = keeper.let_in(batch, tags)
        readable = sound[batch.index]
        inside = readable[rows]
        end = len(games)  # of the games that are looked at
        if keeper.closed:
            end = int(inside[-1]) + 1 if len(inside) else 0
        remarks = _remarks(block, sound, batch, set(inside.tolist()), end)
        if len(rows) < len(readable):
            batch, tags = only_games(batch, rows), tags.take(rows)
        return Chunk(
            found=len(games),
            rejected=sum(remark.kind == REJECTED for remark in remarks),
            left_out=len(games) - end + int((readable < end).sum()) - len(rows),
            batch=batch,
            tags=tags,
            numbers=block.first_number + inside,
            lines=block.lines[inside],
            remarks=remarks,
            excerpt=lambda row: _excerpt(block, int(inside[row])),
        )


@dataclass(frozen=True, slots=True)
class ReadHere:
    """A source read in this process."""

    source: Source
    reader: Reader

    @property
    def name(self) -> str:
        """What the source is called."""
        return self.source.name

    @property
    def size(self) -> int | None:
        """Of the file as it lies there."""
        return self.source.size

    def sha256(self) -> str:
        """Of the file as it lies there."""
        return self.source.sha256()

    def steps(self) -> Generator[Step]:
        """Its games, in order."""
        return self.reader.steps(self.source)


def _remarks(
    block: Block, sound: NDArray[np.int64], batch: Batch, inside: set[int], end: int
) -> list[LedgerRow]:
    """What the ledger says of single games, by game number: of the rejected ones before
    ``end``, and of those that came in."""
    said = [(index, REJECTED, reason) for index, reason in block.faults.items()]
    said += [
        (int(sound[remark.index]), remark.kind, remark.reason)
        for remark in (*batch.rejects, *batch.remarks)
    ]
    return [
        LedgerRow(
            block.first_number + index,
            int(block.lines[index]),
            kind,
            reason,
            _excerpt(block, index),
        )
        for index, kind, reason in sorted(said)
        if index in inside or (kind == REJECTED and index < end)
    ]


def _excerpt(block: Block, index: int) -> str:
    """The first characters of a game's text; one takes four bytes at most."""
    start = int(block.starts[index])
    end = min(int(block.ends[index]), start + 4 * schema.EXCERPT)
    return block.text[start:end].decode("utf-8", "ignore")[: schema.EXCERPT]
