"""The expected swing: straight in the expected score, by ply and level."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import linregress

from explorer.numbers.swing import fit_expected_swing


def test_lines_that_differ_by_ply_and_level_are_found_exactly():
    ply, level = np.array([0, 0, 0, 0, 1, 1]), np.array([0, 0, 1, 1, 1, 1])
    expected = np.array([0.4, 0.6, 0.3, 0.7, 0.2, 0.5])
    games = np.array([10, 30, 5, 5, 20, 40])
    each = 0.5 * level - 1 + (1 + 2 * ply) * expected
    fit = fit_expected_swing(ply, level, expected, games, games * each)
    assert fit.slope == pytest.approx([1, 3])
    assert fit.of(ply, level, expected) == pytest.approx(each)


@given(st.lists(st.tuples(st.floats(0, 1), st.integers(-9, 9)), min_size=3, max_size=30))
def test_one_ply_and_level_is_ordinary_least_squares(games):
    x, y = np.transpose(games)
    if np.ptp(x) < 0.01:
        return
    fit = fit_expected_swing(np.zeros(len(x), int), np.zeros(len(x), int), x, np.ones(len(x)), y)
    line = linregress(x, y)
    assert fit.slope == pytest.approx([line.slope], abs=1e-6)
    assert fit.base == pytest.approx(np.array([[line.intercept]]), abs=1e-6)


def test_games_that_are_alike_may_come_as_one_row():
    ply, level = [0, 0, 0], [0, 0, 0]
    apart = fit_expected_swing(ply, level, [0.4, 0.4, 0.7], [1, 1, 1], [-1, 3, 2])
    joined = fit_expected_swing(ply[:2], level[:2], [0.4, 0.7], [2, 1], [2, 2])
    assert apart.slope == pytest.approx(joined.slope)
    assert apart.base == pytest.approx(joined.base)


def test_what_is_left_adds_up_to_nothing_at_every_ply_and_level():
    rng = np.random.default_rng(5)
    ply, level, x = rng.integers(0, 3, 500), rng.integers(0, 4, 500), rng.random(500)
    swing = rng.integers(-9, 10, 500)
    left = swing - fit_expected_swing(ply, level, x, np.ones(500), swing).of(ply, level, x)
    assert np.bincount(ply * 4 + level, left) == pytest.approx(np.zeros(12), abs=1e-9)


def test_one_expected_score_has_no_slope_and_plies_without_games_expect_nothing():
    fit = fit_expected_swing([2, 2], [0, 1], [0.5, 0.5], [4, 2], [4, -2])
    assert fit.slope.tolist() == [0, 0, 0]
    assert fit.base.tolist() == [[0, 0], [0, 0], [1, -1]]


def test_no_games_have_no_plies():
    assert fit_expected_swing([], [], [], [], []).base.shape == (0, 0)
