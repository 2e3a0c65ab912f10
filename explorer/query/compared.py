"""The moves in the popular positions of a subtree, against what such a player may expect there."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np
from duckdb import DuckDBPyConnection
from numpy.typing import NDArray

from explorer.numbers.expectation import PARTS, WIDEST, left_by_level
from explorer.numbers.swing import fit_expected_swing
from explorer.query.ahead import side_by_side
from explorer.query.library import Facts
from explorer.query.subtree import Popular, Subtree

# In tests a mate counts as a queen lost: whoever walks into mate loses no material.
MATED_AS = -9
EVEN = PARTS // 2  # stands for an expected score that is not known, where swings are compared
KEPT = 16_000_000  # visits held in memory, of 22 bytes; further ones are read twice
GAPS = 2 * WIDEST + 2  # differences in rating, and one that is not known
NO_POINTS, NO_SWING = -1, -1000
MOST_RATING = np.iinfo(np.uint16).max


@dataclass(frozen=True, eq=False, slots=True)
class Rows:
    """Visits; ``cell`` says what the mover may expect: see `Compared`. ``points`` in halves."""

    number: NDArray[np.int32]
    move: NDArray[np.uint16]
    player: NDArray[np.int64]
    mated: NDArray[np.bool_]
    cell: NDArray[np.int32]
    points: NDArray[np.int8]
    swing: NDArray[np.int16]


class Compared:
    """The visits in the table `popular`; each time in the same parts, of whole positions.

    A cell is a colour, ply, level and difference in rating, numbered in this order.
    """

    def __init__(
        self,
        cursor: DuckDBPyConnection,
        facts: Facts,
        subtree: Subtree,
        popular: Popular,
        cuts: tuple[int, ...],
    ) -> None:
        """Reads nothing yet. ``cuts`` are those between levels."""
        self._cursor, self._facts, self._subtree = cursor, facts, subtree
        self._slices = popular.slices()
        self._level = np.searchsorted(cuts, np.arange(MOST_RATING + 1), "right").astype(np.int32)
        self._level[0] = len(cuts) + 1  # unrated
        self._shape = 2, subtree.end, len(cuts) + 2, GAPS
        self._kept: list[Rows] = []  # of the first slices
        self._room = KEPT

    def visits(self) -> Iterator[dict[str, NDArray[Any]]]:
        """The visits as `sums.sums_of` takes them: results and swings against expectation."""
        over, swing = self._foreseen
        for rows in self._rows():
            no_points = (rows.points == NO_POINTS) | (rows.cell % GAPS == GAPS - 1)
            yield {
                "number": rows.number,
                "move": rows.move,
                "player": rows.player,
                "mated": rows.mated,
                "over": np.ma.array(
                    EVEN * rows.points.astype(np.int32) - over[rows.cell], mask=no_points
                ),
                "swing": np.ma.array(
                    PARTS * rows.swing.astype(np.int32) - swing[rows.cell],
                    mask=rows.swing == NO_SWING,
                ),
            }

    def _rows(self) -> Iterator[Rows]:
        yield from (kept := tuple(self._kept))
        for rows in side_by_side(self._taken, map(self._read, self._slices[len(kept) :])):
            self._room -= len(rows.cell)
            if self._room >= 0:
                self._kept.append(rows)
            yield rows

    def _read(self, keys: tuple[int, int]) -> dict[str, NDArray[Any]]:
        subtree = replace(self._subtree, keys=keys)
        return self._cursor.execute(
            f"""
            SELECT number, move, coalesce(mover_id::BIGINT, -1 - game_id::BIGINT) AS player,
                white, ply, mated, mover_rating, opponent_rating, half_points, swing
            FROM ({subtree.visits}) JOIN popular USING (key)
            """,
            subtree.params,
        ).fetchnumpy()

    def _taken(self, found: dict[str, NDArray[Any]]) -> Rows:
        rating, opponent = (
            np.ma.filled(found[who], 0) for who in ("mover_rating", "opponent_rating")
        )
        gap = np.clip(rating.astype(np.int32) - opponent, -WIDEST, WIDEST) + WIDEST
        gap[(rating == 0) | (opponent == 0)] = GAPS - 1
        _, plies, levels, _ = self._shape
        cell = found["white"] * np.int32(plies) + found["ply"]
        cell = (cell * np.int32(levels) + self._level[rating]) * np.int32(GAPS) + gap
        swing = np.ma.filled(found["swing"].astype(np.int16), NO_SWING)
        swing[found["mated"]] = MATED_AS
        return Rows(
            number=found["number"],
            move=found["move"],
            player=found["player"],
            mated=found["mated"],
            cell=cell,
            points=np.ma.filled(found["half_points"].astype(np.int8), NO_POINTS),
            swing=swing,
        )

    @cached_property
    def _foreseen(self) -> tuple[NDArray[np.int32], NDArray[np.int32]]:
        """What players of each level score and what material they lose in the popular positions.

        By cell, in 1 / PARTS.
        """
        white, ply, level, gap = np.unravel_index(np.arange(np.prod(self._shape)), self._shape)
        curves = np.array([[*self._facts.curve(colour), EVEN] for colour in ("black", "white")])
        expected = curves[white, gap]
        games, points, swings, swing = self._totals()
        games[gap == GAPS - 1] = 0
        over = np.where(games > 0, EVEN * points - expected * games, 0) / PARTS
        surplus = left_by_level(white, level, games, over)
        lost = fit_expected_swing(ply, level, expected / PARTS, swings, swing)
        surplus, base, slope = (np.rint(PARTS * v) for v in (surplus, lost.base, lost.slope))
        by_strength = np.trunc(slope[ply] * expected / PARTS)
        return (
            (expected + surplus[white, level]).astype(np.int32),
            (base[ply, level] + by_strength).astype(np.int32),
        )

    def _totals(self) -> NDArray[np.int64]:
        """By cell: games with a result, half points in them, games with a swing, their swings."""
        totals = np.zeros((4, int(np.prod(self._shape))), np.int64)
        for counted in side_by_side(self._counted, self._rows()):
            totals += counted
        return totals

    def _counted(self, rows: Rows) -> NDArray[np.int64]:
        cells = int(np.prod(self._shape))
        by_points = rows.cell * np.int32(4) + (rows.points - np.int8(NO_POINTS))
        _, losses, draws, wins = np.bincount(by_points, minlength=4 * cells).reshape(cells, 4).T
        known = rows.swing != NO_SWING
        cell, swing = rows.cell[known], rows.swing[known]
        swings = np.bincount(cell, minlength=cells), np.bincount(cell, swing, cells)
        return np.stack([losses + draws + wins, draws + 2 * wins, *swings]).astype(np.int64)
