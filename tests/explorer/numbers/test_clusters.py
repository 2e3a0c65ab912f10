"""Design effects against a cluster-robust regression and against cases worked by hand."""

from __future__ import annotations

import numpy as np
import pytest
import statsmodels.api as sm
from hypothesis import given, settings
from hypothesis import strategies as st

from explorer.numbers.clusters import clustered_variance, design_effect, mean_design, mean_designs


def sums(players):
    """(total, n, sum_tt, sum_tn, sum_nn, clusters) of a list of players' values."""
    t = np.array([float(sum(values)) for values in players])
    n = np.array([len(values) for values in players])
    return t.sum(), int(n.sum()), t @ t, t @ n, n @ n, len(players)


def design_of(players):
    total, n, *rest = sums(players)
    return mean_design(total, n, sum(v * v for values in players for v in values), *rest)


games = st.lists(
    st.lists(st.sampled_from([0, 0.5, 1]), min_size=1, max_size=12), min_size=2, max_size=15
)


@settings(deadline=None)
@given(games)
def test_the_variance_equals_a_cluster_robust_regression_on_a_constant(players):
    y = np.concatenate(players)
    groups = np.repeat(np.arange(len(players)), [len(values) for values in players])
    fit = sm.OLS(y, np.ones(len(y))).fit(cov_type="cluster", cov_kwds={"groups": groups})
    assert clustered_variance(*sums(players)) == pytest.approx(
        float(fit.cov_params()[0, 0]), abs=1e-12
    )


def test_one_game_per_player_has_a_design_effect_of_exactly_1():
    assert design_effect(k=30, n=100, sum_kk=30, sum_kn=30, sum_nn=100, clusters=100) == 1.0


def test_players_who_always_do_the_same_are_one_case_each():
    # 20 players of 10 games, 6 of whom always choose it: 200 games are worth about 20.
    # By hand: 20/19 * 20 * 100 * 0.21 / 200^2 over 0.21 / 199.
    found = design_effect(60, 200, sum_kk=600, sum_kn=600, sum_nn=2000, clusters=20)
    assert found == pytest.approx(20 / 19 * 0.05 * 199)


def test_a_design_effect_is_never_below_1():
    # Every player chooses it in exactly half of the games: less spread than chance has.
    assert design_of([[0, 1]] * 30) == 1.0


@pytest.mark.parametrize("k", [0, 50])
def test_where_nobody_or_everybody_does_it_nothing_shows_clustering(k):
    cases = k // 10
    found = design_effect(k, 50, 10 * cases * cases, 10 * cases * 5, 10 * 25, clusters=10)
    assert found == 1.0


def test_a_single_player_is_a_single_case_whatever_the_number_of_games():
    assert design_effect(30, 50, 900, 1500, 2500, clusters=1) == 50.0
    assert clustered_variance(30, 50, 900, 1500, 2500, clusters=1) is None


def test_no_games_and_one_game_have_a_design_effect_of_1():
    assert design_effect(0, 0, 0, 0, 0, clusters=0) == 1.0
    assert design_effect(1, 1, 1, 1, 1, clusters=1) == 1.0


def test_equal_results_that_are_no_binary_fractions_count_as_equal():
    assert design_of([[0.1, 0.1, 0.1], [0.1] * 7, [0.1]]) == 1.0


@settings(deadline=None)
@given(games)
def test_half_points_and_points_have_one_design_effect(players):
    doubled = [[2 * v for v in values] for values in players]
    assert design_of(doubled) == pytest.approx(design_of(players))


@settings(deadline=None)
@given(games)
def test_a_share_is_the_mean_of_noughts_and_ones(players):
    cases = [[1 if v == 1 else 0 for v in values] for values in players]
    assert design_effect(*sums(cases)) == pytest.approx(design_of(cases))


@settings(deadline=None)
@given(games)
def test_a_design_effect_lies_between_1_and_the_number_of_games(players):
    _, n, *_ = sums(players)
    assert 1 <= design_of(players) <= n


def test_one_heavy_player_is_worth_less_than_the_games_look():
    # 50 games of one who always plays it beside 50 players who never do.
    heavy = [[1] * 50, *([0] for _ in range(50))]
    assert 100 / design_of(heavy) < 5


crowds = st.lists(
    st.lists(st.lists(st.sampled_from([0, 0.1, 1]), min_size=1, max_size=12), max_size=8),
    min_size=1,
    max_size=20,
)


@settings(deadline=None)
@given(crowds)
def test_many_design_effects_at_once_are_the_same_as_one_by_one(groups):
    rows = [
        (total, n, sum(v * v for values in players for v in values), *products)
        for players in groups
        for total, n, *products in [sums(players)]
    ]
    single = [mean_design(*row) for row in rows]
    assert mean_designs(*np.transpose(rows)) == pytest.approx(single)
