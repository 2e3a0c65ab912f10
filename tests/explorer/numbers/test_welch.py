"""Welch's test against a published example, scipy and statsmodels, and with players as clusters."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats
from statsmodels.stats.power import TTestIndPower

from explorer.numbers.clusters import mean_design
from explorer.numbers.welch import Sample, alike, could_show, mean_between, not_zero, welch

# R's data set `sleep`: hours of sleep gained with two drugs (Student 1908); from memory.
FIRST_DRUG = [0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0]
SECOND_DRUG = [1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4]


def singly(values):
    """The sample of players with one game each."""
    values = np.asarray(values, dtype=float)
    return Sample(values.sum(), len(values), values @ values)


def clustered(players):
    """The sample of a list of players' values."""
    values = np.concatenate(players)
    t, n = np.array([sum(p) for p in players]), np.array([len(p) for p in players])
    sums = values.sum(), len(values), values @ values
    design = mean_design(*sums, t @ t, t @ n, float(n @ n), len(players))
    return Sample(*sums, design, len(players), n @ n)


def test_the_sleep_data_give_the_values_of_r():
    # R, example on the help page of t.test, t.test(extra ~ group, data = sleep): df = 17.776,
    # p-value = 0.07939, interval -3.3654832 to 0.2054832; from memory.
    found = welch(singly(FIRST_DRUG), singly(SECOND_DRUG))
    assert found.difference / found.se == pytest.approx(-1.8608, abs=5e-5)
    assert found.df == pytest.approx(17.776, abs=5e-4)
    assert found.p_two_sided == pytest.approx(0.07939, abs=5e-6)
    assert (found.low, found.high) == pytest.approx((-3.3654832, 0.2054832), abs=5e-7)


values = st.lists(st.floats(-5, 5), min_size=2, max_size=30).filter(lambda v: np.ptp(v) > 0.01)


@settings(deadline=None)
@given(values, values)
def test_with_one_game_per_player_it_equals_scipy(first, second):
    found = welch(singly(first), singly(second))
    both = stats.ttest_ind(first, second, equal_var=False)
    less = stats.ttest_ind(first, second, equal_var=False, alternative="less")
    assert found.df == pytest.approx(both.df, rel=1e-6)
    assert found.p_two_sided == pytest.approx(both.pvalue, rel=1e-6)
    assert found.p_less == pytest.approx(less.pvalue, rel=1e-6)
    assert (found.low, found.high) == pytest.approx(tuple(both.confidence_interval()), rel=1e-6)


def test_players_who_resemble_themselves_are_tested_by_their_means():
    # Equally many games each, and all of one kind: the textbook's test of the players' means.
    first, second = [[0] * 4, [1] * 4, [0] * 4, [0, 0, 0, 1]], [[1] * 3, [1] * 3, [0, 1, 1]]
    found = welch(clustered(first), clustered(second))
    of_means = stats.ttest_ind(np.mean(first, 1), np.mean(second, 1), equal_var=False)
    assert found.df == pytest.approx(of_means.df)
    assert found.p_two_sided == pytest.approx(of_means.pvalue)


def test_players_without_a_number_of_games_count_as_alike():
    alike = Sample(6, 20, 8, 1.5, 5)
    counted = welch(alike._replace(sum_nn=5 * 4 * 4), singly(FIRST_DRUG))
    assert np.array(welch(alike, singly(FIRST_DRUG))) == pytest.approx(np.array(counted))


def test_one_player_with_most_of_the_games_shows_little():
    # By hand: 41 games of one and 9 of nine others count as 2500 / 1690 = 1.479 players,
    # so df = 0.479 and the variance grows by 3.086 over 10 / 9.
    heavy = Sample(0, 50, 50, 1, 10, 41 * 41 + 9)
    even = Sample(0, 50, 50, 1, 10, 250)
    known = Sample(0, 10**9, 10**9)
    assert welch(heavy, known).df == pytest.approx(2500 / 1690 - 1, rel=1e-4)
    ratio = (2500 / 810) / (10 / 9)
    assert welch(heavy, known).se / welch(even, known).se == pytest.approx(ratio**0.5, rel=1e-4)


@pytest.mark.parametrize(
    "few", [Sample(0.5, 1, 0.25), Sample(3, 9, 2, 9, 1), Sample(3, 9, 2, 9, 1, 81)]
)
def test_a_single_game_or_player_shows_no_chance(few):
    found = welch(few, singly(FIRST_DRUG))
    assert found.difference == pytest.approx(few.total / few.n - 0.75)
    assert np.isnan(found[1:]).all()


def test_no_games_have_no_difference():
    assert np.isnan(welch(Sample(0, 0, 0), singly(FIRST_DRUG))).all()


def test_equal_values_claim_certainty_only_without_a_unit():
    drawn, lost = singly([0.5] * 5), singly([0.0] * 5)
    assert welch(lost, drawn).p_less == 0
    assert welch(drawn, drawn).p_two_sided == 1
    # By hand: each variance is 0.25 / (5 * 4).
    found = welch(lost, drawn, unit=0.5)
    assert found.se == pytest.approx((2 * 0.25 / 20) ** 0.5)
    assert found.p_less > 0.001


def test_thousands_of_pairs_are_tested_at_once():
    pairs = [(FIRST_DRUG, SECOND_DRUG), (SECOND_DRUG, FIRST_DRUG[:4]), ([1], [2, 3])]
    columns = [Sample(*np.transpose([singly(pair[side]) for pair in pairs])) for side in (0, 1)]
    single = [welch(singly(first), singly(second)) for first, second in pairs]
    assert np.transpose(welch(*columns)) == pytest.approx(np.array(single), nan_ok=True)


@pytest.mark.parametrize(("games", "alpha"), [(30, 0.05), (60, 0.01), (300, 0.001)])
def test_a_cost_that_could_be_shown_is_found_with_the_power_said(games, alpha):
    shown = could_show((2 / games) ** 0.5, 2 * games - 2, alpha)
    power = TTestIndPower().power(shown, games, alpha, alternative="larger")
    assert power == pytest.approx(0.8, abs=0.01)


def test_a_sample_that_varies_little_is_taken_to_vary_like_both_together():
    # By hand: squares around the means are 0 of 4 games and 4 of 4, so 0.5 a game together.
    lost, mixed = singly([0.0] * 4), singly([1.0, -1.0, 1.0, -1.0])
    first, second = alike(lost, mixed)
    assert (first.squares, second.squares) == (2, 4)
    assert (first.total, first.n) == (lost.total, lost.n)
    assert alike(mixed, mixed) == (mixed, mixed)


def test_the_interval_of_one_mean_is_student_s():
    values = FIRST_DRUG
    mean, low, high = mean_between(singly(values))
    spread = np.std(values, ddof=1) / len(values) ** 0.5
    expected = stats.t.interval(0.95, len(values) - 1, np.mean(values), spread)
    assert (mean, low, high) == pytest.approx((np.mean(values), *expected))


def test_one_player_s_mean_has_no_interval_and_equal_values_one_only_with_a_unit():
    assert np.isnan(mean_between(Sample(6, 2, 18, 2, 1, 4))[1:]).all()
    assert mean_between(singly([3.0] * 5))[1:] == pytest.approx((3, 3))
    low, high = mean_between(singly([3.0] * 5), unit=1)[1:]
    assert low < 3 < high


def test_a_mean_of_zero_is_tested_by_students_t() -> None:
    """With one game a player it is scipy's one-sample test."""
    values = np.array([0.5, -0.1, 0.3, 0.4, -0.2, 0.6])
    sample = Sample(values.sum(), len(values), values @ values)
    assert float(not_zero(sample)) == pytest.approx(stats.ttest_1samp(values, 0).pvalue)


def test_nothing_but_zeros_is_no_sign_of_anything() -> None:
    assert float(not_zero(Sample(0.0, 5, 0.0))) == 1.0
