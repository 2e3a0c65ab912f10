"""How often the 95 % intervals hold the truth: exactly, and by seeded simulation.

Each grid is stated where it is made. Players' own rates scatter around the
truth, so that games of one player resemble each other; at least five players.
"""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest
from scipy.stats import binom

from explorer.numbers.clusters import design_effect, mean_design
from explorer.numbers.intervals import mean_interval, newcombe, score_interval, wilson
from explorer.numbers.product import product_interval
from explorer.numbers.welch import Sample, welch
from explorer.numbers.welch import alike as spread_alike

FEWEST_PLAYERS = 5
SAMPLES = 400
PLAYED_SAMPLES = 150  # where each game is played out


def games_per_player(rng, n, size, scattered):
    """Samples x players: about n games in all, ``size`` per player or geometric around it."""
    shape = (SAMPLES, n // size)
    return rng.geometric(1 / size, shape) if scattered else np.full(shape, size)


def coverage(intervals, truth):
    return np.mean([interval.low <= truth <= interval.high for interval in intervals])


def exact_coverage(n, p):
    """Chance that plain Wilson holds p, by adding up every possible count."""
    held = [wilson(k, n).low <= p <= wilson(k, n).high for k in range(n + 1)]
    return float(binom.pmf(np.arange(n + 1), n, p)[held].sum())


def share_intervals(rng, games, p, alike):
    """Intervals of the samples of `share_counts`."""
    return [wilson(*sample) for sample in share_counts(rng, games, p, alike)]


def share_counts(rng, games, p, alike):
    """(cases, games, design): players' rates are beta with intra-class correlation ``alike``."""
    rates = np.full(games.shape, p)
    if alike:
        spread = (1 - alike) / alike
        rates = rng.beta(p * spread, (1 - p) * spread, games.shape)
    cases = rng.binomial(games, rates)
    sums = zip(
        cases.sum(1), games.sum(1), (cases**2).sum(1), (cases * games).sum(1), (games**2).sum(1),
        strict=True,
    )  # fmt: skip
    return [
        (float(k), int(n), design_effect(float(k), int(n), kk, kn, nn, games.shape[1]))
        for k, n, kk, kn, nn in sums
    ]


def share_grid():
    """n, rate, games per player, scattered sizes, correlation; n * rate at least 10."""
    grid = product(
        (30, 100, 400), (0.05, 0.1, 0.3, 0.5), (1, 2, 5, 10), (False, True), (0, 0.1, 0.3)
    )
    for n, p, size, scattered, alike in grid:
        lone = size == 1 and (scattered or alike)  # the same as without
        if n * p >= 10 and n // size >= FEWEST_PLAYERS and not lone:
            yield n, p, size, scattered, alike


@pytest.mark.parametrize("n", [30, 100, 400])
def test_plain_wilson_covers_95_percent_where_ten_cases_are_expected(n):
    rates = np.linspace(10 / n, 1 - 10 / n, 41)
    exact = [exact_coverage(n, p) for p in rates]
    assert 0.945 < np.mean(exact) < 0.96
    assert min(exact) > 0.92


def test_plain_wilson_is_known_to_fall_short_where_cases_are_rare():
    # Only "nobody did it" holds the truth, by hand: 0.995 ** 30.
    assert exact_coverage(30, 0.005) == pytest.approx(0.995**30)


@pytest.mark.parametrize(("n", "p"), [(30, 0.5), (100, 0.1), (400, 0.05)])
def test_with_one_game_per_player_the_simulation_gives_the_exact_coverage(n, p):
    rng = np.random.default_rng(n)
    found = coverage(share_intervals(rng, np.ones((4000, n), dtype=int), p, 0), p)
    assert found == pytest.approx(exact_coverage(n, p), abs=4 * (0.05 * 0.95 / 4000) ** 0.5)


def test_the_clustered_interval_of_a_share_covers_95_percent_on_average():
    rng = np.random.default_rng(61)
    found = [
        coverage(share_intervals(rng, games_per_player(rng, n, size, scattered), p, alike), p)
        for n, p, size, scattered, alike in share_grid()
    ]
    assert len(found) == 146
    assert 0.93 < np.mean(found) < 0.975


def test_without_the_design_effect_alike_games_of_one_player_would_fool_the_interval():
    rng = np.random.default_rng(62)
    games = np.full((SAMPLES, 20), 10)
    rates = rng.beta(0.3 * 7 / 3, 0.7 * 7 / 3, games.shape)
    cases = rng.binomial(games, rates).sum(1)
    plain = coverage([wilson(int(k), 200) for k in cases], 0.3)
    assert plain < 0.75
    assert coverage(share_intervals(rng, games, 0.3, 0.3), 0.3) > 0.9


def played(rng, games, expected, drawn, alike):
    """Points and expected points, samples x players x games, and which of them were played.

    Each game's expected score lies up to 0.15 (near 0 and 1 up to 0.05) around
    ``expected``; each player is better or worse than expected by ``alike``.
    """
    shape = (*games.shape, games.max())
    live = np.arange(games.max()) < games[:, :, None]
    step = 0.15 if 0.2 <= expected <= 0.8 else 0.05
    foreseen = expected + step * rng.integers(-1, 2, shape)
    chance = np.clip(foreseen + alike * rng.choice([-1, 1], (*games.shape, 1)), 0, 1)
    draw = np.minimum(drawn, 2 * np.minimum(chance, 1 - chance))
    luck = rng.random(shape)
    win = chance - draw / 2
    points = np.where(luck < win, 1.0, np.where(luck < win + draw, 0.5, 0.0))
    return points, foreseen, live


def designs(values, live):
    """The design effect of each sample's mean of ``values``, and total and squares beside it."""
    t, n = (values * live).sum(2), live.sum(2)
    squares = (values**2 * live).sum((1, 2))
    sums = zip(
        t.sum(1), n.sum(1), squares, (t * t).sum(1), (t * n).sum(1), (n * n).sum(1), strict=True
    )
    return [(s[0], int(s[1]), s[2], mean_design(*s, clusters=n.shape[1])) for s in sums]


def score_intervals(points, live):
    wins, draws = ((points == 1) & live).sum((1, 2)), ((points == 0.5) & live).sum((1, 2))
    rows = zip(wins.tolist(), draws.tolist(), designs(points, live), strict=True)
    return [score_interval(w, d, n - w - d, design) for w, d, (_, n, _, design) in rows]


def score_grid():
    """n, expected score, rate of draws, games per player, scattered sizes, players' own offset."""
    grid = product(
        (5, 15, 40, 150), (0.1, 0.3, 0.5, 0.8), (0, 0.3), (1, 3, 8), (False, True), (0, 0.15)
    )
    for n, expected, drawn, size, scattered, alike in grid:
        lone = size == 1 and (scattered or alike)  # the same as without
        cut_off = alike and expected == 0.1  # at 0, which would move the truth
        if n // size >= FEWEST_PLAYERS and not lone and not cut_off:
            yield n, expected, drawn, size, scattered, alike


def test_the_intervals_of_score_and_against_expectation_cover_95_percent_on_average():
    rng = np.random.default_rng(63)
    of_score, against = [], []
    for n, expected, drawn, size, scattered, alike in score_grid():
        games = games_per_player(rng, n, size, scattered)[:PLAYED_SAMPLES]
        points, foreseen, live = played(rng, games, expected, drawn, alike)
        of_score.append(coverage(score_intervals(points, live), expected))
        residuals = designs(points - foreseen, live)
        against.append(coverage([mean_interval(*row) for row in residuals], 0))
    assert len(of_score) == 172
    assert 0.93 < np.mean(of_score) < 0.975
    assert 0.93 < np.mean(against) < 0.975


def difference_grid():
    """Games of both groups, games per player of both, scattered sizes, how alike, a rate.

    The first group has the fewer games, as a mistake has beside the other replies.
    """
    grid = product(
        ((30, 60), (50, 300), (200, 400)), ((1, 1), (3, 3), (6, 2), (1, 5)),
        (False, True), (0, 0.1, 0.2), (0.3, 0.5),
    )  # fmt: skip
    for games, sizes, scattered, alike, rate in grid:
        lone = sizes == (1, 1) and (scattered or alike)
        if games[0] // sizes[0] >= FEWEST_PLAYERS and not lone:
            yield games, sizes, scattered, alike, rate


def test_the_interval_of_a_difference_of_shares_covers_95_percent_on_average():
    rng = np.random.default_rng(64)
    found = []
    for games, sizes, scattered, alike, rate in difference_grid():
        pair = [
            share_counts(rng, games_per_player(rng, n, size, scattered), rate + more, alike)
            for n, size, more in zip(games, sizes, (0.1, 0), strict=True)
        ]
        intervals = [
            newcombe(k1, n1, k2, n2, design1, design2)[1]
            for (k1, n1, design1), (k2, n2, design2) in zip(*pair, strict=True)
        ]
        found.append(coverage(intervals, 0.1))
    assert len(found) == 114
    assert 0.93 < np.mean(found) < 0.975


def samples(points, live):
    """`Sample` of many samples at once."""
    total, n, squares, design = np.transpose(designs(points, live))
    games = live.sum(2)
    return Sample(total, n, squares, design, games.shape[1], (games * games).sum(1))


def test_the_interval_of_a_difference_of_means_covers_95_percent_on_average():
    rng = np.random.default_rng(65)
    found = []
    for games, sizes, scattered, alike, rate in difference_grid():
        groups = []
        for n, size, truth in zip(games, sizes, (rate - 0.05, rate), strict=True):
            each = games_per_player(rng, n, size, scattered)[:PLAYED_SAMPLES]
            points, _, live = played(rng, each, truth, 0.15, alike)
            groups.append(samples(points, live))
        test = welch(*spread_alike(*groups))
        found.append(np.mean((test.low <= -0.05) & (test.high >= -0.05)))
    assert len(found) == 114
    assert 0.93 < np.mean(found) < 0.975


def test_one_player_with_most_of_the_games_does_not_fool_the_interval_of_a_difference():
    # Without counting players by their effective number it held the truth in about half.
    rng = np.random.default_rng(66)
    heavy = np.ones((SAMPLES, 10), dtype=int)
    heavy[:, 0] = 41
    groups = [
        samples(*played(rng, games, 0.5, 0.15, 0.2)[::2])
        for games in (heavy, games_per_player(rng, 100, 2, False))
    ]
    test = welch(*groups)
    assert np.mean((test.low <= 0) & (test.high >= 0)) > 0.93
    as_if_even = welch(groups[0]._replace(sum_nn=np.nan), groups[1])
    assert np.mean((as_if_even.low <= 0) & (as_if_even.high >= 0)) < 0.75


def product_grid():
    """Games, shares of the steps, and whether each step has only the games that came so far."""
    two = product((0.1, 0.3, 0.6, 0.9), (0.3, 0.6, 0.95))
    more = (0.5, 0.5, 0.5), (0.8, 0.7, 0.9), (0.9, 0.95, 0.98), (0.3, 0.2, 0.4)
    return product((30, 100, 400), (*two, *more), (False, True))


def products(rng, n, steps, narrowing):
    """Intervals of the product; samples in which nothing can be said are left out."""
    for _ in range(SAMPLES):
        games, rates = n, []
        for share in steps:
            cases = int(rng.binomial(games, share))
            rates.append((cases, games, 1.0))
            games = cases if narrowing else n
        found = product_interval(rates)
        if found is not None:
            yield found[1]


def test_the_interval_of_a_product_of_shares_covers_95_percent_on_average():
    rng = np.random.default_rng(67)
    found = [
        coverage(list(products(rng, n, steps, narrowing)), np.prod(steps))
        for n, steps, narrowing in product_grid()
    ]
    assert len(found) == 96
    assert 0.93 < np.mean(found) < 0.975
    assert min(found) > 0.85
