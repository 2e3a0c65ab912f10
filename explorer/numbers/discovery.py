"""Which of thousands of replies do worse than the others? The one rule that decides.

All arrays have one entry per candidate: a reply at a position.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from explorer.numbers.multiple import benjamini_hochberg
from explorer.numbers.welch import Sample, Test, alike, could_show, welch

FEWEST_GAMES = 30  # with fewer, or by fewer players, nothing is claimed
FEWEST_PLAYERS = 5
POINTS, PAWNS = 0.5, 1.0  # `welch`'s unit: a draw for a win; a pawn

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]


class TwoGroups(NamedTuple):
    """Games with the reply, and games with the other replies at the same position."""

    reply: Sample
    others: Sample


class Discovery(NamedTuple):
    """What was found, by which test. An adjusted p is NaN where no test was made.

    ``results`` and ``material`` are the tests themselves, ``tests`` their number.
    ``could_show``: the cost in points that the median candidate's counts would
    have shown with 80 % power; None without a test of results.
    """

    found_by_results: Flags
    found_by_material: Flags
    adjusted_p_results: Floats
    adjusted_p_material: Floats
    could_show: float | None
    results: Test
    material: Test
    tests: int

    @property
    def found(self) -> Flags:
        """Found by either."""
        return self.found_by_results | self.found_by_material


def eligible(games: ArrayLike, players: ArrayLike, other_games: ArrayLike, min_games: int) -> Flags:
    """Which candidates may be looked at; decided by counts alone, never by results."""
    enough = (np.asarray(games) >= min_games) & (np.asarray(players) >= FEWEST_PLAYERS)
    return np.asarray(enough & (np.asarray(other_games) >= FEWEST_GAMES))


def by_many(games: ArrayLike, sum_nn: ArrayLike, top: ArrayLike) -> Flags:
    """Where a group's games are no habit of one player or of few; decided by counts alone.

    No named player has more than a third of them (``top`` is the most that one has), and
    they are spread as evenly as those of FEWEST_PLAYERS players with equally
    many; ``sum_nn`` as in `Sample`.
    """
    n = np.asarray(games, dtype=float)
    even = n * n >= FEWEST_PLAYERS * np.asarray(sum_nn)
    return np.asarray(even & (3 * np.asarray(top) <= n))


def discover(
    results: TwoGroups, material: TwoGroups, eligible: Flags, false_alarms: float
) -> Discovery:
    """Find the replies that cost points or pieces; ``false_alarms`` is in per cent.

    ``results`` holds score minus expected score (in points), ``material`` swing minus
    expected swing (in pawns; `swing.fit_expected_swing`: weak players lose more
    material whatever they choose). Each kind is tested where both its groups have
    FEWEST_GAMES games by FEWEST_PLAYERS players. Tests are one-sided (the reply does
    worse). All tests of both kinds, whatever they look like, are one family for
    Benjamini-Hochberg: to test only what looks worse, or each kind by itself, would
    find something in far more than 5 % of worlds without mistakes.
    """
    limit = false_alarms / 100
    by_results = welch(*alike(*results), POINTS)
    by_material = welch(*alike(*material), PAWNS)
    ps = np.stack([
        np.where(eligible & _enough(results), by_results.p_less, np.nan),
        np.where(eligible & _enough(material), by_material.p_less, np.nan),
    ])  # fmt: skip
    adjusted = benjamini_hochberg(ps)
    worse = np.stack([by_results.difference < 0, by_material.difference < 0])
    found = (adjusted <= limit) & worse  # NaN is never found
    tests = int(np.count_nonzero(~np.isnan(ps)))
    alpha = limit * max(1, int(np.count_nonzero(found))) / max(1, tests)
    shown = _median_cost(by_results, ~np.isnan(ps[0]), alpha)
    return Discovery(
        found[0], found[1], adjusted[0], adjusted[1], shown, by_results, by_material, tests
    )


def large(found: Discovery, points: float, pawns: float) -> Flags:
    """Which findings cost enough to be worth showing, by what they are estimated to cost.

    By results at least ``points`` in 100 games with the reply, or by material at least
    ``pawns``; each counts only where that test found it. This is chosen after the
    tests: it changes neither them nor their correction.
    """
    by_results = found.found_by_results & (-100 * found.results.difference >= points)
    by_material = found.found_by_material & (-found.material.difference >= pawns)
    return np.asarray(by_results | by_material)


def points_lost(cases: ArrayLike, games: ArrayLike, difference: ArrayLike) -> Floats:
    """Points lost in 100 games: cases / games x how much worse x 100; the order of the page."""
    return np.asarray(-100 * np.asarray(cases) / np.asarray(games) * np.asarray(difference))


def _enough(groups: TwoGroups) -> Flags:
    games = np.minimum(groups.reply.n, groups.others.n)
    players = np.minimum(groups.reply.clusters, groups.others.clusters)
    return (games >= FEWEST_GAMES) & (players >= FEWEST_PLAYERS)


def _median_cost(test: Test, made: Flags, alpha: float) -> float | None:
    """The median of what the tests could have shown at the limit that decided."""
    if not made.any():
        return None
    return float(np.median(could_show(test.se[made], test.df[made], alpha)))
