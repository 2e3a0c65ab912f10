"""The players of one side after a position: who is looked at, and what of them is counted."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from explorer.numbers.discovery import POINTS
from explorer.numbers.trend import cochran_armitage
from explorer.positions.position import Position
from explorer.query.filters import Filters
from explorer.query.groups import Counted, counted, parted
from explorer.query.library import Facts
from explorer.query.mistake_model import Rate
from explorer.query.plans_model import Figures
from explorer.query.visits import Flags, Ints, Visits, levels_of
from explorer.query.windows import Windows
from ingest.levels import Level

NEVER = -1  # the ply of a plan that was not carried out
Times = NDArray[np.int16]


@dataclass(frozen=True, slots=True)
class Players:
    """One side of the games that lasted through the moves looked at: a row for each game.

    ``reached`` are the games by players of the level that came to the position. ``here`` marks
    the players asked about, ``model`` those of the model level (none without one). ``level``
    numbers the bands, -1 where the opponent is not one asked about. ``first`` is the ply at the
    position by the game's own counting. ``over`` is the score against expectation where ``known``.
    """

    side: str
    reached: int
    visits: Visits
    here: Flags
    model: Flags
    modelled: bool
    level: Ints
    first: Ints
    known: Flags
    over: NDArray[np.float64]

    def people(self, which: Flags) -> int:
        """The number of players in these games."""
        return len(np.unique(self.visits.person[which]))

    def times(self, games: NDArray[np.int32], plies: NDArray[np.uint8]) -> Times:
        """When a plan was carried out in each game, in plies from the position."""
        found = np.full(len(self.first), NEVER, np.int16)
        found[games] = plies
        return found

    def rate(self, which: Flags, cases: Flags) -> Counted:
        """How often it is so, of these games."""
        visits = self.visits
        ones = np.ones(int(which.sum()), np.int64)
        return counted(visits.person[which], visits.player[which] >= 0, cases[which], ones)

    def rate_at(self, level: int, times: Times) -> Rate:
        """How often a plan is carried out at a level."""
        return self.rate(self.level == level, times != NEVER).rate

    def figures(self, which: Flags, times: Times) -> tuple[Figures, Counted]:
        """What these players make of a plan."""
        done = times != NEVER
        rate = self.rate(which, done)
        numbers = (self.first + times)[which & done] // 2 + 1
        quartiles: list[int | None] = [None, None, None]
        if len(numbers):
            quartiles = np.quantile(numbers, (0.25, 0.5, 0.75), method="inverted_cdf").tolist()
        low, middle, high = quartiles
        compared = which & self.known
        person, over = self.visits.person[compared], self.over[compared]
        gain = parted(person, over, done[compared], POINTS)
        return Figures(rate.rate, middle, low, high, gain), rate


def p_of_change(one: Counted, other: Counted) -> float | None:
    """Whether two shares differ: two-sided, None where nothing can be told."""
    (k1, n1, design1), (k2, n2, design2) = one.factor, other.factor
    found = cochran_armitage((k1, k2), (n1, n2), (0, 1), (design1, design2))
    return found.p if found else None


def players_of(
    position: Position,
    facts: Facts,
    visits: Visits,
    windows: Windows,
    filters: Filters,
    model_level: Level | None,
) -> tuple[Players, Players]:
    """The side to move and the other one; ``visits`` are all games, of any level."""
    other = "black" if position.to_move == "white" else "white"
    found = []
    for side, own, against, lasted in (
        (position.to_move, visits.rating, visits.opponent_rating, windows.mover),
        (other, visits.opponent_rating, visits.rating, windows.other),
    ):
        known, values = lasted.over(facts.curve(side))
        over = np.zeros(len(lasted))
        over[known] = values
        met = of_levels(lasted.opponent_rating, filters.opponents)
        model = of_levels(lasted.rating, [model_level] if model_level else [])
        found.append(
            Players(
                side=side,
                reached=int(
                    (of_levels(own, filters.levels) & of_levels(against, filters.opponents)).sum()
                ),
                visits=lasted,
                here=of_levels(lasted.rating, filters.levels) & met,
                model=model if model_level else np.zeros_like(model),
                modelled=model_level is not None,
                level=np.where(met, levels_of(lasted.rating, filters.cuts), -1),
                first=windows.ply,
                known=known,
                over=over,
            )
        )
    return found[0], found[1]


def of_levels(ratings: Ints, levels: Sequence[Level]) -> Flags:
    """Which ratings lie in one of the levels; all of them where there are none."""
    if not levels:
        return np.ones(len(ratings), np.bool_)
    return np.asarray(np.any([_of_level(ratings, level) for level in levels], axis=0))


def _of_level(ratings: Ints, level: Level) -> Flags:
    if not level.rated:
        return np.asarray(ratings < 0)
    low = 0 if level.low is None else level.low
    high = np.inf if level.high is None else level.high
    return np.asarray((ratings >= low) & (ratings <= high))
