"""Groups of games -> rates, samples and differences, with players as clusters."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from explorer.numbers.clusters import design_effect, mean_design
from explorer.numbers.intervals import Interval, minus, newcombe, wilson
from explorer.numbers.welch import Sample, alike, welch
from explorer.query.mistake_model import ALL_LEVELS, NO_DIFFERENCE, Difference, Rate
from explorer.query.model import FEW_PLAYERS
from explorer.query.visits import Flags, Ints, Visits, levels_of
from ingest.levels import Level, bands

Array = Ints | Flags | NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Counted:
    """A rate, and the design effect that its interval was made with."""

    rate: Rate
    design: float

    @property
    def factor(self) -> tuple[int, int, float]:
        """(cases, games, design), as `product_interval` takes them."""
        return self.rate.cases, self.rate.games, self.design


@dataclass(frozen=True, slots=True)
class Crowd:
    """Games by player and level: rows of ``cases`` in ``games``.

    ``person`` numbers the players from 0; ``named`` is False for a nameless one, who
    is a player of one game and can have no habit.
    """

    person: Ints
    named: Flags
    level: Ints
    cases: Array
    games: Array

    def where(self, level: int | None) -> Flags | slice:
        """The rows of a level; None: all of them."""
        return slice(None) if level is None else np.asarray(self.level == level)

    def at(self, level: int | None) -> Counted:
        """The rate at a level; None: at all of them."""
        here = self.where(level)
        return counted(self.person[here], self.named[here], self.cases[here], self.games[here])


def crowd(visits: Visits, cases: Flags, cuts: Sequence[int]) -> Crowd:
    """The visits, by level of the mover; ``cases`` marks what is counted."""
    level = levels_of(visits.rating, cuts)
    return Crowd(visits.person, visits.player >= 0, level, cases, np.ones_like(level))


def counted(person: Ints, named: Flags, cases: Array, games: Array) -> Counted:
    """The rate of ``cases`` in ``games``; the arrays as in `Crowd`."""
    n, k = np.bincount(person, games), np.bincount(person, cases)
    total, hits, players = int(n.sum()), int(k.sum()), int(np.count_nonzero(n))
    design = design_effect(hits, total, *_products(k, n), players)
    low, high = wilson(hits, total, design) or (None, None)
    rate = Rate(
        cases=hits,
        games=total,
        players=players,
        share=hits / total if total else None,
        low=low,
        high=high,
        top_player_cases=int(np.bincount(person[named], cases[named]).max(initial=0)),
        case_players=int(np.count_nonzero(k)),
    )
    return Counted(rate, design)


class Sums(NamedTuple):
    """Sums over the games of a group, as `welch.Sample` has them."""

    total: float
    n: int
    squares: float
    design: float
    clusters: int
    sum_nn: float


def sums_of(person: Ints, values: Array) -> Sums:
    """The sums over one value a game."""
    n, t = np.bincount(person), np.bincount(person, values)
    total, squares = float(values.sum()), float(values @ values)
    players = int(np.count_nonzero(n))
    sum_tt, sum_tn, sum_nn = _products(t, n)
    design = mean_design(total, len(values), squares, sum_tt, sum_tn, sum_nn, players)
    return Sums(total, len(values), squares, design, players, sum_nn)


def parted(person: Ints, values: Array, first: Flags, unit: float) -> Difference:
    """The mean of the games marked ``first`` minus that of the others, by Welch's test.

    ``unit`` as in `welch`.
    """
    one, other = (sums_of(person[which], values[which]) for which in (first, ~first))
    test = welch(*alike(Sample(*one), Sample(*other)), unit)
    return by_enough(
        Difference(
            value=_number(test.difference),
            low=_number(test.low),
            high=_number(test.high),
            games=one.n,
            other_games=other.n,
            p=_number(test.p_two_sided),
            players=one.clusters,
            other_players=other.clusters,
        )
    )


def by_enough(found: Difference) -> Difference:
    """Without an interval where a side has fewer than FEW_PLAYERS players.

    Of two or three it would be wider than the results or the board can be.
    """
    if min(found.players or 0, found.other_players or 0) >= FEW_PLAYERS:
        return found
    return replace(found, low=None, high=None, p=None)


def rows_of_levels(cuts: Sequence[int]) -> list[tuple[int | None, Level | None]]:
    """(number, level) of every level, with (None, None) for all of them at the end."""
    return [*enumerate(bands(tuple(cuts))), (None, None)]


def label_of(level: Level | None) -> dict[str, Any]:
    """``label``, ``low`` and ``high`` of a row; None is all levels."""
    if level is None:
        return {"label": ALL_LEVELS, "low": None, "high": None}
    return {"label": level.label, "low": level.low, "high": level.high}


def change(later: Counted, earlier: Counted) -> Difference:
    """One share minus another, by Newcombe's interval on effective sizes."""
    (k1, n1, design1), (k2, n2, design2) = later.factor, earlier.factor
    found = newcombe(k1, n1, k2, n2, design1, design2)
    if found is None:
        return NO_DIFFERENCE
    value, (low, high) = found
    players = later.rate.players, earlier.rate.players
    return Difference(value, low, high, n1, n2, None, *players)


def beyond(own: Difference, others: Difference) -> Difference:
    """A difference between two groups of players minus the same between two others."""
    estimates = _estimate(own), _estimate(others)
    if estimates[0] is None or estimates[1] is None:
        return NO_DIFFERENCE
    value, (low, high) = minus(estimates[0], estimates[1])
    games = own.games + own.other_games, others.games + others.other_games
    return Difference(value, low, high, *games)


def _products(t: Array, n: Array) -> tuple[float, float, float]:
    """Sums over players of t * t, t * n and n * n."""
    return float((t * t).sum()), float((t * n).sum()), float((n * n).sum())


def _estimate(found: Difference) -> tuple[float, Interval] | None:
    if found.value is None or found.low is None or found.high is None:
        return None
    return found.value, Interval(found.low, found.high)


def _number(value: NDArray[np.float64]) -> float | None:
    """None for a number that could not be made."""
    return None if np.isnan(value) else float(value)
