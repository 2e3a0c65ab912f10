"""Batches of games as Arrow tables, made from numpy arrays without copies.

Numpy arrays have no NULL: 0 stands for it, or the constants below, until the INSERT.
"""

from __future__ import annotations

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
    """One array that `2 * game + white_to_move` looks up the mover's value in."""
    return np.stack([black, white], axis=1).ravel()


def visits_table(
    batch: Batch,
    tags: TagColumns,
    players: tuple[NDArray[np.uint32], NDArray[np.uint32]],
    verdict: Verdict,
) -> pa.Table:
    """The visits of a batch's new games; ``players`` are White's and Black's numbers."""
    of = verdict.tags_of
    kept = slice(None) if verdict.new.all() else verdict.new[batch.game]
    game = batch.game[kept]
    mover = 2 * game + batch.white_to_move[kept]
    ratings = _pairs(tags.black_rating[of], tags.white_rating[of])
    result = batch.result.astype(np.uint8)  # unknown, -1, becomes NO_HALF_POINTS
    blacks = np.where(
        batch.result < 0, np.uint8(NO_HALF_POINTS), (2 - batch.result).astype(np.uint8)
    )
    columns = {
        "key": batch.key[kept],
        "move": batch.move[kept],
        "piece": batch.piece[kept],
        "ply": batch.ply[kept],
        "game_id": verdict.game_id[game],
        "mover_id": _pairs(players[1], players[0])[mover],
        "mover_rating": ratings[mover],
        "opponent_rating": ratings[mover ^ 1],
        "half_points": _pairs(blacks, result)[mover],
        "pace": tags.pace[of][game],
        "played": days(tags.played)[of][game],
        "swing": np.where(batch.swing_known[kept], batch.swing[kept], NO_SWING),
        "mated": batch.mated[kept].view(np.uint8),
    }
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
