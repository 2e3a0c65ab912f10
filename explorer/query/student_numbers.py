"""Numbers about one student: every game stands for itself, a game's own chances do not."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from math import comb

import numpy as np
from numpy.typing import NDArray

from explorer.numbers.discovery import POINTS
from explorer.numbers.intervals import mean_interval, newcombe, score_interval, wilson
from explorer.numbers.multiple import benjamini_hochberg
from explorer.numbers.welch import Sample, alike, mean_between, welch
from explorer.query.groups import Counted, counted
from explorer.query.mistake_model import NO_DIFFERENCE, Difference, Rate
from explorer.query.student_parts import OwnMean, OwnRate, Results
from explorer.query.visits import NO_DAY, Flags, Ints

Floats = NDArray[np.float64]

FIRST_DAY = date(1970, 1, 1)
USUAL = 0.05  # a run of successes less likely than this says that something is over
LEAST_CASES = 3  # so often a thing must have happened to be called a habit


def day_of(number: int) -> date | None:
    """Days since 1970 -> the date; None for NO_DAY."""
    return None if number == NO_DAY else FIRST_DAY + timedelta(days=int(number))


def own_rate(cases: int, games: int) -> OwnRate:
    """``cases`` of ``games``, each game a case of its own."""
    low, high = wilson(cases, games) or (None, None)
    return OwnRate(cases, games, cases / games if games else None, low, high)


def by_game(cases: Ints, chances: Ints) -> Counted:
    """Cases in chances, one value a game: the games are the sample, not the chances."""
    met = np.flatnonzero(chances)
    named = np.ones(len(met), np.bool_)
    return counted(np.arange(len(met)), named, cases[met], chances[met])


def told(rate: Rate) -> OwnRate:
    """The rate without its players."""
    return OwnRate(rate.cases, rate.games, rate.share, rate.low, rate.high)


def mean_of(values: Floats, unit: float, most: float) -> OwnMean:
    """The mean of one value a game, from 0 to ``most``; ``unit`` as in `welch`."""
    if not len(values):
        return OwnMean(None, None, None, 0)
    _, low, high = mean_between(sample(values), unit)
    if np.isnan(low):
        return OwnMean(float(values.mean()), None, None, len(values))
    ends = max(0.0, float(low)), min(most, float(high))
    return OwnMean(float(values.mean()), *ends, len(values))


def over_expected(over: Floats) -> OwnMean:
    """The mean of score minus expected score; NaN where there is none."""
    known = over[~np.isnan(over)]
    if not len(known):
        return OwnMean(None, None, None, 0)
    low, high = mean_interval(float(known.sum()), len(known), float(known @ known)) or (None, None)
    return OwnMean(float(known.mean()), low, high, len(known))


def results_of(of: str, points: Ints, over: Floats) -> Results:
    """How games went: half ``points``, below 0 where unknown, and ``over`` as above."""
    losses, draws, wins = (int(np.count_nonzero(points == half)) for half in (0, 1, 2))
    known = wins + draws + losses
    low, high = score_interval(wins, draws, losses) or (None, None)
    score = (wins + draws / 2) / known if known else None
    return Results(
        of=of,
        games=len(points),
        wins=wins,
        draws=draws,
        losses=losses,
        unknown=len(points) - known,
        score=OwnMean(score, low, high, known),
        over_expected=over_expected(over),
    )


def sample(values: Floats) -> Sample:
    """Values for `welch`, each a case of its own."""
    return Sample(float(values.sum()), len(values), float(values @ values))


def apart(first: Floats, second: Floats, unit: float = POINTS) -> Difference:
    """The mean of some games less that of others, both the student's."""
    if not len(first) or not len(second):
        return Difference(None, None, None, len(first), len(second))
    test = welch(*alike(sample(first), sample(second)), unit)
    parts = (test.difference, test.low, test.high, test.p_two_sided)
    value, low, high, p = (None if np.isnan(part) else float(part) for part in parts)
    return Difference(value, low, high, len(first), len(second), p)


def beside(own: OwnRate, others: Counted, p: float | None = None) -> Difference:
    """The student's share less that of the others (Newcombe)."""
    k, n, design = others.factor
    found = newcombe(own.cases, own.games, k, n, 1.0, design)
    if found is None:
        return NO_DIFFERENCE
    value, (low, high) = found
    return Difference(value, low, high, own.games, n, p, other_players=others.rate.players)


def run_since(days: Ints, wrong: Flags) -> tuple[date | None, int, bool]:
    """After the last time that it went wrong: its day, the chances since, whether it is over.

    The chances come in order of day; where one has no day the order is not known, and nothing is
    called over. It is over when it had gone wrong LEAST_CASES times and, were the chances in any
    other order as likely, fewer than one order in 20 would end with so long a run: counted, not
    reckoned with the share before, which after four of four would call one success the end.
    """
    if not wrong.any():
        return None, len(wrong), False
    end = int(np.flatnonzero(wrong)[-1]) + 1
    since, cases = len(wrong) - end, int(wrong.sum())
    over = cases >= LEAST_CASES and comb(end, cases) < USUAL * comb(len(wrong), cases)
    return day_of(int(days[end - 1])), since, over and bool((days != NO_DAY).all())


def adjusted(ps: Sequence[float | None]) -> list[float | None]:
    """p-values that allow for each other (Benjamini-Hochberg); None where no test was made."""
    given = np.array([np.nan if p is None else p for p in ps], float)
    return [None if np.isnan(p) else p for p in benjamini_hochberg(given).tolist()]
