"""The rule that finds costly replies, candidate by candidate. `test_discovery_worlds` simulates."""

from __future__ import annotations

import numpy as np
import pytest

from explorer.numbers.discovery import TwoGroups, by_many, discover, eligible, large, points_lost
from explorer.numbers.multiple import benjamini_hochberg
from explorer.numbers.welch import Sample, could_show

YES = np.array([True])


def groups(*candidates):
    """One candidate for each (mean, games, mean of the others, games of the others).

    Every game has a player of its own and lies 0.4 from its group's mean.
    """
    columns = np.array(candidates, dtype=float).T
    return TwoGroups(*(
        Sample(mean * n, n, n * (mean**2 + 0.16), np.ones(len(n)), n)
        for mean, n in (columns[:2], columns[2:])
    ))  # fmt: skip


EVEN = groups((0, 100, 0, 400))
COSTLY = groups((-0.3, 100, 0, 400))
GAINFUL = groups((0.3, 100, 0, 400))


@pytest.mark.parametrize(
    ("results", "material", "by_results", "by_material"),
    [
        (COSTLY, EVEN, True, False),
        (EVEN, COSTLY, False, True),
        (COSTLY, COSTLY, True, True),
        (EVEN, EVEN, False, False),
        (GAINFUL, GAINFUL, False, False),
    ],
)
def test_a_reply_is_found_by_what_it_costs(results, material, by_results, by_material):
    found = discover(results, material, YES, 5)
    assert found.found_by_results.tolist() == [by_results]
    assert found.found_by_material.tolist() == [by_material]
    assert found.found.tolist() == [by_results or by_material]


def test_a_reply_that_does_better_is_not_found_however_many_false_alarms_are_allowed():
    assert not discover(GAINFUL, GAINFUL, YES, 100).found.any()


def test_both_kinds_of_all_candidates_are_one_family():
    results = groups((-0.1, 100, 0, 400), (0.1, 100, 0, 400), (0, 50, 0, 50))
    material = groups((0, 100, 0, 400), (-0.2, 100, 0, 400), (0.2, 50, 0, 50))
    found = discover(results, material, np.full(3, True), 5)
    assert found.tests == 6
    ps = np.concatenate([found.results.p_less, found.material.p_less])
    adjusted = np.concatenate([found.adjusted_p_results, found.adjusted_p_material])
    assert adjusted == pytest.approx(benjamini_hochberg(ps))


def test_candidates_that_are_not_eligible_are_neither_found_nor_counted():
    results = groups((-0.3, 100, 0, 400), (-0.3, 100, 0, 400))
    found = discover(results, results, np.array([True, False]), 5)
    assert found.tests == 2
    assert found.found.tolist() == [True, False]
    assert np.isnan(found.adjusted_p_results).tolist() == [False, True]


@pytest.mark.parametrize("few", [(-0.4, 29, 0, 400), (-0.4, 100, 0, 29)])
def test_a_kind_with_fewer_than_30_games_on_a_side_is_not_tested(few):
    found = discover(groups(few), COSTLY, YES, 5)
    assert found.tests == 1
    assert np.isnan(found.adjusted_p_results).all()
    assert found.found_by_material.all()


def test_a_kind_with_fewer_than_5_players_on_a_side_is_not_tested():
    four = COSTLY.others._replace(clusters=np.array([4]))
    assert discover(EVEN, COSTLY._replace(others=four), YES, 5).tests == 1


def test_no_candidates_find_nothing_and_could_have_shown_nothing():
    nothing = groups((0, 0, 0, 0))
    found = discover(nothing, nothing, ~YES, 5)
    assert found.tests == 0
    assert found.could_show is None
    assert not found.found.any()


def test_what_could_have_been_shown_is_the_cost_that_the_median_test_finds_at_the_limit():
    results = groups((0, 100, 0, 400), (0, 50, 0, 400), (0, 400, 0, 400))
    found = discover(results, results, np.full(3, True), 5)
    # The first has the middle number of games; six tests share 5 %.
    of_first = could_show(found.results.se[0], found.results.df[0], 0.05 / 6)
    assert found.could_show == pytest.approx(of_first)


def test_few_games_all_lost_by_a_little_are_not_sure_because_they_are_alike():
    # 40 swings of 0 beside 4,000 of which one in twenty wins a queen: the mean is lower by chance.
    alike = Sample(*np.array([[0.0], [40], [0], [1], [40]]))
    others = Sample(*np.array([[1800.0], [4000], [16200], [1], [4000]]))
    assert not discover(EVEN, TwoGroups(alike, others), YES, 5).found.any()


def test_candidates_need_their_games_their_players_and_games_to_compare_with():
    found = eligible(
        games=[50, 49, 50, 50], players=[5, 5, 4, 5], other_games=[30, 30, 30, 29], min_games=50
    )
    assert found.tolist() == [True, False, False, False]


def test_games_of_one_player_or_of_few_are_a_habit():
    # Six players of 10; one of 21 beside 39 of one game; four of 15; one of 20 and 40 singles.
    found = by_many(
        games=[60, 60, 60, 60], sum_nn=[600, 441 + 39, 900, 400 + 40], top=[10, 21, 15, 20]
    )
    assert found.tolist() == [True, False, False, True]


def test_points_lost_by_hand():
    # 30 of 200 games at 0.2 points each: 3 points in 100 games.
    assert points_lost([30, 30], [200, 200], [-0.2, 0.1]) == pytest.approx([3, -1.5])


@pytest.mark.parametrize(
    ("results", "material", "shown"),
    [
        (groups((-0.3, 100, 0, 400)), EVEN, True),
        (groups((-0.1, 900, 0, 900)), EVEN, False),  # found, but costs 10 points in 100
        (EVEN, groups((-0.6, 100, 0, 400)), True),
        (EVEN, groups((-0.3, 100, 0, 400)), False),
        (groups((-0.1, 900, 0, 900)), groups((-0.3, 100, 0, 400)), False),
        (groups((-0.22, 5, 0, 5)), groups((-0.3, 100, 0, 400)), False),  # costly, but not found so
    ],
)
def test_a_finding_is_large_by_the_cost_that_found_it(results, material, shown):
    found = discover(results, material, YES, 5)
    assert found.found.any()
    assert large(found, points=20, pawns=0.5).tolist() == [shown]
    assert large(found, points=0, pawns=0).all()
