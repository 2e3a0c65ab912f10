"""Filters at the door: which of a file's readable games are let in.

What a door lets in depends on the file alone, never on what the library holds
already: an `add` that was broken off and is run again takes the same games, and
the order of adding does not matter.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

import numpy as np
import pyarrow as pa
from numpy.typing import NDArray

from ingest.duplicates import Fingerprints
from ingest.errors import UsageError
from ingest.levels import HIGHEST_RATING, Level
from ingest.poskey import I64
from ingest.replay import Batch
from ingest.tags import Pace, TagColumns
from ingest.visits import Visits

# Not a secret, so that a sample is the same in every library; never stored.
_SAMPLING = "00"


@dataclass(frozen=True, slots=True)
class Door:
    """Which games may come in; the others are left out, and counted.

    ``level``: both players are of it. ``paces``: it is one of these. ``sample``:
    a fraction of the games, chosen by who played what, so that all records of a
    game share its fate and a smaller sample is part of a larger one. ``limit``:
    so many games of each file, the first that pass the rest; what comes after
    them in the file is left out unread. UsageError for values out of range.
    """

    level: Level | None = None
    paces: tuple[Pace, ...] = ()
    sample: float | None = None
    limit: int | None = None

    def __post_init__(self) -> None:
        """Refuse values out of range."""
        if self.sample is not None and not 0 < self.sample <= 1:
            raise UsageError(_no_sample(f"{self.sample:g}"))
        if self.limit is not None and self.limit < 1:
            raise UsageError(f"--limit {self.limit}: not a number of games; choose 1 or more")

    @property
    def written(self) -> dict[str, str | None]:
        """The filters as the ledger has them."""
        return {
            "limit": None if self.limit is None else str(self.limit),
            "only-level": self.level.typed if self.level else None,
            "only-pace": ",".join(sorted({pace.word for pace in self.paces})) or None,
            "sample": None if self.sample is None else repr(float(self.sample)),
        }


def parse_sample(text: str) -> float:
    """``0.1`` -> the fraction. UsageError unless it is above 0 and at most 1."""
    try:
        sample = float(text.replace(",", "."))
    except ValueError:
        raise UsageError(_no_sample(text)) from None
    Door(sample=sample)  # looks at its range
    return sample


def _no_sample(text: str) -> str:
    return (
        f"--sample {text}: not a fraction above 0 and at most 1; "
        "write for example --sample 0.1 for a tenth of the games"
    )


class Doorkeeper:
    """Lets games of one file in, in their order."""

    def __init__(self, door: Door) -> None:
        """Begin a file."""
        self._door = door
        self._places = door.limit  # left; None: without end
        self._prints = Fingerprints(_SAMPLING)

    @property
    def closed(self) -> bool:
        """Whether no more games of the file come in."""
        return self._places == 0

    def let_in(self, batch: Batch, tags: TagColumns) -> I64:
        """The rows of the games that come in."""
        rows = np.flatnonzero(self._fitting(batch, tags))
        if self._places is not None:
            rows = rows[: self._places]
            self._places -= len(rows)
        return rows

    def _fitting(self, batch: Batch, tags: TagColumns) -> NDArray[np.bool_]:
        door = self._door
        fits = np.ones(len(batch.index), np.bool_)
        if door.level:
            for ratings in (tags.white_rating, tags.black_rating):
                fits &= _of_level(ratings, door.level)
        if door.paces:
            fits &= np.isin(tags.pace, door.paces)
        if door.sample is not None:
            # The upper 53 bits, as a fraction: exactly what a float holds.
            place = (self._prints.of_contents(batch, tags) >> np.uint64(11)) * 2.0**-53
            fits &= place < door.sample
        return fits


def _of_level(ratings: NDArray[np.uint16], level: Level) -> NDArray[np.bool_]:
    """Which ratings, 0 for none, are of a level."""
    low, high = 0, 0
    if level.rated:
        low = max(level.low or 0, 1)
        high = HIGHEST_RATING if level.high is None else level.high
    inside: NDArray[np.bool_] = (low <= ratings) & (ratings <= high)
    return inside


def only_games(batch: Batch, rows: I64) -> Batch:
    """Some games of a batch, by rising row numbers, without its remarks."""
    row_of = np.full(len(batch.index), -1)
    row_of[rows] = np.arange(len(rows))
    game = row_of[batch.game]
    visits = batch.take(game >= 0)
    lengths = np.diff(batch.move_offsets)
    kept = np.zeros(len(batch.index), np.bool_)
    kept[rows] = True
    return replace(
        batch,
        **{field.name: getattr(visits, field.name) for field in fields(Visits)}
        | {"game": game[game >= 0]},
        index=batch.index[rows],
        headers=batch.headers.take(pa.array(rows)),
        result=batch.result[rows],
        ending=batch.ending[rows],
        cut_ply=batch.cut_ply[rows],
        start_fen=[batch.start_fen[row] for row in rows],
        moves=batch.moves[np.repeat(kept, lengths)],
        move_offsets=np.concatenate(([0], np.cumsum(lengths[rows]))),
        rejects=[],
        remarks=[],
    )
