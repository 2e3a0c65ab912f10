"""What the others of the level do at many positions: shares of the level, results of it and
of the levels next to it, because to compare results takes more games."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from duckdb import DuckDBPyConnection
from numpy.typing import NDArray

from explorer.numbers.expectation import PARTS
from explorer.query.bands import in_any
from explorer.query.filters import Filters
from explorer.query.groups import Counted
from explorer.query.lesson_shares import visits_at_all
from explorer.query.library import Facts
from explorer.query.pairs import PLAYER
from explorer.query.subtree import curves_of, expected_of
from explorer.query.sums import Sums, rate_of, sums_of
from explorer.query.where import where
from ingest.levels import Level

NOBODY = rate_of(0, 0, (0, 0, 0), 0, 0, 0)


@dataclass(frozen=True, eq=False)
class At:
    """Sums at many positions, found by key and packed move."""

    keys: tuple[int, ...]
    sums: Sums

    @cached_property
    def _number(self) -> dict[int, int]:
        return {key: number for number, key in enumerate(self.keys)}

    @cached_property
    def _row(self) -> dict[tuple[int, int], int]:
        pairs = zip(self.sums.number.tolist(), self.sums.move.tolist(), strict=True)
        return {(self.keys[number], move): row for row, (number, move) in enumerate(pairs)}

    def row(self, key: int, move: int) -> int | None:
        """The entry of a move; None where nobody played it."""
        return self._row.get((key, move))

    def here(self, key: int) -> NDArray[np.bool_]:
        """Which entries are of a position."""
        return np.asarray(self.sums.number == self._number.get(key, -1))

    def rate(self, key: int, move: int) -> Counted:
        """How often the others play a move, of their games that went on from the position."""
        row = self.row(key, move)
        if row is not None:
            return self.sums.rate(row)
        number = self._number.get(key)
        return NOBODY if number is None else self.sums.rate_at(number, move)

    def commonest(self, key: int) -> int | None:
        """The move that most games have; None where there are none."""
        rows = np.flatnonzero(self.here(key))
        if not len(rows):
            return None
        return int(self.sums.move[rows[int(self.sums.games[rows].argmax())]])


@dataclass(frozen=True, eq=False)
class Others:
    """The others at the student's positions: of the level, and of it and those next to it."""

    level: At
    wide: At


@dataclass(frozen=True, slots=True)
class Crowd:
    """Who the others are: ``levels`` (none: everybody), widened to ``wide``, but for ``ids``."""

    levels: tuple[Level, ...]
    wide: tuple[Level, ...]
    ids: tuple[int, ...]
    filters: Filters

    @property
    def asked(self) -> Filters:
        """Games of the same pace; the other filters choose the student's games."""
        return Filters(levels=self.wide, cuts=self.filters.cuts, pace=self.filters.pace)


def others_at(
    cursor: DuckDBPyConnection, facts: Facts, whites: Mapping[int, bool], crowd: Crowd
) -> Others:
    """What the others play at positions; ``whites`` says by key whether White is to move."""
    keys = sorted(whites, key=lambda key: (not whites[key], key))
    chosen = where(cursor, facts, crowd.asked)
    own = ", ".join(map(str, crowd.ids))
    inside = in_any(crowd.levels, "mover_rating") if crowd.levels else "TRUE"
    here = visits_at_all(
        cursor,
        keys,
        "move, mover_id, game_id, mover_rating, opponent_rating, half_points, mated",
        f"{chosen.sql} AND coalesce(mover_id NOT IN ({own}), TRUE)",
    )
    white = f"number < {sum(whites.values())}"
    sql = f"""
        SELECT number, move, {PLAYER} AS player, mated, {inside} AS inside,
            {PARTS // 2} * half_points::INTEGER - {expected_of(white)} AS over
        FROM (SELECT $white::INTEGER[] AS white_curve, $black::INTEGER[] AS black_curve), ({here})
    """
    columns = cursor.execute(sql, {**curves_of(facts), **chosen.params}).fetchnumpy()
    at_level = np.ma.filled(columns.pop("inside"), False)
    wide = At(tuple(keys), sums_of([columns], measures=["over"]))
    if at_level.all():
        return Others(wide, wide)
    part = {name: column[at_level] for name, column in columns.items()}
    return Others(replace(wide, sums=sums_of([part], measures=["over"])), wide)


def enough(counted: Counted) -> bool:
    """Whether a rate of others rests on enough games and players to be compared with."""
    return not counted.rate.few


def levels_label(levels: Sequence[Level]) -> str | None:
    """``800-999``; None for everybody."""
    return " or ".join(level.label for level in levels) or None
