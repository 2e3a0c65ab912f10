"""Is it getting better? Five measures by month, and before and after a day."""

from __future__ import annotations

from calendar import monthrange
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np

from explorer.query.groups import change
from explorer.query.mistake_model import Difference
from explorer.query.model import FEW_GAMES
from explorer.query.student_games import Floats, OwnGames
from explorer.query.student_lesson import LONGEST, ONE_MOVE
from explorer.query.student_model import Better, Change, Period
from explorer.query.student_numbers import (
    FIRST_DAY,
    apart,
    by_game,
    day_of,
    mean_of,
    over_expected,
    told,
)
from explorer.query.student_parts import OwnRate
from explorer.query.visits import NO_DAY, Flags, Ints

Turns = tuple[Ints, Ints]  # cases and chances, one value a game
LOWER_IS_BETTER = ("mistakes",)
LEAST_CHANCES = 10  # before and after: Newcombe's interval knows how little that is


@dataclass(frozen=True, eq=False)
class Measured:
    """What is measured of each game: ``rates`` are "mistakes", "punished" and, with a lesson,
    "kept"; ``left_at`` is the number of the move at which the student left the lesson (0: did
    not), None without a lesson."""

    games: OwnGames
    rates: Mapping[str, Turns]
    left_at: Ints | None

    def period(
        self, label: str, here: Flags, since: date | None = None, until: date | None = None
    ) -> Period:
        """The measures in some of the games."""
        return Period(
            label=label,
            since=since,
            until=until,
            games=int(here.sum()),
            over_expected=over_expected(self.games.over[here]),
            mistakes=self._rate("mistakes", here),
            punished=self._rate("punished", here),
            kept=self._rate("kept", here) if "kept" in self.rates else None,
            left_at=None if self.left_at is None else mean_of(self._left(here), ONE_MOVE, LONGEST),
        )

    def changes(self, before: Flags, after: Flags) -> Iterator[Change]:
        """After less before, for each measure that there is anything of."""
        few = bool(min(before.sum(), after.sum()) < FEW_GAMES)
        for measure, found in self._differences(before, after):
            if found.games or found.other_games:
                yield _change(measure, found, few)

    def _differences(self, before: Flags, after: Flags) -> Iterator[tuple[str, Difference]]:
        over = self.games.over
        known = ~np.isnan(over)
        yield "over_expected", apart(over[after & known], over[before & known])
        for name, (cases, chances) in self.rates.items():
            later, earlier = (by_game(cases[here], chances[here]) for here in (after, before))
            games = later.rate.games, earlier.rate.games
            # A game may have several chances; that no players are counted says so.
            found = replace(change(later, earlier), games=games[0], other_games=games[1])
            yield name, replace(found, players=None, other_players=None)
        yield "left_at", apart(self._left(after), self._left(before), ONE_MOVE)

    def _rate(self, name: str, here: Flags) -> OwnRate:
        cases, chances = self.rates[name]
        return told(by_game(cases[here], chances[here]).rate)

    def _left(self, here: Flags) -> Floats:
        left = np.zeros(0) if self.left_at is None else self.left_at[here]
        return left[left > 0].astype(np.float64)


def _change(measure: str, found: Difference, few: bool) -> Change:
    few = few or min(found.games, found.other_games) < LEAST_CHANCES
    better = None
    if not few and found.low is not None and found.low > 0:
        better = measure not in LOWER_IS_BETTER
    elif not few and found.high is not None and found.high < 0:
        better = measure in LOWER_IS_BETTER
    return Change(measure, found, few, better)


def better_of(measured: Measured, since: date | None) -> Better:
    """The measures by month, of games with a whole date, and before and after ``since``."""
    day = measured.games.day
    dated = np.asarray(day != NO_DAY)
    turn = Better(tuple(_months(measured, dated)), since, None, None, (), int((~dated).sum()))
    if since is None:
        return turn
    number = (since - FIRST_DAY).days
    before, after = dated & (day < number), dated & (day >= number)
    return replace(
        turn,
        before=measured.period("before", before, None, since - timedelta(days=1)),
        after=measured.period("after", after, since, None),
        changes=tuple(measured.changes(before, after)),
    )


def _months(measured: Measured, dated: Flags) -> Iterator[Period]:
    """Those in which there are games."""
    days = [day_of(number) for number in measured.games.day.tolist()]
    month = np.array([0 if day is None else day.year * 12 + day.month - 1 for day in days])
    for number in np.unique(month[dated]).tolist():
        year, nth = divmod(number, 12)
        last = date(year, nth + 1, monthrange(year, nth + 1)[1])
        here = dated & (month == number)
        yield measured.period(f"{year}-{nth + 1:02}", here, date(year, nth + 1, 1), last)
