"""What discovery finds in invented worlds whose truth is known; fixed seeds throughout."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import spearmanr

from explorer.numbers.discovery import Discovery, TwoGroups, discover, eligible, points_lost
from explorer.numbers.expectation import Expectation, fide_expectation
from tests.support.worlds import DEPTH, REPLIES, Rules, World, world

FALSE_ALARMS = 5
MIN_GAMES = 50
ALLOWED = 0.09  # of worlds without mistakes: 5 %, and 2.6 standard errors for 200 worlds

CLUB = Rules(lines=20)
HABITS = replace(CLUB, players=30, habit=0.9, misrated=150)  # few players, alike in all they do
WEAK_WAY = Rules(lines=10, games=1500, players=200, weak_way=True)
FLAT = replace(WEAK_WAY, games=3000, scale=800)
WHITE_WINS = replace(WEAK_WAY, white_better=150)
WHITE_GROWS = replace(WEAK_WAY, games=6000, players=400, white_grows=0.4)

# Ten mistakes of 0.12 to 0.39 points; every other one loses much material, the others little.
TEN = {
    (2 * place, place % DEPTH, place % 3): (0.12 + 0.03 * place, (1.2, 0.6)[place % 2])
    for place in range(10)
}


def worlds(rules: Rules, number: int) -> Iterator[World]:
    for seed in range(number):
        yield world(np.random.default_rng([20, seed]), rules)


def found_in(results: TwoGroups, material: TwoGroups) -> Discovery:
    reply, others = results
    may = eligible(reply.n, reply.clusters, others.n, MIN_GAMES)
    return discover(results, material, may, FALSE_ALARMS)


def shares_with_findings(
    rules: Rules, number: int, curve: str = "own", by_level: bool = True
) -> tuple[float, float]:
    """The shares of worlds in which something is found by results, and by anything.

    ``curve``: what is expected: the world's "own", "fide", or of everybody the same
    ("none"). ``by_level``: what it leaves by level is allowed for.
    """
    by_results, by_any = [], []
    for each in worlds(rules, number):
        expectation: Expectation | None = None
        if curve != "none":
            expectation = each.own_curve() if curve == "own" else fide_expectation()
        found = found_in(each.results(expectation, by_level), each.material(expectation))
        by_results.append(found.found_by_results.any())
        by_any.append(found.found.any())
    return float(np.mean(by_results)), float(np.mean(by_any))


@pytest.mark.parametrize("rules", [CLUB, HABITS], ids=["club", "habits"])
def test_in_at_least_91_percent_of_200_worlds_without_mistakes_nothing_is_found(rules):
    assert shares_with_findings(rules, 200)[1] <= ALLOWED


def test_the_worlds_are_large_enough_to_show_something():
    (each,) = worlds(CLUB, 1)
    own = each.own_curve()
    found = found_in(each.results(own), each.material(own))
    assert found.tests > 400
    assert 0.1 < found.could_show < 0.25


def test_of_ten_mistakes_most_are_found_few_others_and_the_dearest_come_first():
    rules = replace(CLUB, planted=TEN)
    where = [(line * DEPTH + depth) * REPLIES + reply for line, depth, reply in TEN]
    costs = np.array([points for points, _ in TEN.values()])
    false, seen, agreement = [], [], []
    for each in worlds(rules, 60):
        own = each.own_curve()
        results = each.results(own)
        found = found_in(results, each.material(own))
        caught = found.found[where]
        false.append((found.found.sum() - caught.sum()) / max(1, found.found.sum()))
        seen.append(caught.mean())
        lost = points_lost(results.reply.n, rules.games, found.results.difference)[where]
        truly_lost = points_lost(np.asarray(results.reply.n)[where], rules.games, -costs)
        agreement.append(spearmanr(lost[caught], truly_lost[caught]).statistic)
    print(np.mean(false), np.mean(seen), np.mean(agreement))
    assert np.mean(false) < 0.05
    assert np.mean(seen) > 0.75
    assert np.mean(agreement) > 0.85


def test_what_weak_players_choose_looks_like_a_mistake_only_without_expectations():
    # They score, and lose material, as players of their rating do.
    assert shares_with_findings(WEAK_WAY, 10, "none") == (1, 1)
    assert shares_with_findings(WEAK_WAY, 100)[1] <= ALLOWED


def test_material_alone_would_find_what_weak_players_choose_without_an_expected_swing():
    for each in worlds(WEAK_WAY, 10):
        found = found_in(each.results(each.own_curve()), each.material(None))
        assert found.found_by_material.any()


def test_a_pool_on_a_flatter_curve_needs_a_curve_of_its_own_or_its_levels_allowed_for():
    assert shares_with_findings(FLAT, 20, "fide", by_level=False)[0] >= 0.9
    assert shares_with_findings(FLAT, 40, "own", by_level=False)[1] <= ALLOWED
    assert shares_with_findings(FLAT, 40, "fide")[1] <= ALLOWED


def test_whites_advantage_is_no_mistake():
    assert shares_with_findings(WHITE_WINS, 100)[1] <= ALLOWED


def test_whites_advantage_that_grows_with_the_level_is_none_where_levels_are_allowed_for():
    # What the strong choose as Black would look costly by one curve for all levels.
    assert shares_with_findings(WHITE_GROWS, 12, by_level=False)[0] > 0.8
    assert shares_with_findings(WHITE_GROWS, 12)[1] <= ALLOWED
