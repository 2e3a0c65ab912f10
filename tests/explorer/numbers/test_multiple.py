"""Benjamini and Hochberg's procedure against their paper and two implementations."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import false_discovery_control
from statsmodels.stats.multitest import multipletests

from explorer.numbers.multiple import benjamini_hochberg

# Benjamini and Hochberg, Journal of the Royal Statistical Society B 57:289-300 (1995),
# section 3.2: the p-values of 15 comparisons of treatments.
TREATMENTS = [
    .0001, .0004, .0019, .0095, .0201, .0278, .0298, .0344,
    .0459, .3240, .4262, .5719, .6528, .7590, 1.000,
]  # fmt: skip

ps = st.lists(st.floats(0, 1), min_size=1, max_size=40)


def test_the_papers_example_has_the_adjusted_values_that_r_gives():
    # R, p.adjust(method = "BH").
    assert benjamini_hochberg(TREATMENTS) == pytest.approx(
        [
            .0015, .003, .0095, .035625, .0603, .063857, .063857, .0645,
            .0765, .486, .581182, .714875, .753231, .813214, 1,
        ],
        abs=5e-7,
    )  # fmt: skip


def test_the_papers_example_rejects_four():
    # The same paper; 4 of 15 at 5 %, where Bonferroni rejects 3.
    assert (benjamini_hochberg(TREATMENTS) <= 0.05).sum() == 4


@given(ps)
def test_any_family_equals_scipy_and_statsmodels(values):
    found = benjamini_hochberg(values)
    assert found == pytest.approx(false_discovery_control(values))
    assert found == pytest.approx(multipletests(values, method="fdr_bh")[1])


@given(ps, st.randoms(use_true_random=False))
def test_the_order_of_the_tests_does_not_matter(values, mixer):
    order = list(range(len(values)))
    mixer.shuffle(order)
    mixed = benjamini_hochberg([values[place] for place in order])
    assert mixed == pytest.approx(benjamini_hochberg(values)[order])


def test_a_test_that_was_not_made_does_not_count():
    with_gaps = benjamini_hochberg([np.nan, 0.01, np.nan, 0.04])
    assert np.isnan(with_gaps[[0, 2]]).all()
    assert with_gaps[[1, 3]] == pytest.approx(benjamini_hochberg([0.01, 0.04]))


def test_a_table_of_tests_is_one_family_and_keeps_its_shape():
    table = np.reshape(TREATMENTS, (3, 5))
    assert benjamini_hochberg(table) == pytest.approx(benjamini_hochberg(TREATMENTS).reshape(3, 5))


def test_no_tests_give_none():
    assert benjamini_hochberg([]).tolist() == []
