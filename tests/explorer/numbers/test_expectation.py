"""Expected scores: FIDE's curve, and a library's own."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import isotonic_regression

from explorer.numbers.expectation import (
    GAMES_PER_STEP,
    MIN_GAMES_FOR_OWN,
    PARTS,
    WIDEST,
    _rising,
    fide_expectation,
    fit_expectation,
    left_by_level,
)


def logistic(difference):
    """White's expected score in an invented pool: flatter than FIDE's, White 35 points better."""
    return 1 / (1 + 10 ** (-(difference + 35) / 500))


def played(games, seed):
    """Rows (difference, games, half points) of a seeded season in that pool."""
    rng = np.random.default_rng(seed)
    difference = np.rint(rng.normal(0, 250, games)).astype(int)
    half_points = 2 * (rng.random(games) < logistic(difference))
    where, row = np.unique(difference, return_inverse=True)
    return where, np.bincount(row), np.bincount(row, weights=half_points)


def test_a_library_has_its_own_curve_from_2000_games():
    assert MIN_GAMES_FOR_OWN == 2000


@pytest.mark.parametrize("white", [True, False])
def test_fides_curve_is_the_table_for_both_colours(white):
    # FIDE Handbook B.02, table 8.1.2, differences capped at 400 (8.3.1).
    fide = fide_expectation()
    assert fide.source == "fide"
    found = [fide.of(d, white) for d in (0, 3, 4, 100, 400, 3000, -4, -400, -3000)]
    assert found == [0.50, 0.50, 0.51, 0.64, 0.92, 0.92, 0.49, 0.08, 0.08]


def test_expected_scores_of_many_games_come_as_an_array():
    found = fide_expectation().of(np.array([0, 100, -100]), white=True)
    assert found.tolist() == [0.50, 0.64, 0.36]


def test_the_table_for_sql_has_a_value_for_every_difference_of_both_colours():
    fide = fide_expectation()
    lowest, white, black = fide.table()
    assert lowest == -WIDEST
    assert len(white) == len(black) == 2 * WIDEST + 1
    for d in (-WIDEST, -100, 0, 4, WIDEST):
        assert white[d - lowest] == fide.of(d, white=True)
        assert black[d - lowest] == fide.of(d, white=False)


rows = st.lists(
    st.tuples(st.integers(-1500, 1500), st.integers(1, 200), st.floats(0, 1)),
    min_size=1,
    max_size=40,
)


@settings(deadline=None)
@given(rows)
def test_any_librarys_curves_lie_within_0_and_1_never_fall_and_mirror_each_other(rows):
    difference, games, share = (np.array(column) for column in zip(*rows, strict=True))
    _, white, black = fit_expectation(difference, games, np.rint(2 * games * share)).table()
    for curve in (np.array(white), np.array(black)):
        assert curve.min() >= 0
        assert curve.max() <= 1
        assert np.all(np.diff(curve) >= 0)
        assert np.array_equal(np.rint(curve * PARTS) / PARTS, curve)
    assert np.allclose(np.array(white) + np.array(black)[::-1], 1)


@settings(deadline=None)
@given(st.lists(st.tuples(st.integers(0, 100), st.integers(50, 300)), min_size=1, max_size=60))
def test_the_steps_are_made_monotone_as_by_scipys_isotonic_regression(steps):
    half_points, games = (np.array(column, float) for column in zip(*steps, strict=True))
    known = isotonic_regression(half_points / games, weights=games).x
    assert np.allclose(_rising(half_points, games), known, rtol=0, atol=1e-12)


def test_the_order_of_the_rows_does_not_matter():
    difference, games, half_points = played(3000, seed=1)
    mixed = np.random.default_rng(2).permutation(len(difference))
    there = fit_expectation(difference, games, half_points)
    again = fit_expectation(difference[mixed], games[mixed], half_points[mixed])
    assert np.array_equal(there.white, again.white)


def test_a_librarys_own_curve_finds_a_pool_that_is_flatter_than_fides_and_favours_white():
    own = fit_expectation(*played(300_000, seed=4))
    assert own.source == "library"
    differences = np.arange(-400, 401)
    assert own.of(differences, white=True) == pytest.approx(logistic(differences), abs=0.025)
    assert own.of(differences, white=False) == pytest.approx(1 - logistic(-differences), abs=0.025)


def test_from_2000_games_on_the_own_curve_is_nearer_the_truth_than_fides():
    differences, games, half_points = played(MIN_GAMES_FOR_OWN, seed=5)

    def error(expectation):
        return np.average(
            (expectation.of(differences, white=True) - logistic(differences)) ** 2, weights=games
        )

    assert error(fit_expectation(differences, games, half_points)) < error(fide_expectation())


def test_a_lone_upset_at_the_far_end_decides_nothing():
    # 60 games at +500, 54 points; one game at +700, lost.
    own = fit_expectation([0, 500, 700], [100, 60, 1], [100, 108, 0])
    assert own.of(700, white=True) == pytest.approx(54 / 61, abs=1e-4)


def test_beyond_the_differences_seen_the_curve_stays_flat():
    own = fit_expectation([-100, 100], [500, 500], [300, 700])
    assert own.of(-WIDEST, white=True) == own.of(-100, white=True) == 0.3
    assert own.of(WIDEST, white=True) == own.of(100, white=True) == 0.7
    assert own.of(0, white=True) == 0.5


def test_steps_that_fall_are_pooled_by_their_games():
    # Pool-adjacent-violators by hand: (0.6 * 100 + 0.5 * 300) / 400 = 0.525.
    own = fit_expectation([-100, 0, 100], [100, 300, 200], [120, 300, 280])
    assert own.of(-100, white=True) == own.of(0, white=True) == 0.525
    assert own.of(100, white=True) == 0.7


def test_fewer_games_than_a_step_give_their_mean():
    own = fit_expectation([-200, 200], [1, GAMES_PER_STEP - 2], [0, GAMES_PER_STEP - 2])
    mean = pytest.approx((GAMES_PER_STEP - 2) / (2 * (GAMES_PER_STEP - 1)), abs=1e-4)
    assert own.of(-WIDEST, white=True) == own.of(WIDEST, white=True) == mean


def test_a_curve_cannot_be_fitted_to_no_games():
    with pytest.raises(ValueError, match="no games"):
        fit_expectation([], [], [])


def test_what_an_expectation_leaves_is_a_mean_by_colour_and_level():
    # White at level 0: (3 - 1) / (10 + 30); Black at level 2: -1 / 20; nothing else was played.
    found = left_by_level([1, 1, 0], [0, 0, 2], [10, 30, 20], [3, -1, -1])
    assert found.tolist() == [[0, 0, -0.05], [0.05, 0, 0]]


def test_no_games_leave_nothing_at_any_level():
    assert left_by_level([], [], [], []).shape == (2, 0)
