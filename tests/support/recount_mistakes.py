"""A slow recount of `mistake` with python-chess: the oracle of chances, finds and rates.

Straight from the definitions of the words, one game after the other, on the
visits of `recount`. Nothing here shares code with the queries; the statistics
of `explorer.numbers` have their own tests.
"""

from __future__ import annotations

import datetime
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

import chess

from explorer.numbers.clusters import mean_design
from explorer.numbers.expectation import Expectation
from explorer.numbers.intervals import mean_interval, wilson
from explorer.numbers.product import product_interval
from explorer.numbers.welch import Sample, welch
from explorer.query.filters import Filters
from explorer.query.mistake_model import Difference, Rate
from ingest.levels import Level
from tests.support.random_games import Record
from tests.support.recount import Recount, Visit, clustered, in_dates, in_level, passes

Factor = tuple[int, int, float]
ENOUGH_GAMES, ENOUGH_PLAYERS = 3, 2  # so few that small worlds have a best reply


def rate_of(visits: Iterable[Visit], is_case: Callable[[Visit], bool]) -> tuple[Rate, Factor]:
    """The rate among the visits, and (cases, games, design)."""
    all_ = list(visits)
    flags = [is_case(visit) for visit in all_]
    cases = [visit for visit, case in zip(all_, flags, strict=True) if case]
    named = Counter(visit.mover for visit in cases if visit.named)
    sums = clustered((v.mover, float(case)) for v, case in zip(all_, flags, strict=True))
    design = 1.0
    if all_:
        design = mean_design(
            sums.total, sums.n, sums.squares, sums.tt, sums.tn, sums.nn, sums.clusters
        )
    low, high = wilson(len(cases), len(all_), design) or (None, None)
    rate = Rate(
        cases=len(cases),
        games=len(all_),
        players=len({visit.mover for visit in all_}),
        share=len(cases) / len(all_) if all_ else None,
        low=low,
        high=high,
        top_player_cases=max(named.values(), default=0),
        case_players=len({visit.mover for visit in cases}),
    )
    return rate, (len(cases), len(all_), design)


def difference_of(
    first: Sequence[tuple[str, float]], second: Sequence[tuple[str, float]], unit: float
) -> Difference:
    """The first mean minus the second, of (player, value) pairs."""
    sums = [clustered(pairs) for pairs in (first, second)]
    spreads = [s.squares - s.total**2 / max(1, s.n) for s in sums]
    common = sum(spreads) / max(1, len(first) + len(second))
    samples = []
    for s, spread in zip(sums, spreads, strict=True):
        design = mean_design(s.total, s.n, s.squares, s.tt, s.tn, s.nn, s.clusters) if s.n else 1.0
        more = max(0, common * s.n - spread)  # the spread of both together at the least
        samples.append(Sample(s.total, s.n, s.squares + more, design, s.clusters, s.nn))
    test = welch(*samples, unit)
    value, low, high, p = (
        None if number != number else float(number)
        for number in (test.difference, test.low, test.high, test.p_two_sided)
    )
    people = [len({player for player, _ in pairs}) for pairs in (first, second)]
    if min(people) < 5:  # what so few did tells nothing of others
        low = high = p = None
    return Difference(value, low, high, len(first), len(second), p, *people)


def over_expected(visits: Iterable[Visit], expectation: Expectation) -> list[tuple[str, float]]:
    """(player, score minus expected score) of the games that can be compared."""
    return [
        (visit.mover, visit.points - expectation.of(own - other, visit.white))
        for visit in visits
        for own, other in [visit.ratings]
        if visit.points is not None and own is not None and other is not None
    ]


def scores(visits: Iterable[Visit]) -> list[tuple[str, float]]:
    """(player, points) of the games with a known result."""
    return [(visit.mover, visit.points) for visit in visits if visit.points is not None]


def swings(visits: Iterable[Visit]) -> list[tuple[str, float]]:
    """(player, swing in pawns) of the games in which it is known."""
    return [(visit.mover, visit.swing) for visit in visits if visit.swing is not None]


def of_level(visits: Iterable[Visit], level: Level | None) -> list[Visit]:
    """The visits by movers of a level; None: all."""
    return [v for v in visits if level is None or in_level(v.ratings[0], level)]


def games_with_colour(
    records: Iterable[Record], white: bool, filters: Filters, first: int
) -> list[Visit]:
    """A stand-in visit for each chosen game from the normal start with a move by each side.

    One that is cut short counts if its last move that can be read is that at ply ``first`` or
    a later one.
    """
    stands = [
        Visit(record, "", 0, None, False, white, None, False)
        for record in records
        if from_the_start(record) and not (record.cut and len(record.moves) - 1 < first)
    ]
    return [v for v in stands if passes(v, filters) and in_dates(v.record, filters)]


def from_the_start(record: Record) -> bool:
    """Whether it starts from the normal position and has a move by each side."""
    return record.start == chess.STARTING_FEN and len(record.moves) >= 2


def first_ply(visits: Iterable[Visit], move: chess.Move) -> int:
    """When the move was first played in these; of one that never was, when it could have been."""
    here = [v for v in visits if from_the_start(v.record)]
    made = [v.ply for v in here if v.move == move]
    return min(made or [v.ply for v in here] or [1000])


def headed_for(
    recount: Recount, board: chess.Board, filters: Filters, level: Level | None
) -> tuple[object, int]:
    """The product of the shares of the side that moves last on ``board``, and its least n."""
    factors = []
    for ply in range(len(board.move_stack) - 1, -1, -2):
        here = chess.Board()
        for move in board.move_stack[:ply]:
            here.push(move)
        visits = of_level((v for v in recount.chosen(here, filters) if v.move), level)
        chosen = board.move_stack[ply]
        factors.append(rate_of(visits, lambda v, chosen=chosen: v.move == chosen)[1])
    return product_interval(factors[::-1]), min(n for _, n, _ in factors)


def best_reply(
    board: chess.Board, chances: Sequence[Visit], expectation: Expectation
) -> tuple[str, list[str]]:
    """The mate, else the reply with the best lower bound of those often enough compared."""
    played = Counter(visit.move for visit in chances)
    mates = []
    for move in board.legal_moves:
        after = board.copy(stack=False)
        after.push(move)
        if after.is_checkmate():
            mates.append((played[move], move.uci()))
    if mates:
        return "rules", [max(mates)[1]]
    bounds = {}
    for move in played:
        pairs = over_expected([v for v in chances if v.move == move], expectation)
        if move and len(pairs) >= ENOUGH_GAMES and len(dict(pairs)) >= ENOUGH_PLAYERS:
            s = clustered(pairs)
            design = mean_design(s.total, s.n, s.squares, s.tt, s.tn, s.nn, s.clusters)
            interval = mean_interval(s.total, s.n, s.squares, design)
            bounds[move.uci()] = interval.low if interval else -2
    return "numbers", [max(bounds, key=lambda uci: bounds[uci])] if bounds else []


@dataclass(frozen=True)
class Stage:
    """One step of a punishing line: who had the chance, and the answers before it."""

    move: chess.Move
    chances: list[Visit]
    answers: list[Visit]  # by the side that erred


def pursue(
    recount: Recount, board: chess.Board, made: Iterable[Visit], moves: Sequence[chess.Move]
):
    """The stages of a punishing line after ``board``, and how many follow the mistake at all."""
    board = board.copy()
    here = _next(recount, board, made)
    followed, answers, stages = len(here), [], []
    for number, move in enumerate(moves):
        went_on = [visit for visit in here if visit.move]
        if number % 2 == 0:
            stages.append(Stage(move, went_on, answers))
        else:
            answers = went_on
        board.push(move)
        here = _next(recount, board, [visit for visit in went_on if visit.move == move])
    return stages, followed


def _next(recount: Recount, board: chess.Board, before: Iterable[Visit]) -> list[Visit]:
    """The visits one ply later in the same games."""
    plies = {visit.record.number: visit.ply + 1 for visit in before}
    return [v for v in recount.at[board.epd()] if plies.get(v.record.number) == v.ply]


def before_and_after(
    visits: Sequence[Visit], members: Sequence[str], since: datetime.date, levels: Sequence[Level]
) -> list[list[Visit]]:
    """The class before and after, then the others at its levels between its first and last day."""
    own = [v for v in visits if v.mover in members and v.record.played]
    days = [v.record.played for v in own if v.record.played]
    at = [level for level in levels if any(in_level(v.ratings[0], level) for v in own)]
    others = [
        v
        for v in visits
        if v.mover not in members
        and v.record.played
        and own
        and min(days) <= v.record.played <= max(days)
        and any(in_level(v.ratings[0], level) for level in at)
    ]
    return [
        [v for v in group if v.record.played and (v.record.played >= since) == late]
        for group in (own, others)
        for late in (False, True)
    ]
