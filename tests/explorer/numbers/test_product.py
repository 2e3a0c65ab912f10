"""Products of shares, and of a share and a difference."""

from __future__ import annotations

from math import exp, log, sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from explorer.numbers.intervals import Interval, wilson
from explorer.numbers.product import product_interval, times

shares = st.tuples(st.integers(0, 200), st.integers(0, 200), st.floats(1, 9)).map(
    lambda drawn: (drawn[0], drawn[0] + drawn[1] + 1, drawn[2])
)


@given(shares)
def test_a_product_of_one_share_is_wilsons_interval(rate):
    value, interval = product_interval([rate])
    assert value == rate[0] / rate[1]
    assert interval == pytest.approx(wilson(*rate))


def test_two_shares_are_put_together_by_their_distances_on_the_logarithmic_scale():
    # By hand from Wilson's limits of 50/100 (.403832 to .596168) and 8/10 (.490162 to .943318),
    # computed with statsmodels.
    below = sqrt(log(0.5 / 0.403832) ** 2 + log(0.8 / 0.490162) ** 2)
    above = sqrt(log(0.596168 / 0.5) ** 2 + log(0.943318 / 0.8) ** 2)
    value, interval = product_interval([(50, 100, 1), (8, 10, 1)])
    assert value == pytest.approx(0.4)
    assert interval == pytest.approx((0.4 * exp(-below), 0.4 * exp(above)), abs=1e-6)


@given(st.lists(shares, max_size=6))
def test_a_product_lies_in_its_interval_and_within_0_and_1(rates):
    value, (low, high) = product_interval(rates)
    assert 0 <= low <= value <= high <= 1


def test_a_step_that_nobody_found_makes_at_most_the_product_of_the_upper_limits():
    # 1 and 0.277533: Wilson's upper limits of 10/10 and 0/10, computed with statsmodels.
    value, interval = product_interval([(10, 10, 1), (0, 10, 1)])
    assert value == 0
    assert interval == pytest.approx((0, 0.277533), abs=1e-6)


def test_after_a_step_that_nobody_found_nobody_need_come_further():
    assert product_interval([(0, 10, 1), (0, 0, 1)]) == product_interval([(0, 10, 1)])


def test_a_step_without_games_makes_the_product_unknown():
    assert product_interval([(5, 10, 1), (0, 0, 1)]) is None


def test_no_steps_are_certain():
    assert product_interval([]) == (1, (1, 1))


def test_a_design_effect_widens_the_product():
    _, plain = product_interval([(50, 100, 1), (30, 60, 1)])
    _, wide = product_interval([(50, 100, 1), (30, 60, 4)])
    assert wide.low < plain.low
    assert wide.high > plain.high


def test_a_share_times_a_loss_by_hand():
    # 0.2 (0.15 to 0.3) times -0.5 (-0.9 to -0.3): the largest loss takes 0.3 and -0.9.
    value, interval = times((0.2, Interval(0.15, 0.3)), (-0.5, Interval(-0.9, -0.3)))
    assert value == pytest.approx(-0.1)
    assert interval.low == pytest.approx(-0.1 - sqrt(0.05**2 + 0.08**2))
    assert interval.high == pytest.approx(-0.1 + sqrt(0.025**2 + 0.04**2))


def test_times_a_certain_number_is_the_interval_stretched_or_turned_round():
    about = 0.3, Interval(0.2, 0.5)
    assert times(about, (2, Interval(2, 2)))[1] == pytest.approx((0.4, 1.0))
    assert times((-2, Interval(-2, -2)), about)[1] == pytest.approx((-1.0, -0.4))
