"""`mistake`: how often one is made, at which level, what it costs, and whether it is punished."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from explorer.numbers.discovery import PAWNS, POINTS
from explorer.numbers.intervals import Interval
from explorer.numbers.product import product_interval
from explorer.numbers.trend import cochran_armitage
from explorer.positions.position import Position, position_of
from explorer.query.chances import punishment
from explorer.query.filters import Filters
from explorer.query.groups import Crowd, crowd, label_of, parted, rows_of_levels
from explorer.query.helped import Turned, helped, members_of
from explorer.query.library import Library
from explorer.query.mistake_model import (
    BeforeAfter,
    MistakeAnswer,
    MistakeLevel,
)
from explorer.query.model import TrendOver
from explorer.query.moves import pack
from explorer.query.occurring import along_the_line, in_all_games
from explorer.query.origin import facts_of, nothing_found, source_of
from explorer.query.pursuit import Pursuit
from explorer.query.visits import NOT_KNOWN, Flags, Visits, visits_at
from explorer.query.where import where
from ingest.errors import UsageError
from ingest.levels import Level

NOTHING = None, (None, None)


def mistake(
    library: Library,
    line: Position,
    filters: Filters,
    punish: Sequence[str] | None = None,
    before_after: BeforeAfter | None = None,
) -> MistakeAnswer:
    """The mistake that ``line`` ends with, in the games that reached the position before it.

    ``filters.levels`` speak of the player who errs, ``filters.opponents`` of the one
    who may punish. ``punish`` holds the moves of the punishing line after the mistake,
    in SAN or UCI. UsageError when the line has no moves or the punishing line is
    none, NothingFound when no game that passes the filters reached the position, or the library
    knows nobody of the class.
    """
    position, move = _before(line)
    with library.reading() as (cursor, facts):
        chosen = where(cursor, facts, filters)
        visits = visits_at(cursor, position, chosen)
        if not len(visits):
            raise nothing_found(cursor, facts, position, chosen)
        pursuit = Pursuit(cursor, facts, line, visits.only(visits.move == move), filters)
        punished = punishment(pursuit, punish, filters.cuts)
        asked = cursor, position, chosen, filters.cuts
        every = in_all_games(*asked, move)
        leading = along_the_line(*asked) if line.from_normal_start else None
        source = source_of(cursor, facts, position, filters, chosen)
        members = members_of(cursor, before_after) if before_after else None
    visits = visits.went_on
    made = visits.move == move
    cases = crowd(visits, made, filters.cuts)
    table = _Table(visits, made, facts.curve(position.to_move), cases, every, leading)
    turned = [Turned("making", visits, made)]
    if punished:
        turned.append(Turned("punishing", punished[1].visits, punished[1].found))
    return MistakeAnswer(
        position=facts_of(position),
        filters=filters,
        source=source,
        san=line.sans[-1],
        uci=line.ucis[-1],
        name=line.opening,
        line=line.numbered,
        levels=tuple(table.row(*row) for row in rows_of_levels(filters.cuts)),
        trend=table.trend(len(filters.cuts) + 1),
        punishment=punished[0] if punished else None,
        helped=tuple(helped(what, filters.cuts, members) for what in turned) if members else (),
    )


@dataclass(frozen=True, slots=True)
class _Table:
    """The games that went on from the position, and what stands around them.

    ``leading`` has the earlier decisions of the side that errs, None where the
    line does not begin at the normal start.
    """

    visits: Visits
    made: Flags
    curve: Sequence[int]
    cases: Crowd
    every: Crowd
    leading: Sequence[Crowd] | None

    def row(self, number: int | None, level: Level | None) -> MistakeLevel:
        here = self.cases.where(number)
        visits, made = self.visits.only(here), self.made[here]
        compared, over = visits.over(self.curve)
        swings = visits.swing != NOT_KNOWN
        known = visits.points >= 0
        headed, headed_games = self.headed_for(number)
        value, (low, high) = headed or NOTHING
        return MistakeLevel(
            **label_of(level),
            rate=self.cases.at(number).rate,
            in_all_games=self.every.at(number).rate,
            headed_for=value,
            headed_for_low=low,
            headed_for_high=high,
            headed_for_games=headed_games,
            score=_mean(visits.points[made & known] / 2),
            over_expected=_mean(over[made[compared]]),
            cost=parted(visits.person[compared], over, made[compared], POINTS),
            swing=parted(visits.person[swings], visits.swing[swings], made[swings], PAWNS),
            mated=int(visits.mated[made].sum()),
        )

    def headed_for(self, number: int | None) -> tuple[tuple[float, Interval] | None, int]:
        """How often it happens to a student who plays the other side's moves of the line."""
        if self.leading is None:
            return None, 0
        rates = [crowd.at(number) for crowd in (*self.leading, self.cases)]
        product = product_interval([rate.factor for rate in rates])
        return product, min(rate.rate.games for rate in rates)

    def trend(self, levels: int) -> TrendOver:
        """Over the rated levels with enough games and players, by their mean ratings."""
        rates = [(number, self.cases.at(number)) for number in range(levels)]
        enough = [(number, rate) for number, rate in rates if not rate.rate.few]
        found = cochran_armitage(
            [rate.rate.cases for _, rate in enough],
            [rate.rate.games for _, rate in enough],
            [float(self.visits.rating[self.cases.level == number].mean()) for number, _ in enough],
            [rate.design for _, rate in enough],
        )
        if found is None:
            return TrendOver("none", None, len(enough))
        return TrendOver(found.direction, found.p, len(enough))


def _mean(values: NDArray[np.float64]) -> float | None:
    return float(values.mean()) if len(values) else None


def _before(line: Position) -> tuple[Position, int]:
    """The position before the last move of a line, and that move, packed."""
    board = line.board()
    if not board.move_stack:
        raise UsageError("a mistake is a move; write the line that ends with it: 'e4 e5 Nf3 f6'")
    move = board.pop()
    return position_of(board), pack(move)
