"""Fisher's exact test against scipy's."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import fisher_exact

from explorer.numbers.fisher import fisher

counts = st.tuples(st.integers(0, 60), st.integers(0, 60))


@given(counts, counts)
def test_it_is_scipys_two_sided_test(first: tuple[int, int], second: tuple[int, int]) -> None:
    """On every table, the empty ones too."""
    (k1, rest1), (k2, rest2) = first, second
    expected = fisher_exact([[k1, rest1], [k2, rest2]]).pvalue
    assert fisher(k1, k1 + rest1, k2, k2 + rest2) == pytest.approx(expected, abs=1e-9)


def test_a_lady_who_tells_all_cups_apart() -> None:
    """Four of four and none of four: p = 2 / 70 (Fisher, The Design of Experiments, 1935)."""
    assert fisher(4, 4, 0, 4) == pytest.approx(2 / 70)


def test_many_games_do_not_overflow() -> None:
    assert fisher(40, 41, 3_000, 300_000) < 1e-60
