"""`mistake` against a slow recount with python-chess, on random games, lines and filters."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import fields, replace
from datetime import date
from itertools import pairwise
from typing import Any

import chess
import pytest

from explorer.numbers.discovery import PAWNS, POINTS
from explorer.numbers.expectation import fide_expectation
from explorer.numbers.intervals import Interval, minus, newcombe
from explorer.numbers.product import product_interval
from explorer.numbers.trend import cochran_armitage
from explorer.positions.position import Position, position_of
from explorer.query.filters import Filters
from explorer.query.mistake import mistake
from explorer.query.mistake_model import (
    BeforeAfter,
    Difference,
    Helped,
    MistakeAnswer,
    MistakeLevel,
    Punishment,
    Step,
)
from ingest.errors import NothingFound
from ingest.levels import Level, bands
from tests.support.random_games import NAMES, Record
from tests.support.random_world import PLIES, World
from tests.support.recount import Visit, in_level, mean
from tests.support.recount_mistakes import (
    ENOUGH_GAMES,
    ENOUGH_PLAYERS,
    Stage,
    before_and_after,
    best_reply,
    difference_of,
    first_ply,
    games_with_colour,
    headed_for,
    of_level,
    over_expected,
    pursue,
    rate_of,
    scores,
    swings,
)

CASES = 67  # for each of three seeds
EXPECTATION = fide_expectation()


def test_the_answers_equal_the_recount(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    """Rates, costs, chances, finds and the class equal the recount for random lines and filters."""
    monkeypatch.setattr("explorer.query.pursuit.FEW_GAMES", ENOUGH_GAMES)
    monkeypatch.setattr("explorer.query.pursuit.FEW_PLAYERS", ENOUGH_PLAYERS)
    seen = Counter[str]()
    while seen["answered"] < CASES:
        check(world, *random_line(world), world.filters(), seen)
    assert all(seen[kind] for kind in ("teacher", "rules", "numbers", "helped", "later step"))


def random_line(world: World) -> tuple[Position, list[str] | None]:
    """A line as some game went, now and then one step aside, and a punishment or none."""
    mating = world.random.random() < 0.15
    fits = is_mate if mating else has_moves
    record = world.random.choice([record for record in world.records if fits(record)])
    length = len(record.moves) - 1 if mating else world.random.choice((1, 1, 2, 2, 3, 4, 5, 7))
    board = chess.Board(record.start)
    for move in record.moves[:length]:
        board.push(move)
    if not mating and world.random.random() < 0.2:
        board.pop()
        board.push(world.random.choice(list(board.legal_moves)))
    line = position_of(board)
    if mating or world.random.random() < 0.6:
        return line, None
    played = list(record.moves[: len(board.move_stack)]) == board.move_stack
    moves = list(record.moves[length:]) if played else []
    moves = moves[: world.random.choice((1, 3, 5))] or list(board.legal_moves)[:1]
    moves = moves[: len(moves) - (len(moves) + 1) % 2]
    if not moves or len(board.move_stack) + len(moves) > PLIES:
        return line, None
    return line, [move.uci() for move in moves]


def has_moves(record: Record) -> bool:
    return bool(record.moves)


def is_mate(record: Record) -> bool:
    board = chess.Board(record.start)
    for move in record.moves:
        board.push(move)
    return board.is_checkmate() and len(record.moves) < PLIES


def check(
    world: World, line: Position, punish: Sequence[str] | None, filters: Filters, seen: Counter[str]
) -> None:
    board = line.board()
    move = board.pop()
    members = world.random.sample(NAMES[:5], 2)
    since = world.random.choice((date(2024, 1, 1), date(2024, 2, 29), date(2026, 1, 1)))
    spelt = tuple((name, ", ".join(name.split()[::-1])) for name in members)
    asked = BeforeAfter(since, spelt) if world.random.random() < 0.5 else None
    visits = world.recount.chosen(board, filters)
    if not visits:
        with pytest.raises(NothingFound):
            mistake(world.library, line, filters, punish, asked)
        return
    seen["answered"] += 1
    answer = mistake(world.library, line, filters, punish, asked)
    went_on = [visit for visit in visits if visit.move]
    levels = bands(filters.cuts)
    for row, level in zip(answer.levels, (*levels, None), strict=True):
        check_level(world, line, filters, row, level, went_on)
    check_sums(answer)
    check_trend(answer, went_on, move, levels)
    made = [visit for visit in visits if visit.move == move]
    stages = check_punishment(world, line, made, answer.punishment, filters, punish, seen)
    if asked:
        seen["helped"] += 1
        turned = [("making", went_on, move)]
        if stages:
            turned.append(("punishing", stages[0].chances, stages[0].move))
        for found, (what, those, case) in zip(answer.helped, turned, strict=True):
            assert found.what == what
            groups = before_and_after(those, members, since, levels)
            check_helped(found, groups, case)
            own = [v for v in those if v.mover in members]
            assert found.undated == sum(v.record.played is None for v in own)


def same(found: Any, wanted: Any) -> None:
    """Equal field by field, floats up to rounding."""
    for field in fields(wanted):
        value, other = getattr(found, field.name), getattr(wanted, field.name)
        close = other is None or isinstance(other, str) or value == pytest.approx(other, abs=1e-9)
        assert close, (field.name, value, other)
        assert (value is None) == (other is None), (field.name, value, other)


def check_level(
    world: World,
    line: Position,
    filters: Filters,
    row: MistakeLevel,
    level: Level | None,
    went_on: list[Visit],
) -> None:
    board, before = line.board(), line.board()
    move = before.pop()
    here = of_level(went_on, level)
    mine, others = ([v for v in here if (v.move == move) == made] for made in (True, False))
    assert row.label == (level.label if level else "all levels")
    same(row.rate, rate_of(here, lambda v: v.move == move)[0])
    erring = {v.record.number for v in went_on if v.move == move}
    white = board.turn == chess.BLACK
    first = first_ply(world.recount.chosen(before, filters), move)
    all_games = of_level(games_with_colour(world.records, white, filters, first), level)
    same(row.in_all_games, rate_of(all_games, lambda v: v.record.number in erring)[0])
    assert row.score == pytest.approx(mean([points for _, points in scores(mine)]))
    over = [over_expected(group, EXPECTATION) for group in (mine, others)]
    assert row.over_expected == pytest.approx(mean([value for _, value in over[0]]))
    same(row.cost, difference_of(*over, POINTS))
    same(row.swing, difference_of(swings(mine), swings(others), PAWNS))
    assert row.mated == sum(v.mated for v in mine)
    product, games = None, 0
    if line.from_normal_start:
        product, games = headed_for(world.recount, board, filters, level)
    value, (low, high) = product or (None, (None, None))
    assert row.headed_for_games == games
    found = row.headed_for, row.headed_for_low, row.headed_for_high
    assert found == pytest.approx((value, low, high))


def check_sums(answer: MistakeAnswer) -> None:
    """The levels, the unrated among them, add up to the last row."""
    *levels, every = answer.levels
    assert sum(row.rate.cases for row in levels) == every.rate.cases
    assert sum(row.rate.games for row in levels) == every.rate.games
    assert sum(row.in_all_games.games for row in levels) == every.in_all_games.games
    assert sum(row.mated for row in levels) == every.mated


def check_trend(
    answer: MistakeAnswer, went_on: list[Visit], move: chess.Move, levels: Sequence[Level]
) -> None:
    groups = []
    for level in levels:
        here = of_level(went_on, level)
        rate, (k, n, design) = rate_of(here, lambda v: v.move == move)
        if level.rated and not rate.few:
            groups.append((k, n, mean([v.ratings[0] or 0 for v in here]), design))
    trend = cochran_armitage(*zip(*groups, strict=True)) if groups else None
    assert answer.trend.levels == len(groups)
    assert answer.trend.direction == (trend.direction if trend else "none")
    assert answer.trend.p == pytest.approx(trend.p if trend else None)


def check_punishment(
    world: World,
    line: Position,
    made: list[Visit],
    found: Punishment | None,
    filters: Filters,
    punish: Sequence[str] | None,
    seen: Counter[str],
) -> list[Stage]:
    board, levels = line.board(), bands(filters.cuts)
    first = pursue(world.recount, board, made, [chess.Move.null()])[0][0].chances
    chosen_by, ucis = ("teacher", punish) if punish else best_reply(board, first, EXPECTATION)
    if not ucis:
        assert found is None
        return []
    assert found is not None
    assert (found.chosen_by, found.ucis) == (chosen_by, tuple(ucis))
    seen[chosen_by] += 1
    moves = [chess.Move.from_uci(uci) for uci in ucis]
    stages, followed = pursue(world.recount, board, made, moves)
    turned = replace(filters, levels=filters.opponents, opponents=filters.levels)
    assert found.other_ways == len(world.recount.chosen(board, turned)) - followed
    for row, level in zip(found.levels, (*levels, None), strict=True):
        factors = []
        for number, (step, stage) in enumerate(zip(row.steps, stages, strict=True)):
            chances = of_level(stage.chances, level)
            rate, factor = rate_of(chances, lambda v, move=stage.move: v.move == move)
            same(step.found, rate)
            factors.append(factor)
            if number:
                seen["later step"] += bool(rate.games)
                check_between(step, stage, moves[2 * number - 1], level)
        product = product_interval(factors)
        value, (low, high) = product or (None, (None, None))
        assert row.would_know == pytest.approx(value)
        assert (row.would_know_low, row.would_know_high) == pytest.approx((low, high))
        here = of_level(stages[0].chances, level)
        mine, others = ([v for v in here if (v.move == moves[0]) == f] for f in (True, False))
        over = [over_expected(group, EXPECTATION) for group in (mine, others)]
        same(row.gain, difference_of(*over, POINTS))
        same(row.score_gain, difference_of(scores(mine), scores(others), POINTS))
    return stages


def check_between(step: Step, stage: Stage, named: chess.Move, level: Level | None) -> None:
    """Every answer is listed, and all but the named one have escaped."""
    answers = [v for v in stage.answers if level is None or in_level(v.ratings[1], level)]
    played = Counter(visit.move for visit in answers)
    boards = {move: chess.Board(f"{visit.epd} 0 1") for visit in answers if (move := visit.move)}
    wanted = {boards[move].san(move): games for move, games in played.items() if move}
    assert {answer.san: answer.games for answer in step.between} == wanted
    assert sum(answer.share for answer in step.between) == pytest.approx(int(bool(answers)))
    assert step.escaped == len(answers) - played[named]
    assert step.escaped == sum(answer.games for answer in step.between if answer.escaped)


def check_helped(found: Helped, groups: list[list[Visit]], case: chess.Move) -> None:
    rates = [rate_of(group, lambda v: v.move == case) for group in groups]
    shown = found.class_before, found.class_after, found.others_before, found.others_after
    for mine, (wanted, _) in zip(shown, rates, strict=True):
        same(mine, wanted)
    factors = [factor for _, factor in rates]
    changes = []
    for (k1, n1, d1), (k2, n2, d2) in pairwise(factors):
        changes.append(newcombe(k2, n2, k1, n1, d2, d1))
    own, _, others = changes
    assert values(found.change) == pytest.approx(flat(own))
    assert values(found.change_others) == pytest.approx(flat(others))
    assert values(found.beyond) == pytest.approx(flat(own and others and minus(own, others)))


def values(found: Difference) -> tuple[float | None, ...]:
    return found.value, found.low, found.high


def flat(estimate: tuple[float, Interval] | None) -> tuple[float | None, ...]:
    return (estimate[0], *estimate[1]) if estimate else (None, None, None)
