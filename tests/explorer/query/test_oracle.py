"""The queries against a slow recount with python-chess, on random games, positions and filters."""

from __future__ import annotations

from dataclasses import replace

import chess
import pytest
from scipy.stats import false_discovery_control

from explorer.numbers import fide
from explorer.numbers.clusters import mean_design
from explorer.numbers.expectation import Expectation, fide_expectation, fit_expectation
from explorer.numbers.intervals import mean_interval, score_interval, wilson
from explorer.numbers.trend import Trend, cochran_armitage
from explorer.positions.position import Position, position_of
from explorer.query.breakdown import BREAKDOWNS
from explorer.query.filters import Filters
from explorer.query.games import games
from explorer.query.library import open_library
from explorer.query.model import RepliesAnswer, Reply, TrendOver
from explorer.query.orders import orders
from explorer.query.replies import replies
from ingest.errors import NothingFound
from ingest.levels import bands
from tests.support.random_world import World, make_world
from tests.support.recount import Visit, clustered, groups_of, mean, orders_of

CASES = 40  # for each seed


def expect_nothing(world: World, position: Position, filters: Filters) -> None:
    for ask in (replies, orders, games):
        with pytest.raises(NothingFound):
            ask(world.library, position, filters)


def test_the_answers_equal_the_recount(world: World) -> None:
    """Replies, orders and games equal a slow recount for random positions and filters."""
    answered = 0
    for _ in range(CASES):
        position, filters = world.position(), world.filters()
        visits = world.recount.chosen(position.board(), filters)
        if not visits:
            expect_nothing(world, position, filters)
            continue
        answered += 1
        check_replies(world, position, filters, visits)
        check_orders(world, position, filters, visits)
        check_games(world, position, filters, visits)
    assert answered > CASES / 3


def check_replies(world: World, position: Position, filters: Filters, visits: list[Visit]) -> None:
    answer = replies(world.library, position, filters)
    board = position.board()
    stopped = [visit for visit in visits if visit.move is None]
    assert answer.games == len(visits)
    assert answer.players == len({visit.mover for visit in visits})
    assert answer.ended_here == len(stopped)
    assert answer.ended.mate_or_stalemate == sum(visit.on_board for visit in stopped)
    open_ended = [v for v in stopped if v.points is None and not v.on_board]
    assert answer.ended.cut_short == len(open_ended)
    assert answer.ended.result == len(stopped) - len(open_ended) - answer.ended.mate_or_stalemate
    assert answer.unknown_results == sum(visit.points is None for visit in visits)
    assert answer.source.vague_dates == world.recount.vague(board, filters)
    assert answer.move_orders == len(orders_of(visits))
    found = {other.uci: other.games_there for other in answer.transposing}
    assert found == world.recount.transposing(board, filters)
    for counted in answer.levels:
        assert counted.games == sum(counted.label in groups_of(v, filters) for v in visits)
    labels = [level.label for level in answer.levels]
    assert set[str]().union(*(groups_of(v, filters) for v in visits)) <= set(labels)
    if filters.by in ("level", "opponents"):
        assert labels == [band.label for band in bands(filters.cuts)]
    else:
        assert labels == sorted(
            labels, key=lambda label: (label.startswith("unknown"), _place(label))
        )
        assert all(level.games for level in answer.levels)
    if filters.by != "collection":
        assert sum(level.games for level in answer.levels) == answer.games
    played = {visit.move.uci() for visit in visits if visit.move}
    assert {reply.uci for reply in answer.replies} == played
    for reply in answer.replies:
        check_reply(answer, reply, [visit for visit in visits if visit.move], fide_expectation())
    check_trends(answer, [visit for visit in visits if visit.move])


def _place(label: str) -> str:
    """Paces from fast to slow, the rest as it is written."""
    paces = ("blitz", "rapid", "standard", "correspondence")
    return str(paces.index(label)) if label in paces else label


def check_reply(
    answer: RepliesAnswer, reply: Reply, went_on: list[Visit], expectation: Expectation
) -> None:
    mine = [v for v in went_on if v.move and v.move.uci() == reply.uci]
    points = [v.points for v in mine if v.points is not None]
    met = [v for v in mine if v.ratings[1] is not None]
    swings = [v.swing for v in mine if v.swing is not None]
    assert reply.games == len(mine)
    assert reply.players == len({v.mover for v in mine})
    assert (reply.wins, reply.draws, reply.losses) == tuple(points.count(p) for p in (1, 0.5, 0))
    assert reply.score == pytest.approx(mean(points))
    assert reply.mean_rating == pytest.approx(mean([r for v in mine if (r := v.ratings[0])]))
    assert reply.mean_opponent == pytest.approx(mean([r for v in mine if (r := v.ratings[1])]))
    assert reply.swing == pytest.approx(mean(swings))
    assert reply.swing_games == len(swings)
    assert reply.mated == sum(v.mated for v in mine)
    named = [v.mover for v in mine if v.named]
    assert reply.top_player_games == max(map(named.count, named), default=0)
    met_points = [(v.ratings[1], v.points) for v in met if v.points is not None]
    assert reply.performance == (
        fide.performance(
            mean([r for r, _ in met_points]), sum(p for _, p in met_points), len(met_points)
        )
        if met_points
        else None
    )
    check_intervals(reply, mine, went_on, expectation)
    assert [row.label for row in reply.levels] == [level.label for level in answer.levels]
    for row in reply.levels:
        here = [v for v in went_on if row.label in groups_of(v, answer.filters)]
        those = [v for v in here if v in mine]
        assert (row.games, row.of) == (len(those), len(here))
        assert row.players == len({v.mover for v in those})
        assert row.of_players == len({v.mover for v in here})
        known = [v.points for v in those if v.points is not None]
        assert row.score == pytest.approx(mean(known))
        check_share((row.share, row.share_low, row.share_high), those, here)


def check_trends(answer: RepliesAnswer, went_on: list[Visit]) -> None:
    """Over levels, years and seasons that are not muted; p-values adjusted over the replies."""
    filters, tested = answer.filters, []
    for reply in answer.replies:
        if filters.by not in ("level", "year", "season"):
            assert reply.trend is None
            continue
        groups = [
            [v for v in went_on if level.label in groups_of(v, filters)]
            for level in reply.levels
            if not (level.few or level.label in ("unrated", "unknown year", "unknown season"))
        ]
        assert reply.trend is not None
        assert reply.trend.levels == len(groups)
        if (found := _trend(reply, groups, filters)) and not reply.few:
            tested.append((reply.trend, found))
        else:
            assert reply.trend == TrendOver("none", None, len(groups))
    ps = false_discovery_control([found.p for _, found in tested]) if tested else ()
    for (trend, found), p in zip(tested, ps, strict=True):
        assert trend.p == pytest.approx(p)
        assert trend.direction == (found.direction if p < 0.05 else "none")


def _trend(reply: Reply, groups: list[list[Visit]], filters: Filters) -> Trend | None:
    ks, ns, scores, designs = [], [], [], []
    for visits in groups:
        chosen = [float(v.move is not None and v.move.uci() == reply.uci) for v in visits]
        sums = clustered((v.mover, k) for v, k in zip(visits, chosen, strict=True))
        ks.append(sums.total)
        ns.append(sums.n)
        designs.append(
            mean_design(sums.total, sums.n, sums.squares, sums.tt, sums.tn, sums.nn, sums.clusters)
        )
        rating = mean([r for v in visits if (r := v.ratings[0])])
        label = min(groups_of(visits[0], filters))
        scores.append(rating if filters.by == "level" else int(label[:4]))
    return cochran_armitage(ks, ns, scores, designs)


def check_share(
    share: tuple[float | None, float | None, float | None], mine: list[Visit], all_: list[Visit]
) -> None:
    if not all_:
        assert share == (None, None, None)
        return
    sums = clustered((v.mover, float(v in mine)) for v in all_)
    design = mean_design(sums.total, sums.n, sums.squares, sums.tt, sums.tn, sums.nn, sums.clusters)
    interval = wilson(len(mine), len(all_), design)
    assert interval is not None
    assert share == pytest.approx((len(mine) / len(all_), *interval))


def check_intervals(
    reply: Reply, mine: list[Visit], went_on: list[Visit], expectation: Expectation
) -> None:
    check_share((reply.share, reply.share_low, reply.share_high), mine, went_on)
    known = clustered((v.mover, v.points) for v in mine if v.points is not None)
    if known.n:
        design = mean_design(
            known.total, known.n, known.squares, known.tt, known.tn, known.nn, known.clusters
        )
        interval = score_interval(reply.wins, reply.draws, reply.losses, design)
        assert interval == pytest.approx((reply.score_low, reply.score_high))
    over = clustered(
        (v.mover, v.points - expectation.of(own - other, v.white))
        for v in mine
        if v.points is not None
        for own, other in [v.ratings]
        if own is not None and other is not None
    )
    assert reply.over_expected_games == over.n
    if not over.n:
        assert (reply.expected, reply.over_expected, reply.over_expected_low) == (None,) * 3
        return
    design = mean_design(over.total, over.n, over.squares, over.tt, over.tn, over.nn, over.clusters)
    interval = mean_interval(over.total, over.n, over.squares, design)
    assert interval == pytest.approx((reply.over_expected_low, reply.over_expected_high))
    assert reply.over_expected == pytest.approx(over.total / over.n)
    compared = [v.points for v in mine if v.points is not None and None not in v.ratings]
    assert reply.expected == pytest.approx(mean(compared) - over.total / over.n)


def check_orders(world: World, position: Position, filters: Filters, visits: list[Visit]) -> None:
    answer = orders(world.library, position, filters, top=1000)
    counted = orders_of(visits)
    starts = {order: order.start_fen or chess.STARTING_FEN for order in answer.orders}
    assert {(starts[order], order.ucis): order.games for order in answer.orders} == counted
    assert [order.games for order in answer.orders] == sorted(counted.values(), reverse=True)
    assert answer.games == len(visits)
    assert sum(order.share for order in answer.orders) == pytest.approx(1)
    few = orders(world.library, position, filters, top=2)
    assert few.orders == answer.orders[:2]
    assert few.orders_left_out == max(0, len(counted) - 2)


def check_games(world: World, position: Position, filters: Filters, visits: list[Visit]) -> None:
    answer = games(world.library, position, filters, sort="date", top=1000)
    by_number = {int(row.round or 0): row for row in answer.rows}
    assert answer.games == len(by_number) == len(visits)
    for visit in visits:
        row, record = by_number[visit.record.number], visit.record
        assert row.ucis == tuple(move.uci() for move in record.moves)
        assert (row.white, row.black) == (record.white, record.black)
        assert (row.white_rating, row.black_rating) == (record.white_rating, record.black_rating)
        assert (row.result, row.date, row.pace) == (record.result, record.date, record.pace)
        assert row.ply_here == visit.ply
        move = visit.move
        assert row.reply == (position.board().san(move) if move else None)
    longest = world.random.randint(2, 12)
    short = games(world.library, position, filters, sort="length", at_most_moves=longest, top=1000)
    decisive = [
        v.record.number
        for v in visits
        if v.record.result in ("1-0", "0-1")
        and not v.record.cut
        and 1 <= len(v.record.moves) <= 2 * longest
    ]
    assert short.games == len(decisive)
    assert sorted(int(row.round or 0) for row in short.rows) == sorted(decisive)


@pytest.mark.parametrize("by", BREAKDOWNS)
def test_every_breakdown_equals_the_recount(world: World, by: str) -> None:
    """Groups, shares, intervals and trends equal a slow recount, whatever they are by."""
    for number in range(CASES // 5):
        position, filters = world.position(), replace(world.filters(), by=by)
        if not number:
            position, filters = position_of(chess.Board()), Filters(by=by, cuts=(1300,))
        if visits := world.recount.chosen(position.board(), filters):
            check_replies(world, position, filters, visits)


@pytest.mark.parametrize("by", ["year", "collection"])
def test_crowds_of_groups_are_counted_the_same_way(
    world: World, by: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where players, moves and groups are too many for small tables, larger ones serve."""
    filters, position = Filters(by=by), position_of(chess.Board())
    small = replies(world.library, position, filters)
    monkeypatch.setattr("explorer.query.clustering.MOST_SEATS", 0)
    monkeypatch.setattr("explorer.query.here.NARROW", 0)
    assert replies(world.library, position, filters) == small


def test_the_librarys_own_expectation_equals_the_recount(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A library that is large enough compares with its own results by difference and colour."""
    monkeypatch.setattr("explorer.numbers.expectation.MIN_GAMES_FOR_OWN", 20)
    half_points = {"1-0": 2, "1/2-1/2": 1, "0-1": 0}
    by_difference: dict[int, list[int]] = {}
    for r in world.records:
        if r.white_rating and r.black_rating and r.result in half_points:
            results = by_difference.setdefault(r.white_rating - r.black_rating, [])
            results.append(half_points[r.result])
    expectation = fit_expectation(
        list(by_difference),
        [*map(len, by_difference.values())],
        [*map(sum, by_difference.values())],
    )
    with open_library(world.library.path) as library:
        for words in ((), ("e2e4",)):
            board = chess.Board()
            for uci in words:
                board.push_uci(uci)
            answer = replies(library, position_of(board), Filters())
            assert answer.source.expectation == "library"
            visits = [v for v in world.recount.chosen(board, Filters()) if v.move]
            for reply in answer.replies:
                check_reply(answer, reply, visits, expectation)


def test_the_order_of_adding_changes_nothing(
    world: World, tmp_path_factory: pytest.TempPathFactory
) -> None:
    """Overlapping files give the same answers in either order."""
    folder = tmp_path_factory.mktemp("turned")
    turned = make_world(folder, world.seed, ("school", "club"))
    with turned.library:
        for names in ((), ("club",), ("school",)):
            ask = position_of(chess.Board()), Filters(collections=names)
            assert replies(turned.library, *ask) == replies(world.library, *ask)
            assert orders(turned.library, *ask) == orders(world.library, *ask)
            for sort in ("rating", "date", "length"):
                one, other = (games(w.library, *ask, sort) for w in (world, turned))
                assert [replace(row, id=0) for row in one.rows] == [
                    replace(row, id=0) for row in other.rows
                ]
