"""`habits` equals a slow recount with python-chess, habit by habit, level by level."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date

import chess
import numpy as np
import pytest

from explorer.numbers.clusters import mean_design
from explorer.numbers.intervals import newcombe, wilson
from explorer.numbers.multiple import benjamini_hochberg
from explorer.numbers.trend import cochran_armitage, linear_trend
from explorer.numbers.welch import Sample, mean_between, welch
from explorer.query.filters import Filters
from explorer.query.habits import habits
from explorer.query.habits_model import HabitsAnswer
from explorer.query.library import Library, open_library
from explorer.query.model import Source
from ingest.levels import UNRATED, Level, bands
from ingest.pipeline import AddOptions, add_collection
from tests.support.habits_recount import HABITS, Story, seen, stories
from tests.support.lively_games import lively_records
from tests.support.random_games import Record
from tests.support.recount import clustered, in_level, is_vague
from tests.support.recount_mistakes import difference_of, rate_of

CUTS = (1000, 1300, 1600)
CHOICES = (
    Filters(cuts=CUTS),
    Filters(cuts=CUTS, levels=(Level(None, 999), Level(1300, 1500))),
    Filters(cuts=CUTS, levels=(UNRATED,), pace=("blitz", "rapid")),
    Filters(cuts=CUTS, opponents=(Level(1300, None),), collections=("club",)),
    Filters(cuts=CUTS, since=date(2024, 1, 1), until=date(2025, 1, 1)),
    Filters(cuts=CUTS, side="black", levels=(Level(1000, 1799),)),
    Filters(cuts=CUTS, player="Cleo Marsh"),
    Filters(cuts=CUTS, player="Cleo Marsh", side="white"),
)


@pytest.fixture(scope="module")
def records() -> list[Record]:
    return lively_records(15, 500)


@pytest.fixture(scope="module")
def library(records: list[Record], tmp_path_factory: pytest.TempPathFactory) -> Iterator[Library]:
    folder = tmp_path_factory.mktemp("habits")
    for name in ("club", "school"):
        file = folder / f"{name}.pgn"
        file.write_text("".join(r.pgn for r in records if name in r.collections), "utf-8")
        add_collection(folder / "games.db", [str(file)], name, AddOptions(plies=12))
    with open_library(folder / "games.db") as library:
        yield library


def at_level(told: list[Story], level: Level | None) -> list[Story]:
    return [s for s in told if level is None or in_level(s.stand_in.ratings[0], level)]


def asked(told: list[Story], habit: str) -> list[tuple[Story, int | str]]:
    pairs = [(story, seen(story, habit)) for story in told]
    return [(story, value) for story, value in pairs if value is not None]


def check_rate(level, pairs) -> None:
    """A level's rate, and those told apart, equal the recount."""
    stories_, values = [s for s, _ in pairs], {id(s): v for s, v in pairs}
    stands = [s.stand_in for s in stories_]
    cases = {id(v) for v, s in zip(stands, stories_, strict=True) if values[id(s)] == 1}
    rate, _ = rate_of(stands, lambda visit: id(visit) in cases)
    assert level.mean is None
    assert level.rate.cases == rate.cases
    for name in ("games", "players", "case_players", "top_player_cases"):
        assert getattr(level.rate, name) == getattr(rate, name), name
    for name in ("share", "low", "high"):
        assert getattr(level.rate, name) == pytest.approx(getattr(rate, name)), name
    assert level.mated == sum(value == "mated" for value in values.values())


def sample_of(pairs) -> Sample:
    s = clustered([(story.stand_in.mover, float(value)) for story, value in pairs])
    design = mean_design(s.total, s.n, s.squares, s.tt, s.tn, s.nn, s.clusters) if s.n else 1.0
    return Sample(s.total, s.n, s.squares, design, s.clusters, s.nn)


def check_mean(level, pairs) -> None:
    """A level's mean number of pieces equals the recount."""
    assert level.rate is None
    assert level.mean.games == len(pairs)
    assert level.mean.players == len({story.stand_in.mover for story, _ in pairs})
    found = mean_between(sample_of(pairs), 1.0)
    expected = [None if np.isnan(x) else min(7.0, max(0.0, float(x))) for x in found]
    assert [level.mean.value, level.mean.low, level.mean.high] == pytest.approx(expected)


def comparable(library: Library, told: list[Story]) -> dict[int, float]:
    """Score minus expected score, less what that leaves at each level and colour."""
    with library.reading() as (_, facts):
        expectation = facts.expectation
    over, groups = {}, {}
    for story in told:
        visit = story.stand_in
        own, other = visit.ratings
        if visit.points is not None and own is not None and other is not None:
            over[id(story)] = visit.points - expectation.of(own - other, visit.white)
            level = next(i for i, b in enumerate(bands(CUTS)) if in_level(own, b))
            groups.setdefault((story.white, level), []).append(id(story))
    for ids in groups.values():
        left = sum(over[i] for i in ids) / len(ids)
        for i in ids:
            over[i] -= left
    return over


def check_score(found, pairs, over: dict[int, float]) -> None:
    """With less without, of the games that can be compared; the mated are in neither."""
    judged = [(s, v) for s, v in pairs if v != "mated"]
    bound = 0.0
    if found.whole.mean:
        bound = sum(v for _, v in judged) / len(judged)
    first, second = (
        [
            (s.stand_in.mover, over[id(s)])
            for s, v in judged
            if id(s) in over and (v > bound) == side
        ]
        for side in (True, False)
    )
    expected = difference_of(first, second, 0.5)
    for name in ("games", "other_games", "players", "other_players"):
        assert getattr(found.score, name) == getattr(expected, name), name
    for name in ("value", "low", "high", "p"):
        assert getattr(found.score, name) == pytest.approx(getattr(expected, name)), name


def check_source(source: Source, records: list[Record], filters: Filters) -> None:
    wide = replace(filters, since=None, until=None)
    chosen = {id(s.record) for s in stories(records, wide)}
    assert source.vague_dates == sum(
        is_vague(record, filters) for record in records if id(record) in chosen
    )


def check_trends(answer: HabitsAnswer, told: list[Story]) -> None:
    """Over the levels with enough games and players, adjusted for all habits."""
    tests = [trend_of(habit, told) for habit in answer.habits]
    adjusted = benjamini_hochberg([np.nan if t is None else t.p for t in tests])
    for habit, test, p in zip(answer.habits, tests, adjusted, strict=True):
        assert habit.trend.p == (None if test is None else pytest.approx(p))
        said = test.direction if test is not None and p < 0.05 else "none"
        assert habit.trend.direction == said


def trend_of(found, told: list[Story]):
    """Before adjustment."""
    groups = []
    for band in bands(CUTS)[:-1]:
        here = at_level(told, band)
        pairs = [(s, 0 if v == "mated" else v) for s, v in asked(here, found.id)]
        if len(pairs) >= 30 and len({s.stand_in.mover for s, _ in pairs}) >= 5:
            sample = sample_of(pairs)
            ratings = [s.stand_in.ratings[0] for s in here]
            mean = sum(ratings) / len(ratings)
            groups.append((sample.total, sample.n, sample.squares, mean, sample.design))
    return linear_trend(*zip(*groups, strict=True)) if groups else None


def check(library: Library, records: list[Record], filters: Filters, answer: HabitsAnswer) -> None:
    told = stories(records, filters)
    assert answer.games == len({id(story.record) for story in told})
    assert answer.players == len({story.stand_in.mover for story in told})
    assert [level.games for level in answer.levels] == [
        len(at_level(told, band)) for band in bands(CUTS)
    ]
    check_source(answer.source, records, filters)
    over = comparable(library, told)
    assert {habit.id: habit.moves for habit in answer.habits} == {
        name: moves for name, (moves, _) in HABITS.items()
    }
    for found in answer.habits:
        for level, band in zip(found.levels, (*bands(CUTS), None), strict=True):
            pairs = asked(at_level(told, band), found.id)
            check_mean(level, pairs) if found.id == "developed_by_8" else check_rate(level, pairs)
        if found.id != "mated_by_15":
            check_score(found, asked(told, found.id), over)
    check_trends(answer, told)


@pytest.mark.parametrize("filters", CHOICES, ids=str)
def test_every_habit_equals_the_recount(library, records, filters: Filters) -> None:
    check(library, records, filters, habits(library, filters))


def test_the_random_games_show_every_habit_often_and_every_exception(records) -> None:
    told = stories(records, Filters())
    for name in HABITS:
        values = [value for _, value in asked(told, name)]
        assert sum(value == 1 for value in values) >= 8, name
        assert sum(value != 1 for value in values) >= 8, name
    for name in ("left_to_be_taken_by_15", "rook_down_by_15"):
        assert "mated" in [value for _, value in asked(told, name)], name
    assert any(record.start != chess.STARTING_FEN for record in records)


def check_own(library: Library, records: list[Record], filters: Filters, player: str) -> None:
    """One player beside the others of the level at which most of that player's games are."""
    answer = habits(library, filters, player)
    told = stories(records, filters)
    own = [story for story in told if story.stand_in.mover == player]
    counts = [len(at_level(own, band)) for band in bands(CUTS)]
    level = bands(CUTS)[counts.index(max(counts))]
    assert (answer.player, answer.player_games) == (player, len(own))
    assert answer.player_level == level.label
    others = [s for s in at_level(told, level) if s.stand_in.mover != player]
    tests = []
    for habit in answer.habits:
        mine, theirs = asked(own, habit.id), asked(others, habit.id)
        if habit.id == "developed_by_8":
            check_mean(habit.own.others, theirs)
            tests.append(check_own_mean(habit.own, mine, theirs))
        else:
            check_rate(habit.own.others, theirs)
            tests.append(check_own_rate(habit.own, mine, theirs))
    adjusted = benjamini_hochberg(tests)
    for habit, p in zip(answer.habits, adjusted, strict=True):
        assert habit.own.difference.p == (None if np.isnan(p) else pytest.approx(p))


def check_own_rate(own, mine, theirs) -> float:
    """Every game of the player is a case; the others are clusters. The p before adjustment."""
    k, n = sum(value == 1 for _, value in mine), len(mine)
    interval = wilson(k, n) or (None, None)
    assert (own.rate.cases, own.rate.games, own.rate.players) == (k, n, 1)
    assert (own.rate.low, own.rate.high) == pytest.approx(tuple(interval))
    k2, n2 = sum(value == 1 for _, value in theirs), len(theirs)
    design = sample_of([(s, float(v == 1)) for s, v in theirs]).design
    assert (own.difference.games, own.difference.other_games) == (n, n2)
    found = newcombe(k, n, k2, n2, 1.0, design)
    if found is None:
        assert own.difference.value is None
        return np.nan
    value, (low, high) = found
    told = own.difference.value, own.difference.low, own.difference.high
    assert told == pytest.approx((value, low, high))
    test = cochran_armitage([k2, k], [n2, n], [0, 1], [design, 1.0])
    return test.p if test else np.nan


def check_own_mean(own, mine, theirs) -> float:
    values = [value for _, value in mine]
    sample = Sample(sum(values), len(values), sum(v * v for v in values))
    test = welch(sample, sample_of(theirs), 1.0)
    told = own.difference.value, own.difference.low, own.difference.high
    expected = test.difference, test.low, test.high
    assert told == pytest.approx([None if np.isnan(x) else float(x) for x in expected])
    assert own.mean.games == len(values)
    return float(test.p_two_sided)


@pytest.mark.parametrize("player", ["Cleo Marsh", "Birk Olander"])
@pytest.mark.parametrize("filters", CHOICES[:6], ids=str)
def test_one_player_beside_the_others_equals_the_recount(library, records, filters, player) -> None:
    check_own(library, records, filters, player)
