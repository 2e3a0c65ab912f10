"""A weighted draw: fair, without putting back, the same for the same seed."""

from __future__ import annotations

import pytest

from explorer.numbers.draw import draw


def test_the_same_seed_draws_the_same_and_another_one_another() -> None:
    weights = [1.0] * 30
    assert draw(weights, 10, 7) == draw(weights, 10, 7)
    assert draw(weights, 10, 7) != draw(weights, 10, 8)


def test_nothing_is_drawn_twice_and_no_more_than_there_is() -> None:
    assert sorted(draw([3, 1, 2], 10, 1)) == [0, 1, 2]
    assert len(set(draw([1.0] * 50, 20, 3))) == 20
    assert draw([], 5, 1) == []


def test_the_first_draw_is_proportional_to_the_weights() -> None:
    """20,000 draws from weights 1, 2 and 5: within four standard errors of 1/8, 2/8, 5/8."""
    tries = 20_000
    first = [draw([1, 2, 5], 1, seed)[0] for seed in range(tries)]
    for number, share in enumerate((0.125, 0.25, 0.625)):
        error = (share * (1 - share) / tries) ** 0.5
        assert first.count(number) / tries == pytest.approx(share, abs=4 * error)


def test_the_second_draw_is_proportional_to_what_is_left() -> None:
    """Drawing the 5 first leaves 1 against 2: P = 5/8 x 1/3 for the order 5, 1."""
    tries = 20_000
    share = 5 / 8 / 3
    found = sum(draw([1, 2, 5], 2, seed) == [2, 0] for seed in range(tries))
    assert found / tries == pytest.approx(share, abs=4 * (share * (1 - share) / tries) ** 0.5)


def test_what_has_no_weight_comes_last_all_alike() -> None:
    orders = {tuple(draw([0, 1, 0], 3, seed)) for seed in range(50)}
    assert orders == {(1, 0, 2), (1, 2, 0)}
