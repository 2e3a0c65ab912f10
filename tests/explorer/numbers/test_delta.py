"""The interval of a chance put together from shares."""

from __future__ import annotations

from math import exp, log

import pytest

from explorer.numbers.delta import chance_interval
from explorer.numbers.intervals import wilson


def test_it_is_symmetric_on_the_logit_scale() -> None:
    """logit +- 1.959964 x standard error of the logit, the textbook's."""
    low, high = chance_interval(0.2, 0.2 * 0.8 / 100)
    half = 1.959964 * (1 / (100 * 0.2 * 0.8)) ** 0.5
    centre = log(0.2 / 0.8)
    assert low == pytest.approx(1 / (1 + exp(-(centre - half))), rel=1e-6)
    assert high == pytest.approx(1 / (1 + exp(-(centre + half))), rel=1e-6)


@pytest.mark.parametrize("value", [1e-9, 0.001, 0.5, 0.999])
def test_it_holds_the_value_and_stays_between_0_and_1(value: float) -> None:
    low, high = chance_interval(value, 0.01)
    assert 0 <= low < value < high <= 1


def test_of_one_place_where_nothing_else_was_seen_it_is_wilsons() -> None:
    assert chance_interval(0.0, 0.0, [(1.0, 40)]) == wilson(0, 40)
    low, high = chance_interval(1.0, 0.0, [(1.0, 40)])
    assert (low, high) == (pytest.approx(wilson(40, 40).low), 1)


def test_a_place_that_is_seldom_reached_matters_less() -> None:
    assert chance_interval(0.0, 0.0, [(0.1, 40)]).high == pytest.approx(0.1 * wilson(0, 40).high)


def test_without_any_doubt_there_is_no_interval() -> None:
    assert chance_interval(1.0, 0.0) is None
    assert chance_interval(0.0, 0.0, [(0.5, 0)]) is None
    assert chance_interval(0.4, 0.0, [(0.5, 10)]) is None
