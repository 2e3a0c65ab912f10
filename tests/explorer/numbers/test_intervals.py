"""Intervals against published values and against independent implementations."""

from __future__ import annotations

import subprocess
import sys
from math import sqrt

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.special import ndtr
from scipy.stats import binomtest
from statsmodels.stats.proportion import confint_proportions_2indep, proportion_confint

from explorer.numbers.intervals import (
    Interval,
    at_most,
    mean_interval,
    minus,
    newcombe,
    normal_quantile,
    score_interval,
    wilson,
)

Z_OF_196 = 2 * float(ndtr(1.96)) - 1  # the confidence at which z is 1.96 exactly


def test_a_95_percent_interval_reaches_1_959964_standard_errors():
    # Normal distribution tables; from memory.
    assert normal_quantile(0.95) == pytest.approx(1.959964, abs=5e-7)


@pytest.mark.parametrize(
    ("k", "n", "low", "high"),
    [
        # Newcombe, Statistics in Medicine 17:857-872 (1998), table I, method 3; from memory.
        (81, 263, 0.2553, 0.3662),
        (15, 148, 0.0624, 0.1605),
        (0, 20, 0.0, 0.1611),
        (1, 29, 0.0061, 0.1718),
    ],
)
def test_wilson_gives_newcombes_published_limits(k, n, low, high):
    assert wilson(k, n) == pytest.approx((low, high), abs=5e-5)


@pytest.mark.parametrize(
    ("k", "n", "low", "high"),
    [
        # README of the npm package wilson-score-interval, which takes z = 1.96.
        (10, 14, 0.453505, 0.882788),
        (430, 474, 0.877675, 0.930124),
    ],
)
def test_wilson_gives_the_published_limits_of_another_package(k, n, low, high):
    assert wilson(k, n, confidence=Z_OF_196) == pytest.approx((low, high), abs=1e-6)


@pytest.mark.parametrize(
    ("k", "n", "low", "high"),
    [
        # Computed with statsmodels 0.15.0 and scipy 1.17.1, which agree.
        (0, 10, 0.0, 0.277533),
        (1, 10, 0.017876, 0.404150),
        (8, 10, 0.490162, 0.943318),
        (10, 10, 0.722467, 1.0),
        (0, 1, 0.0, 0.793451),
        (1, 1, 0.206549, 1.0),
        (50, 100, 0.403832, 0.596168),
        (81, 263, 0.255289, 0.366210),
        (15, 148, 0.062386, 0.160487),
        (0, 20, 0.0, 0.161125),
        (1, 29, 0.006113, 0.171755),
    ],
)
def test_wilson_gives_the_computed_limits(k, n, low, high):
    assert wilson(k, n) == pytest.approx((low, high), abs=1e-6)


@pytest.mark.parametrize("n", [1, 2, 7, 30, 263, 5000])
def test_wilson_equals_statsmodels_and_scipy_at_every_count(n):
    for k in range(0, n + 1, max(1, n // 20)):
        expected = proportion_confint(k, n, method="wilson")
        assert wilson(k, n) == pytest.approx(expected, abs=1e-6)
        assert wilson(k, n) == pytest.approx(
            tuple(binomtest(k, n).proportion_ci(method="wilson")), abs=1e-6
        )


def test_wilson_ends_exactly_at_0_and_1_when_nobody_or_everybody_did_it():
    assert wilson(0, 37, design=3.7).low == 0.0
    assert wilson(37, 37, design=3.7).high == 1.0


def test_wilson_with_a_design_effect_is_plain_wilson_on_the_smaller_sample():
    assert wilson(40, 100, design=4) == pytest.approx(wilson(10, 25))


def test_wilson_of_no_games_is_none():
    assert wilson(0, 0) is None


counts = st.integers(1, 100_000).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n)))


@settings(deadline=None)
@given(counts, st.floats(1, 500))
def test_wilson_lies_within_0_and_1_and_holds_the_share(case, design):
    k, n = case
    low, high = wilson(k, n, design)
    assert 0 <= low <= k / n <= high <= 1


def test_nothing_seen_in_240_games_means_at_most_1_6_in_100():
    assert round(100 * at_most(240), 1) == 1.6
    # z^2 / (n + z^2): Wilson's upper end at 0, algebra.
    assert at_most(240) == pytest.approx(3.841459 / 243.841459)


def test_nothing_seen_in_no_games_bounds_nothing():
    assert at_most(0) is None


@pytest.mark.parametrize(
    ("k1", "n1", "k2", "n2", "difference", "low", "high"),
    [
        # Newcombe, Statistics in Medicine 17:873-890 (1998), table II, method 10: the first two
        # found in a public R package's tests that name the paper, the others from memory.
        (56, 70, 48, 80, 0.2, 0.0524, 0.3339),
        (9, 10, 3, 10, 0.6, 0.1705, 0.8090),
        (6, 7, 2, 7, 0.5714, 0.0582, 0.8062),
        (5, 56, 0, 29, 0.0893, -0.0381, 0.1926),
        (0, 10, 0, 20, 0.0, -0.1611, 0.2775),
        (0, 10, 0, 10, 0.0, -0.2775, 0.2775),
        (10, 10, 0, 20, 1.0, 0.6791, 1.0),
        (10, 10, 0, 10, 1.0, 0.6075, 1.0),
    ],
)
def test_newcombe_gives_the_published_limits(k1, n1, k2, n2, difference, low, high):
    found, interval = newcombe(k1, n1, k2, n2)
    assert found == pytest.approx(difference, abs=5e-5)
    assert interval == pytest.approx((low, high), abs=5e-5)


@settings(deadline=None)
@given(counts, counts)
def test_newcombe_equals_statsmodels(first, second):
    (k1, n1), (k2, n2) = first, second
    expected = confint_proportions_2indep(k1, n1, k2, n2, method="newcomb", compare="diff")
    assert newcombe(k1, n1, k2, n2)[1] == pytest.approx(expected, abs=1e-6)


def test_newcombe_with_design_effects_is_newcombe_on_the_smaller_samples():
    _, clustered = newcombe(40, 100, 30, 90, design1=4, design2=3)
    assert clustered == pytest.approx(newcombe(10, 25, 10, 30)[1])


@pytest.mark.parametrize(("n1", "n2"), [(0, 5), (5, 0)])
def test_newcombe_against_no_games_is_none(n1, n2):
    assert newcombe(0, n1, 0, n2) is None


def test_a_difference_of_two_estimates_goes_as_far_as_their_ends_by_hand():
    # 0.5 (0.2 to 0.9) minus 0.1 (-0.3 to 0.4): at the lowest 0.2 meets 0.4.
    value, interval = minus((0.5, Interval(0.2, 0.9)), (0.1, Interval(-0.3, 0.4)))
    assert value == pytest.approx(0.4)
    assert interval == pytest.approx((0.4 - sqrt(0.09 + 0.09), 0.4 + sqrt(0.16 + 0.16)))


@pytest.mark.parametrize(
    ("wins", "draws", "losses", "centre", "error"),
    [
        # By hand, one win, draw and loss more: 46/21/36 is 56.5 of 103, variance of
        # 46 ones, 21 halves and 36 noughts.
        (45, 20, 35, 56.5 / 103, sqrt((51.25 / 103 - (56.5 / 103) ** 2) / 103)),
        # 61/81/61: a score of one half, variance 0.25 * 122 / 203.
        (60, 80, 60, 0.5, sqrt(0.25 * 122 / 203 / 203)),
        # 1/11/1: all drawn, yet no certainty.
        (0, 10, 0, 0.5, sqrt(0.25 * 2 / 13 / 13)),
    ],
)
def test_the_score_interval_is_the_samples_own_variance_with_three_more_games(
    wins, draws, losses, centre, error
):
    low, high = score_interval(wins, draws, losses)
    assert (low + high) / 2 == pytest.approx(centre)
    assert (high - low) / 2 == pytest.approx(1.959964 * error, rel=1e-6)


def test_draws_make_a_score_surer_than_wins_and_losses_of_the_same_mean():
    # The variance of 60/80/60 is 0.15, not the binomial 0.25: by hand.
    drawish, sharp = score_interval(60, 80, 60), score_interval(100, 0, 100)
    assert drawish.high - drawish.low < 0.8 * (sharp.high - sharp.low)


@pytest.mark.parametrize("games", [1, 2, 3, 30, 1000])
def test_a_clean_sheet_is_never_certain_and_never_beyond_0_or_1(games):
    low, high = score_interval(games, 0, 0)
    assert low < 1 - 0.5 / games
    assert high == 1.0
    assert score_interval(0, 0, games) == pytest.approx((0.0, 1 - low))


def test_a_score_with_a_design_effect_is_the_score_of_the_smaller_sample():
    assert score_interval(40, 20, 20, design=4) == pytest.approx(score_interval(10, 5, 5))


def test_the_score_of_no_games_has_no_interval():
    assert score_interval(0, 0, 0) is None


results = st.tuples(st.integers(0, 5000), st.integers(0, 5000), st.integers(0, 5000))


@settings(deadline=None)
@given(results.filter(any), st.floats(1, 500))
def test_the_score_interval_lies_within_0_and_1_and_holds_the_score(result, design):
    wins, draws, losses = result
    low, high = score_interval(wins, draws, losses, design)
    assert 0 <= low <= high <= 1
    score = (wins + draws / 2) / sum(result)
    assert low - 1e-12 <= score <= high + 1e-12


def test_against_an_equal_opponent_the_two_intervals_are_the_same_but_for_the_half():
    against = mean_interval(total=(45 - 35) / 2, n=100, squares=(45 + 35) / 4)
    assert tuple(end + 0.5 for end in against) == pytest.approx(score_interval(45, 20, 35))


def test_one_upset_is_no_proof_and_lies_inside_its_own_interval():
    low, high = mean_interval(total=0.92, n=1, squares=0.92**2)
    assert low < 0
    assert high >= 0.92


def test_the_mean_of_many_results_nears_the_textbook_interval():
    # mean +- z * s / sqrt(n), common practice: 10,000 results of +-0.5 around 0.02.
    n, mean = 10_000, 0.02
    error = sqrt((0.25 - mean * mean) / n)
    found = mean_interval(mean * n, n, 0.25 * n)
    assert found == pytest.approx((mean - 1.959964 * error, mean + 1.959964 * error), abs=1e-4)


def test_the_mean_against_expectation_of_no_games_has_no_interval():
    assert mean_interval(0, 0, 0) is None


def test_an_interval_names_its_ends():
    assert Interval(0.1, 0.2).low == 0.1
    assert Interval(0.1, 0.2).high == 0.2


def test_importing_the_statistics_leaves_scipy_for_the_command_that_needs_it():
    modules = (
        "clusters", "discovery", "expectation", "fide", "intervals",
        "multiple", "product", "swing", "trend", "welch",
    )  # fmt: skip
    names = ", ".join(f"explorer.numbers.{name}" for name in modules)
    check = f"import sys, {names}; sys.exit('scipy' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", check], check=False).returncode == 0
