"""`plans` against a slow recount with python-chess, on 500 random games with random filters."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from random import Random
from typing import Any

import numpy as np
import pytest

from explorer.numbers.discovery import POINTS
from explorer.numbers.expectation import fide_expectation
from explorer.numbers.intervals import newcombe
from explorer.numbers.multiple import benjamini_hochberg
from explorer.numbers.trend import cochran_armitage
from explorer.query.filters import Filters
from explorer.query.library import open_library
from explorer.query.plans import plans
from explorer.query.plans_model import Difference, Figures, PlansAnswer, Rate, SidePlans
from ingest.errors import NothingFound
from ingest.levels import Level, bands
from ingest.pipeline import AddOptions, add_collection
from tests.support.plans_recount import (
    First,
    Key,
    carried_out,
    commonest_way,
    games_with_plans,
    key_of,
    quartiles,
    side_of,
)
from tests.support.random_world import LEVELS, World
from tests.support.recount import Recount, Visit, in_level
from tests.support.recount_mistakes import Factor, difference_of, over_expected, rate_of

GAMES = 500
CASES = 60
PLIES = 24
ENOUGH = 3  # games with both plans, so that small worlds have pairs
EXPECTATION = fide_expectation()

Times = list[tuple[Visit, dict[Key, First]]]


@pytest.fixture(scope="module")
def lively(tmp_path_factory: pytest.TempPathFactory) -> Iterator[World]:
    """500 random games in a library."""
    folder: Path = tmp_path_factory.mktemp("lively")
    records = games_with_plans(5, GAMES)
    for name in ("club", "school"):
        file = folder / f"{name}.pgn"
        file.write_text("".join(r.pgn for r in records if name in r.collections), "utf-8")
        add_collection(folder / "games.db", [str(file)], name, AddOptions(plies=PLIES))
    with open_library(folder / "games.db") as library:
        yield World(records, library, Recount(records, PLIES), Random(6), 5)


def test_the_answers_equal_the_recount(lively: World, monkeypatch: pytest.MonkeyPatch) -> None:
    """Every plan, its figures, levels, model and order equal the recount."""
    monkeypatch.setattr("explorer.query.plans.FEW_GAMES", ENOUGH)
    seen = Counter[str]()
    while seen["answered"] < CASES:
        check(lively, seen)
    kinds = ("move", "castle", "step", "break", "pin", "exchange")
    assert all(seen[kind] > 20 for kind in kinds), seen
    assert all(seen[kind] for kind in ("nothing", "pair", "said better", "model", "queen")), seen


def check(world: World, seen: Counter[str]) -> None:
    draw = world.random
    filters = replace(
        world.filters(), min_games=draw.choice((1, 1, 2)), top=draw.choice((None, 2, 1000, 1000))
    )
    model = draw.choice((None, *LEVELS))
    within = draw.choice((1, 2, 4, 4, 7))
    position = world.position()
    board = position.board()
    anybody = replace(filters, levels=(), opponents=())
    visits = world.recount.chosen(board, anybody)
    sides = {}
    for white in (True, False):
        times = [(side_of(visit, white), carried_out(visit, within)) for visit in visits]
        own: Times = [
            (visit, {key: first for (w, key), first in found.items() if w == white})
            for visit, found in times
            if found is not None
        ]
        sides[white] = own
    chosen = {white: [t for t in sides[white] if is_chosen(t[0], filters)] for white in sides}
    if not any(chosen.values()):
        seen["nothing"] += 1
        with pytest.raises(NothingFound):
            plans(world.library, position, filters, model, within)
        return
    seen["answered"] += 1
    seen["model"] += model is not None
    factors: list[tuple[Factor, Factor]] = []
    answer = plans(world.library, position, filters, model, within)
    assert (answer.within_moves, answer.model, answer.filters) == (within, model, filters)
    assert [side.side for side in answer.sides] == ["white", "black"]
    for side, white in zip(answer.sides, (True, False), strict=True):
        reached = [v for v in (side_of(v, white) for v in visits) if is_chosen(v, filters)]
        assert side.reached == len(reached)
        factors += check_side(side, sides[white], filters, model, seen)
    check_changes(answer, factors)


def is_chosen(visit: Visit, filters: Filters) -> bool:
    own, other = visit.ratings
    return (not filters.levels or any(in_level(own, level) for level in filters.levels)) and (
        not filters.opponents or any(in_level(other, level) for level in filters.opponents)
    )


def check_side(
    side: SidePlans, times: Times, filters: Filters, model: Level | None, seen: Counter[str]
) -> list[tuple[Factor, Factor]]:
    """All of one side; the (cases, games, design) of each plan, here and at the model level."""
    here = [t for t in times if is_chosen(t[0], filters)]
    there = [t for t in times if model is not None and in_level(t[0].ratings[0], model)]
    assert (side.games, side.players) == (len(here), people(here))
    if model is None:
        assert (side.model_games, side.model_players) == (None, None)
    else:
        assert (side.model_games, side.model_players) == (len(there), people(there))
    check_listed(side, here, there, filters, seen)
    met = [t for t in times if is_chosen(t[0], replace(filters, levels=()))]
    for plan in side.plans:
        key = key_of(plan)
        seen[plan.kind] += 1
        seen[plan.side or ""] += 1
        check_figures(plan.here, here, key)
        assert (plan.model is None) == (model is None)
        if plan.model:
            check_figures(plan.model, there, key)
        for level, band in zip(plan.levels, bands(filters.cuts), strict=True):
            assert (level.label, level.low, level.high) == (band.label, band.low, band.high)
            assert level.rate == rate([t for t in met if in_level(t[0].ratings[0], band)], key)
        ways = [found[key].way for _, found in here if key in found]
        ways = ways or [found[key].way for _, found in there if key in found]
        assert plan.path in commonest_way(ways)
    check_pairs(side, here, seen)
    keys = [key_of(plan) for plan in side.plans]
    return [(counted(here, key)[1], counted(there, key)[1]) for key in keys]


def people(times: Times) -> int:
    return len({visit.mover for visit, _ in times})


def rate(times: Times, key: Key) -> Rate:
    return counted(times, key)[0]


def counted(times: Times, key: Key) -> Any:
    cases = {visit.record.number for visit, found in times if key in found}
    return rate_of([visit for visit, _ in times], lambda visit: visit.record.number in cases)


def common(times: Times, filters: Filters, seen: Counter[str]) -> dict[Key, int]:
    """The plans that may be listed, with their games."""
    counts = Counter(key for _, found in times for key in found)
    least = max(filters.min_games, 0.01 * len(times))
    return {
        key: count
        for key, count in counts.items()
        if count >= least and not said_better(counts, key, seen)
    }


def said_better(counts: Counter[Key], key: Key, seen: Counter[str]) -> bool:
    kind, piece, _, square, _ = key
    sharp = {"step": "break", "move": "pin"}.get(kind, "")
    better = counts[sharp, piece, None, square, None] >= 0.9 * counts[key]
    seen["said better"] += better
    return better


def check_listed(
    side: SidePlans, here: Times, there: Times, filters: Filters, seen: Counter[str]
) -> None:
    """Which plans are listed: the commonest at the level, then those of the model."""
    counts = common(here, filters, seen)
    top = filters.top or 12
    keys = [key_of(plan) for plan in side.plans]
    assert len(set(keys)) == len(keys)
    own, more = keys[: min(top, len(counts))], keys[min(top, len(counts)) :]
    wanted = sorted(counts.values(), reverse=True)[:top]
    assert [counts[key] for key in own] == wanted
    models = common(there, filters, seen)
    if models:
        eighth = sorted(models.values(), reverse=True)[:8][-1]
        assert all(models[key] >= eighth for key in more)
        assert {key for key, n in models.items() if n > eighth} <= set(keys)
    else:
        assert not more
    every = Counter(key for _, found in here for key in found)
    told = [key for key in every if not said_better(every, key, Counter())]
    listed = sum(key in every for key in keys)
    assert side.plans_left_out == len(told) - listed


def check_figures(figures: Figures, times: Times, key: Key) -> None:
    assert figures.rate == rate(times, key)
    numbers = [found[key].number for _, found in times if key in found]
    assert (figures.move_low, figures.move, figures.move_high) == quartiles(numbers)
    did, did_not = ([v for v, found in times if (key in found) == case] for case in (True, False))
    groups = [over_expected(group, EXPECTATION) for group in (did, did_not)]
    same(figures.gain, difference_of(*groups, POINTS))


def same(found: Difference, wanted: Difference) -> None:
    for name in ("value", "low", "high", "p"):
        assert getattr(found, name) == pytest.approx(getattr(wanted, name), abs=1e-9)
    for name in ("games", "other_games", "players", "other_players"):
        assert getattr(found, name) == getattr(wanted, name)


def check_pairs(side: SidePlans, here: Times, seen: Counter[str]) -> None:
    keys = [key_of(plan) for plan in side.plans]
    wanted = {}
    top = side.plans[:8]
    for i in range(len(top)):
        for j in range(i + 1, len(top)):
            one, two = keys[i], keys[j]
            both = [t for t in here if one in t[1] and two in t[1]]
            apart = [t for t in both if t[1][one].ply != t[1][two].ply]
            first = [t for t in apart if t[1][one].ply < t[1][two].ply]
            most = max(len(first), len(apart) - len(first))
            if len(apart) >= max(ENOUGH, len(both) / 2) and most <= 0.99 * len(apart):
                numbers = {t[0].record.number for t in first}
                found = rate_of(
                    [t[0] for t in apart], lambda v, numbers=numbers: v.record.number in numbers
                )[0]
                wanted[i, j] = found
    assert len(side.pairs) + side.pairs_left_out == len(wanted)
    for pair in side.pairs:
        seen["pair"] += 1
        straight = pair.first < pair.second
        order = wanted[min(pair.first, pair.second), max(pair.first, pair.second)]
        assert pair.order.games == order.games
        assert pair.order.cases == (order.cases if straight else order.games - order.cases)
        assert 2 * pair.order.cases >= pair.order.games


def check_changes(answer: PlansAnswer, factors: list[tuple[Factor, Factor]]) -> None:
    """The share minus the model's, its p adjusted for all plans of both sides."""
    listed = [plan for side in answer.sides for plan in side.plans]
    if answer.model is None:
        assert all(plan.change is None for plan in listed)
        return
    ps = []
    for plan, (here, there) in zip(listed, factors, strict=True):
        (k1, n1, design1), (k2, n2, design2) = here, there
        wanted = newcombe(k1, n1, k2, n2, design1, design2)
        value, (low, high) = wanted or (None, (None, None))
        assert plan.change is not None
        found = plan.change.value, plan.change.low, plan.change.high
        assert found == pytest.approx((value, low, high))
        test = cochran_armitage((k1, k2), (n1, n2), (0, 1), (design1, design2))
        ps.append(test.p if test else np.nan)
    adjusted = [None if np.isnan(p) else p for p in benjamini_hochberg(ps).tolist()]
    assert [plan.change.p if plan.change else None for plan in listed] == pytest.approx(adjusted)
