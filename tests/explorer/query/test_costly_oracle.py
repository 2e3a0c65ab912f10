"""`costly` against a slow recount with python-chess, on random games, positions and filters."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import astuple, replace

import chess
import numpy as np
import pytest

from explorer.numbers.discovery import PAWNS, Discovery, TwoGroups, by_many, discover, eligible
from explorer.numbers.expectation import fide_expectation
from explorer.numbers.welch import Sample
from explorer.positions.position import Position, position_of
from explorer.query.compared import Compared
from explorer.query.costly import costly
from explorer.query.filters import Filters
from explorer.query.mistake_model import Costly, CostlyAnswer, Difference
from explorer.query.subtree import Subtree, choose_popular
from explorer.query.sums import Sums, sums_of
from explorer.query.where import where
from ingest.errors import NothingFound, UsageError
from ingest.levels import bands
from tests.support.random_world import World
from tests.support.recount import Visit, mean
from tests.support.recount_costly import (
    Replies,
    Values,
    after,
    below,
    most_of_one,
    pairs_of,
    popular,
    sample_of,
)
from tests.support.recount_mistakes import (
    ENOUGH_GAMES,
    ENOUGH_PLAYERS,
    best_reply,
    difference_of,
    first_ply,
    games_with_colour,
    of_level,
    rate_of,
    swings,
)

CASES = 30  # for each of three seeds
LEAST, OTHERS, PEOPLE = 4, 3, 2  # so few that small worlds have candidates
EXPECTATION = fide_expectation()
NEAR = {"rel": 1e-2, "abs": 2e-3}  # the queries count in 1 / 10,000 of a point or pawn


def random_question(world: World) -> tuple[Position, Filters, str | None, int]:
    """A position some game came to, mostly early, and where to look below it."""
    position = world.position() if world.random.random() < 0.6 else position_of(chess.Board())
    side = world.random.choice((None, "white", "black"))
    filters = Filters() if world.random.random() < 0.5 else replace(world.filters(), side=None)
    return position, filters, side, world.random.randint(1, 5)


def test_the_sums_over_every_reply_equal_the_recount(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Games, players and both measures of every reply in every popular position are right."""
    monkeypatch.setattr("explorer.query.reduce.HEAVY", 1)
    monkeypatch.setattr("explorer.query.subtree.SLICE", 40)  # several parts
    monkeypatch.setattr("explorer.query.compared.KEPT", 50)  # of which not all are kept
    counted = 0
    for _ in range(CASES):
        position, filters, side, to_move = random_question(world)
        here = below(world.recount, position.board(), filters, side, 2 * to_move)
        wanted = popular(here, LEAST, OTHERS)
        with world.library.reading() as (cursor, facts):
            subtree = Subtree(position, 2 * to_move, where(cursor, facts, filters))
            found = choose_popular(cursor, subtree, side, LEAST, OTHERS)
            sums = sums_of(Compared(cursor, facts, subtree, found, filters.cuts).visits())
        keys = {position_of(chess.Board(f"{epd} 0 1")).key: epd for epd in wanted}
        assert sorted(keys) == found.key.tolist()
        over, swing = measured(wanted, filters)
        rows = [
            (keys[int(found.key[n])], int(m)) for n, m in zip(sums.number, sums.move, strict=True)
        ]
        assert len(rows) == sum(len(replies) for replies in wanted.values())
        for row, (epd, move) in enumerate(rows):
            check_sums(sums, row, wanted[epd], move, (over, swing))
            counted += 1
    assert counted > CASES


def measured(wanted: dict[str, Replies], filters: Filters):
    every = [v for replies in wanted.values() for visits in replies.values() for v in visits]
    return Values(EXPECTATION, filters.cuts, every).measured()


def packed(move: chess.Move) -> int:
    return move.from_square + 64 * move.to_square + 4096 * (move.promotion or 0)


def check_sums(sums: Sums, row: int, replies: Replies, move: int, measures) -> None:
    own = next(visits for reply, visits in replies.items() if packed(reply) == move)
    others = [v for reply, visits in replies.items() if packed(reply) != move for v in visits]
    rate, _ = rate_of([*own, *others], lambda v: v.move == own[0].move)
    assert sums.rate(row).rate == rate
    assert (sums.games[row], sums.others[row]) == (len(own), len(others))
    assert (sums.players[row], sums.top[row]) == (rate.case_players, rate.top_player_cases)
    assert sums.other_top[row] == most_of_one(others)
    assert sums.mated[row] == sum(v.mated for v in own)
    assert sums.kk[row] == sum(n * n for n in Counter(v.mover for v in own).values())
    assert sums.others_kk[row] == sum(n * n for n in Counter(v.mover for v in others).values())
    for groups, values in zip((sums.results, sums.material), measures, strict=True):
        for group, visits in zip(groups, (own, others), strict=True):
            counted = Sample(*(np.asarray(part)[row] for part in group))
            wanted = sample_of(pairs_of(visits, values))
            assert tuple(counted) == pytest.approx(tuple(wanted), **NEAR)


@pytest.fixture
def few(monkeypatch: pytest.MonkeyPatch) -> None:
    """Claims rest on as few games as small worlds have."""
    monkeypatch.setattr("explorer.query.reduce.HEAVY", 1)
    assert (OTHERS, PEOPLE) == (ENOUGH_GAMES, ENOUGH_PLAYERS)
    for module in ("numbers.discovery", "query.costly", "query.costly_rows", "query.favoured"):
        monkeypatch.setattr(f"explorer.{module}.FEWEST_GAMES", OTHERS)
    for module in ("numbers.discovery", "query.costly_rows", "query.favoured"):
        monkeypatch.setattr(f"explorer.{module}.FEWEST_PLAYERS", PEOPLE)


def test_the_answers_equal_the_recount(world: World, few: None) -> None:
    """What is found and all that is said of it equals the recount."""
    seen = Counter[str]()
    for _ in range(CASES):
        position, filters, side, to_move = random_question(world)
        at_least = world.random.choice((0, 2, 40))
        ask = world.library, position, filters, side, to_move, LEAST, 100.0, 1000, at_least
        here = below(world.recount, position.board(), filters, side, 2 * to_move)
        if not below(world.recount, position.board(), filters, None, 2 * to_move):
            with pytest.raises((NothingFound, UsageError)):
                costly(*ask)
            continue
        check_answer(world, costly(*ask), popular(here, LEAST, OTHERS), seen)
    assert min(seen[kind] for kind in ("found", "instead", "punished", "too small")) > 1


def check_answer(
    world: World, answer: CostlyAnswer, wanted: dict[str, Replies], seen: Counter[str]
) -> None:
    over, swing = measured(wanted, answer.filters)
    names = [(epd, move) for epd, replies in wanted.items() for move in replies]
    own = [wanted[epd][move] for epd, move in names]
    others = [
        [v for reply, visits in wanted[epd].items() if reply != move for v in visits]
        for epd, move in names
    ]
    counts = [[len(visits) for visits in group] for group in (own, others)]
    may = eligible(counts[0], [len({v.mover for v in g}) for g in own], counts[1], LEAST)
    assert answer.candidates == np.count_nonzero(may)
    for group, games in zip((own, others), counts, strict=True):
        squares = [sum(n * n for n in Counter(v.mover for v in g).values()) for g in group]
        may = may & by_many(games, squares, [most_of_one(g) for g in group])
    results, material = (
        TwoGroups(*(stacked([pairs_of(g, values) for g in group]) for group in (own, others)))
        for values in (over, swing)
    )
    decided = discover(results, material, may, 100.0)
    assert answer.tests == decided.tests
    rows = {(row.position.key, row.uci): row for row in answer.found}
    every_level = replace(answer.filters, levels=())
    board = chess.Board(answer.position.fen)
    anyone = below(world.recount, board, every_level, None, 2 * answer.to_move)
    costs = decided.results.difference
    pawns = decided.material.difference
    sure = np.minimum(abs(costs), abs(pawns)) > 1e-3
    if least := answer.at_least:
        sure &= np.minimum(abs(costs + least / 100), abs(pawns + 0.5)) > 2e-3
    if sure.all():
        assert close([answer.could_show], [decided.could_show], **NEAR)
    too_small = 0
    for place, (epd, move) in enumerate(names):
        row = rows.pop((key_text(epd), move.uci()), None)
        if sure[place]:
            found = decided.found[place] and not costs[place] >= 0
            shown = found and (not least or large_enough(decided, place, least))
            assert (row is not None) == shown
            too_small += found and not shown
        if row is not None:
            check_row(world, answer, row, own[place], others[place], anyone, seen)
            found = {
                "results": decided.found_by_results[place],
                "material": decided.found_by_material[place],
            }
            assert row.found_by in ("both" if all(found.values()) else found)
            ps = decided.adjusted_p_results[place], decided.adjusted_p_material[place]
            assert row.adjusted_p == pytest.approx(
                min(p for p, yes in zip(ps, found.values(), strict=True) if yes), **NEAR
            )
            cost = row.cost.value, row.cost.low, row.cost.high
            test = decided.results
            expected = (test.difference[place], test.low[place], test.high[place])
            if min(row.cost.players, row.cost.other_players) < 5:
                expected = (test.difference[place], None, None)
            assert close(cost, expected, **NEAR)
            seen.update(("found", row.found_by))
    assert not rows
    if sure.all():
        assert answer.too_small == too_small
    seen["too small"] += too_small
    lost = [-1e9 if row.lost is None else row.lost for row in answer.found]
    assert lost == sorted(lost, reverse=True)


def large_enough(decided: Discovery, place: int, at_least: float) -> bool:
    """Points in 100 games with the reply where results found it, half a pawn where material did."""
    points, pawns = -100 * decided.results.difference[place], -decided.material.difference[place]
    by_results, by_material = decided.found_by_results[place], decided.found_by_material[place]
    return bool((by_results and points >= at_least) or (by_material and pawns >= 0.5))


def stacked(groups) -> Sample:
    samples = [sample_of(pairs) for pairs in groups] or [Sample(0, 0, 0, 1, 0, 0)][:0]
    if not samples:
        return Sample(*(np.zeros(0) for _ in Sample._fields))
    return Sample(*(np.array(part, dtype=float) for part in zip(*samples, strict=True)))


def key_text(epd: str) -> str:
    return f"{position_of(chess.Board(f'{epd} 0 1')).key:016x}"


def check_row(
    world: World,
    answer: CostlyAnswer,
    row: Costly,
    own: list[Visit],
    others: list[Visit],
    anyone: dict[str, Replies],
    seen: Counter[str],
) -> None:
    filters = answer.filters
    rate, _ = rate_of([*own, *others], lambda v: v.move == own[0].move)
    assert row.rate == rate
    assert row.mated == sum(v.mated for v in own)
    assert near(row.swing, difference_of(swings(own), swings(others), PAWNS))
    numbers = {v.record.number for v in own}
    first = first_ply(own, own[0].move)
    everybody = games_with_colour(world.records, own[0].white, filters, first)
    everywhere, _ = rate_of(everybody, lambda v: v.record.number in numbers)
    assert row.in_all_games == everywhere
    if row.lost is not None:
        assert row.lost == pytest.approx(-100 * everywhere.share * row.cost.value)
        assert row.lost_low is None or row.lost_low <= row.lost <= row.lost_high
    lines = Counter(
        (v.record.start, tuple(m.uci() for m in v.record.moves[: v.ply + 1])) for v in own
    )
    board = chess.Board(f"{own[0].epd} 0 1")
    assert row.san == board.san(own[0].move)
    assert row.line.endswith(row.san)
    assert max(lines.values()) in {
        count for (start, ucis), count in lines.items() if numbered_line(start, ucis) == row.line
    }
    at_all = [v for visits in anyone[own[0].epd].values() for v in visits]
    for shown, level in zip(row.levels, bands(filters.cuts), strict=True):
        at_level = of_level(at_all, level)
        there, _ = rate_of(at_level, lambda v: v.move == own[0].move)
        assert (shown.games, shown.of, shown.players, shown.of_players) == (
            there.cases, there.games, there.case_players, there.players
        )  # fmt: skip
        assert (shown.share, shown.share_low, shown.share_high) == (
            there.share, there.low, there.high
        )  # fmt: skip
        known = [v.points for v in at_level if v.move == own[0].move and v.points is not None]
        assert shown.score == pytest.approx(mean(known))
    check_punished(world, row, own, seen)
    seen["instead"] += row.instead is not None


def check_punished(world: World, row: Costly, own: list[Visit], seen: Counter[str]) -> None:
    chances = after(world.recount, own)
    board = chess.Board(f"{own[0].epd} 0 1")
    board.push(own[0].move)
    _, best = best_reply(board, chances, EXPECTATION)
    if not chances or not best:
        assert (row.punisher, row.punished) == (None, None)
        return
    seen["punished"] += 1
    assert row.punisher == board.san(chess.Move.from_uci(best[0]))
    punished, _ = rate_of(chances, lambda v: v.move.uci() == best[0])
    assert row.punished == punished


def numbered_line(start: str, ucis: tuple[str, ...]) -> str:
    board = chess.Board(start)
    for uci in ucis:
        board.push_uci(uci)
    return position_of(board).numbered


def near(difference: Difference, wanted: Difference) -> bool:
    """Equal but for the last digits of floats."""
    return close(astuple(difference), astuple(wanted), rel=1e-6)


def close(values: Sequence[float | None], wanted: Sequence[float | None], **near: float) -> bool:
    """Equal but for roundings; None and NaN are the same."""
    pairs = zip(values, wanted, strict=True)
    numbers = [[np.nan if x is None else float(x) for x in pair] for pair in pairs]
    return all(a == pytest.approx(b, nan_ok=True, **near) for a, b in numbers)
