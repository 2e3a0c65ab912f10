"""Batches of games as Arrow tables, made from numpy arrays without copies.

Numpy arrays have no NULL: 0 stands for it, or the constants below, until the INSERT.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pyarrow as pa
from numpy.typing import NDArray

from ingest.duplicates import U64, Verdict
from ingest.replay import Batch
from ingest.tags import TagColumns

I64 = NDArray[np.int64]

NO_HALF_POINTS = 255
NO_SWING = -128
NO_DAY = int(np.iinfo(np.int32).min)

# Tags that give way when a duplicate's are better, beside the players' ratings.
_TEXT_TAGS = ("event", "site", "round", "time_control", "termination")
_NUMBER_TAGS = ("white_rating", "black_rating", "year", "month", "day", "pace")


def days(played: NDArray[np.datetime64]) -> NDArray[np.int32]:
    """Calendar dates as days since 1970, NO_DAY for a vague one."""
    return np.where(np.isnat(played), NO_DAY, played.astype(np.int64)).astype(np.int32)


def _pairs(black: NDArray[np.generic], white: NDArray[np.generic]) -> NDArray[np.generic]:
    """The values of the players on move, by seat."""
    return np.stack([black, white], axis=1).ravel()


@dataclass(frozen=True, slots=True)
class VisitRows:
    """The visits of a batch's new games, n of them, in order of game and ply.

    ``small`` are four bytes: piece, ply, swing (or NO_SWING) and mated. ``seat`` is
    2 * game, plus one when White moves: the place in each of ``seats``, where what
    depends on game and colour only stands once.
    """

    key: U64
    move: NDArray[np.uint16]
    small: NDArray[np.uint32]
    seat: NDArray[np.uint32]
    seats: dict[str, NDArray[np.generic]]

    def __len__(self) -> int:
        """The number of visits."""
        return len(self.key)


def visit_rows(
    batch: Batch,
    tags: TagColumns,
    players: tuple[NDArray[np.uint32], NDArray[np.uint32]],
    verdict: Verdict,
) -> VisitRows:
    """The visits of a batch's new games; ``players`` are White's and Black's numbers."""
    of = verdict.tags_of
    kept = slice(None) if verdict.new.all() else verdict.new[batch.game]
    white_rating, black_rating = tags.white_rating[of], tags.black_rating[of]
    result = batch.result.astype(np.uint8)  # unknown, -1, becomes NO_HALF_POINTS
    blacks = np.where(batch.result < 0, NO_HALF_POINTS, np.int16(2) - batch.result).astype(np.uint8)
    swing = np.where(batch.swing_known[kept], batch.swing[kept], NO_SWING).astype(np.int8)
    small = (batch.piece[kept], batch.ply[kept], swing.view(np.uint8), batch.mated[kept])
    return VisitRows(
        key=batch.key[kept],
        move=batch.move[kept],
        small=np.stack(small, axis=1, dtype=np.uint8).view(np.uint32).ravel(),
        seat=(2 * batch.game[kept] + batch.white_to_move[kept]).astype(np.uint32),
        seats={
            "game_id": np.repeat(verdict.game_id, 2),
            "mover_id": _pairs(players[1], players[0]),
            "mover_rating": _pairs(black_rating, white_rating),
            "opponent_rating": _pairs(white_rating, black_rating),
            "half_points": _pairs(blacks, result),
            "pace": np.repeat(tags.pace[of], 2),
            "played": np.repeat(days(tags.played)[of], 2),
        },
    )


def sorted_visits(parts: Sequence[VisitRows]) -> pa.Table:
    """The visits of one or more batches as rows of `visits`, in order of key, move and game.

    Sorted here and not in SQL, because what stands once for each game need not be moved.
    """

    def column(name: str) -> Any:
        return np.concatenate([getattr(part, name) for part in parts])

    key, move = column("key"), column("move")
    # Numbers of 16 bits are sorted by radix.
    order = np.lexsort((move, *key.astype("<u8", copy=False).view("<u2").reshape(-1, 4).T))
    columns = {"key": key[order], "move": move[order]}
    del key, move  # a run is large: one column at a time
    piece, ply, swing, mated = column("small")[order].view(np.uint8).reshape(-1, 4).T
    columns |= {"piece": piece, "ply": ply, "swing": swing.view(np.int8), "mated": mated}
    sizes = [len(part.seats["game_id"]) for part in parts]
    firsts = (np.cumsum(sizes) - sizes).astype(np.uint32)
    seats = [part.seat + first for part, first in zip(parts, firsts, strict=True)]
    seat = np.concatenate(seats)[order]
    for name in parts[0].seats:
        columns[name] = np.concatenate([part.seats[name] for part in parts])[seat]
    return pa.table({name: pa.array(values) for name, values in columns.items()})


def tag_table(tags: TagColumns, numbers: I64) -> pa.Table:
    """The tags of a batch that `games` keeps as read, one row a game."""
    columns = {name: pa.array(getattr(tags, name)) for name in (*_TEXT_TAGS, *_NUMBER_TAGS)}
    columns["played"] = pa.array(days(tags.played))
    columns["game_number"] = pa.array(numbers.astype(np.uint32))
    return pa.table(columns)


def games_table(
    batch: Batch,
    tags: pa.Table,
    players: tuple[NDArray[np.uint32], NDArray[np.uint32]],
    prints: U64,
    verdict: Verdict,
) -> pa.Table:
    """The new games of a batch as rows of `games`."""
    every = bool(verdict.new.all())
    rows = np.flatnonzero(verdict.new)
    of = verdict.tags_of[rows]
    table = tags if every and np.array_equal(of, rows) else tags.take(pa.array(of))
    mainline = pa.ListArray.from_arrays(
        pa.array(batch.move_offsets.astype(np.int32)), pa.array(batch.moves)
    )
    own = {
        "id": verdict.game_id[rows],
        "white_id": players[0][rows],
        "black_id": players[1][rows],
        "result": batch.result[rows],
        "start_fen": pa.array([batch.start_fen[row] for row in rows.tolist()], pa.string()),
        "ending": batch.ending[rows],
        "cut_short": (batch.cut_ply[rows] >= 0).astype(np.uint8),
        "plies": np.diff(batch.move_offsets)[rows].astype(np.uint32),
        "mainline": mainline if every else mainline.take(pa.array(rows)),
        "fingerprint": prints[rows],
    }
    for name, values in own.items():
        table = table.append_column(name, pa.array(values))
    return table


def replaced_table(
    tags: pa.Table, replaced: list[tuple[int, int]], starts: list[str | None]
) -> pa.Table:
    """Better tags for stored games, one row each; ``starts`` are the batch's start FENs."""
    rows = [row for _, row in replaced]
    black_begins = [" b " in (starts[row] or "") for row in rows]
    table = tags.take(pa.array(rows, pa.int64()))
    table = table.append_column("id", pa.array([game for game, _ in replaced], pa.uint32()))
    return table.append_column("white_begins", pa.array([not black for black in black_begins]))


def records_table(tags: TagColumns, numbers: I64, verdict: Verdict) -> pa.Table:
    """Every readable record of a batch as a row of `records`."""
    columns = {
        "game_id": verdict.game_id,
        "game_number": numbers.astype(np.uint32),
        "year": tags.year,
        "month": tags.month,
        "day": tags.day,
    }
    return pa.table({name: pa.array(values) for name, values in columns.items()})
