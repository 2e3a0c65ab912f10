"""Batches of game texts -> arrays of games, moves and visits.

Two readers: a fast one for many texts at once, and the reference reader for
what that one refuses or misreads. Which of them read a game makes no difference.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from functools import lru_cache
from typing import Any

import numpy as np
import pyarrow as pa
from numpy.typing import NDArray

from ingest.fastread import read_fast
from ingest.games import ReadGames, position_arrays
from ingest.headers import table_of
from ingest.poskey import I64, rows_of
from ingest.reference import Reading, read_game
from ingest.schema import END_CHECKMATE, END_OF_RECORD, END_STALEMATE
from ingest.tags import result_of
from ingest.visits import Visits, packed_moves, visits_of

REJECTED, CUT_SHORT, NOTED = "rejected", "cut short", "noted"

_result_of = lru_cache(4096)(result_of)


@dataclass(frozen=True, slots=True, order=True)
class Remark:
    """What the ledger says of a game: ``kind`` is REJECTED, CUT_SHORT or NOTED."""

    index: int  # of the game among the texts given
    kind: str
    reason: str


@dataclass(frozen=True, slots=True)
class Batch(Visits):
    """The visits of G readable games, and the games with their M moves, in order of the texts.

    A visit's ``game`` is a row of the games' columns.
    """

    index: I64  # (G,): which of the texts
    headers: pa.Table  # as `headers.table_of` makes it
    result: NDArray[np.int8]  # (G,): White's half-points, -1 unknown
    ending: NDArray[np.uint8]  # (G,): a schema.END_ value
    cut_ply: NDArray[np.int32]  # (G,): plies that could be read of a game cut short, else -1
    start_fen: list[str | None]  # None: the normal starting position
    moves: NDArray[np.uint16]  # (M,): from + 64 * to + 4096 * promotion
    move_offsets: I64  # (G + 1,)
    rejects: list[Remark]
    remarks: list[Remark]
    reference_games: int  # texts that the reference reader read


def replay(
    text: bytes,
    starts: I64,
    ends: I64,
    careful: NDArray[np.bool_],
    *,
    plies: int,
    strict: bool,
    threads: int = 2,
) -> Batch:
    """Read the games ``text[starts[i]:ends[i]]`` (UTF-8, in order) and list their visits.

    ``careful`` marks texts that only the reference reader may read. Visits go up
    to ply ``plies - 1`` (``plies`` 1 to 255). A game with an unreadable move keeps what
    is before it and is cut short; with ``strict``, or with nothing before, it is rejected.
    """
    parts = read_fast(text, starts, ends, ~careful, threads)
    left = np.ones(len(starts), np.bool_)
    for part in parts:
        left[part.index] = False
    rest = np.flatnonzero(left)
    readings = [read_game(text[starts[row] : ends[row]].decode()) for row in rest]
    slow, rejects, remarks = _sorted_out(rest.tolist(), readings, strict)
    batch = _in_order(_joined([_batch(part, plies) for part in (*parts, slow)]))
    return replace(
        batch,
        rejects=rejects,
        remarks=sorted(batch.remarks + remarks),
        reference_games=len(rest),
    )


def _sorted_out(
    rows: Sequence[int], readings: Sequence[Reading], strict: bool
) -> tuple[ReadGames, list[Remark], list[Remark]]:
    """What the reference reader read: the games to keep, the rejects, and the remarks."""
    kept: list[int] = []
    rejects, remarks = [], []
    for number, reading in enumerate(readings):
        if reading.usable and not (strict and reading.reason):
            kept.append(number)
            if reading.reason:
                remarks.append(Remark(rows[number], CUT_SHORT, reading.reason))
            if reading.letters:
                remarks.append(Remark(rows[number], NOTED, f"piece letters: {reading.letters}"))
        else:
            rejects.append(Remark(rows[number], REJECTED, reading.reason or ""))
    good = [readings[number] for number in kept]
    games = ReadGames(
        index=np.array([rows[number] for number in kept], np.int64),
        headers=table_of([reading.headers for reading in good]),
        tokens=[reading.token for reading in good],
        start_fen=[reading.start_fen for reading in good],
        positions=position_arrays([(r.snapshots, r.board.move_stack) for r in good]),
        checkmate=np.array([reading.board.is_checkmate() for reading in good], np.bool_),
        stalemate=np.array([reading.board.is_stalemate() for reading in good], np.bool_),
        cut=np.array([reading.reason is not None for reading in good], np.bool_),
    )
    return games, rejects, remarks


def _batch(games: ReadGames, plies: int) -> Batch:
    """The visits and the columns of some games, in the order they come in."""
    positions = games.positions
    results = [
        _result_of(tag, token)
        for tag, token in zip(games.headers["Result"].to_pylist(), games.tokens, strict=True)
    ]
    result = np.array([-1 if half is None else half for half, _ in results], np.int8)
    ending = np.full(len(result), END_OF_RECORD, np.uint8)
    ending[games.checkmate], ending[games.stalemate] = END_CHECKMATE, END_STALEMATE
    visits = visits_of(positions, plies, ending=ending, result_known=result >= 0, cut=games.cut)
    return Batch(
        **_columns(visits),
        index=games.index,
        headers=games.headers,
        result=result,
        ending=ending,
        cut_ply=np.where(games.cut, positions.lengths, -1).astype(np.int32),
        start_fen=games.start_fen,
        moves=packed_moves(positions, rows_of(positions.move_starts, positions.lengths)),
        move_offsets=np.concatenate(([0], np.cumsum(positions.lengths))),
        rejects=[],
        remarks=[
            Remark(int(games.index[row]), NOTED, remark)
            for row, (_, remark) in enumerate(results)
            if remark and not games.cut[row]
        ],
        reference_games=0,
    )


def _columns(visits: Visits) -> dict[str, Any]:
    return {field.name: getattr(visits, field.name) for field in fields(Visits)}


def _joined(batches: Sequence[Batch]) -> Batch:
    """Batches put together, one after the other."""

    def together(name: str) -> Any:
        return np.concatenate([getattr(batch, name) for batch in batches])

    visits = {field.name: together(field.name) for field in fields(Visits)}
    firsts = np.cumsum([0, *(len(batch.index) for batch in batches)]).tolist()
    visits["game"] = np.concatenate(
        [b.game + first for b, first in zip(batches, firsts, strict=False)]
    )
    lengths = np.concatenate([np.diff(batch.move_offsets) for batch in batches])
    return Batch(
        **visits,
        index=together("index"),
        headers=pa.concat_tables([batch.headers for batch in batches]),
        result=together("result"),
        ending=together("ending"),
        cut_ply=together("cut_ply"),
        start_fen=[fen for batch in batches for fen in batch.start_fen],
        moves=together("moves"),
        move_offsets=np.concatenate(([0], np.cumsum(lengths))),
        rejects=[],
        remarks=[remark for batch in batches for remark in batch.remarks],
        reference_games=0,
    )


def _in_order(batch: Batch) -> Batch:
    """The same batch with its games in the order of their texts."""
    if (batch.index[1:] > batch.index[:-1]).all():
        return batch
    order = np.argsort(batch.index)
    row_of = np.empty_like(order)
    row_of[order] = np.arange(len(order))
    game = row_of[batch.game]
    rows = np.argsort(game, kind="stable")
    lengths = np.diff(batch.move_offsets)[order]
    return replace(
        batch,
        **_columns(batch.take(rows)) | {"game": game[rows]},
        index=batch.index[order],
        headers=batch.headers.take(pa.array(order)),
        result=batch.result[order],
        ending=batch.ending[order],
        cut_ply=batch.cut_ply[order],
        start_fen=[batch.start_fen[row] for row in order],
        moves=batch.moves[rows_of(batch.move_offsets[order], lengths)],
        move_offsets=np.concatenate(([0], np.cumsum(lengths))),
    )
