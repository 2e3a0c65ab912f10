"""The trend test against published examples and an independent implementation."""

from __future__ import annotations

from math import sqrt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from statsmodels.stats.contingency_tables import Table

from explorer.numbers.trend import cochran_armitage, linear_trend

SMOKERS, PATIENTS = [83, 90, 129, 70], [86, 93, 136, 82]


def test_the_pain_study_gives_the_statistic_of_sas():
    # SAS/STAT user's guide, PROC FREQ, example "Cochran-Armitage Trend Test" (data found there;
    # the statistic -4.7918 from memory). SAS follows the "no" column, hence its sign.
    trend = cochran_armitage([6, 7, 9, 14, 23], [32, 33, 32, 32, 32], [0, 1, 2, 3, 4])
    assert trend.z == pytest.approx(4.7918, abs=5e-5)
    # Two-sided, computed with scipy from that statistic.
    assert trend.p == pytest.approx(1.6528e-6, rel=1e-4)
    assert trend.direction == "grows"


def test_the_smokers_data_give_the_statistic_of_r():
    # R, help page of prop.trend.test: X-squared = 8.2249, p-value = 0.004132.
    trend = cochran_armitage(SMOKERS, PATIENTS, [1, 2, 3, 4])
    assert trend.z**2 == pytest.approx(8.2249, abs=5e-5)
    assert trend.p == pytest.approx(0.004132, abs=5e-7)
    assert trend.direction == "fades"


def test_the_smokers_data_with_rs_other_scores():
    # Second call on the same R help page, scores 0, 0, 0, 1; values computed.
    trend = cochran_armitage(SMOKERS, PATIENTS, [0, 0, 0, 1])
    assert trend.z**2 == pytest.approx(12.173146, abs=1e-6)
    assert trend.p == pytest.approx(4.848e-4, abs=5e-8)


tables = st.lists(st.tuples(st.integers(1, 60), st.integers(1, 60)), min_size=2, max_size=9)


@settings(deadline=None)
@given(tables)
def test_the_statistic_equals_statsmodels_but_for_its_n_minus_1(groups):
    yes, no = np.array(groups).T
    scores = np.arange(len(groups)) * 200 + 700
    n = int(yes.sum() + no.sum())
    other = Table(np.array([no, yes]).T, shift_zeros=False).test_ordinal_association(
        row_scores=scores, col_scores=np.array([0, 1])
    )
    found = cochran_armitage(yes, yes + no, scores)
    assert found.z == pytest.approx(other.zscore * sqrt(n / (n - 1)), abs=1e-9)


def test_the_unit_of_the_scores_does_not_matter():
    by_rank = cochran_armitage(SMOKERS, PATIENTS, [1, 2, 3, 4])
    assert cochran_armitage(SMOKERS, PATIENTS, [700, 900, 1100, 1300]) == pytest.approx(by_rank)


def test_a_design_effect_makes_a_group_count_for_less():
    whole = cochran_armitage([40, 10], [100, 50], [0, 1], designs=[4, 2])
    assert whole == pytest.approx(cochran_armitage([10, 5], [25, 25], [0, 1]))


def test_levels_without_games_are_passed_over():
    assert cochran_armitage([0, 9, 0, 2], [0, 30, 0, 30], [1, 2, 3, 4]) == cochran_armitage(
        [9, 2], [30, 30], [2, 4]
    )


def test_a_trend_that_chance_explains_has_no_direction():
    assert cochran_armitage([10, 9], [30, 30], [0, 1]).direction == "none"


def test_a_significant_trend_whose_ends_say_the_opposite_has_no_direction():
    # Falls steeply in the big middle groups, yet the small last level is above the first.
    trend = cochran_armitage([2, 300, 100, 3], [10, 500, 500, 10], [0, 1, 2, 3])
    assert trend.p < 0.001
    assert trend.z < 0
    assert trend.direction == "none"


@pytest.mark.parametrize(
    ("ks", "ns", "scores"),
    [
        ([], [], []),
        ([3], [10], [900]),
        ([3, 0], [10, 0], [900, 1100]),
        ([0, 0], [10, 10], [900, 1100]),
        ([10, 10], [10, 10], [900, 1100]),
        ([3, 5], [10, 10], [900, 900]),
    ],
)
def test_where_no_trend_can_be_told_there_is_none(ks, ns, scores):
    assert cochran_armitage(ks, ns, scores) is None


# Three groups of numbers with scores; no source.
VALUES = ([1, 2, 2, 4], [2, 3, 3, 5, 4], [4, 4, 6])
SCORES = [900, 1100, 1500]


def test_the_trend_of_means_is_the_correlation_of_value_and_score():
    sums = [[f(group) for group in VALUES] for f in (sum, len, lambda g: sum(v * v for v in g))]
    found = linear_trend(*sums, SCORES)
    scores = np.repeat(SCORES, [len(group) for group in VALUES])
    correlation = np.corrcoef(np.concatenate(VALUES), scores)[0, 1]
    assert found.z == pytest.approx(correlation * len(scores) ** 0.5)
    assert found.direction == "grows"


def test_for_cases_the_trend_of_means_is_that_of_shares():
    ks, ns = [6, 7, 9, 14, 23], [32, 33, 32, 32, 32]
    assert linear_trend(ks, ns, ks, range(5)) == cochran_armitage(ks, ns, range(5))


def test_equal_values_show_no_trend():
    assert linear_trend([30, 60], [10, 20], [90, 180], [900, 1100]) is None
