"""What is said of each costly reply that discovery found."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from math import inf

import chess
import numpy as np
from duckdb import DuckDBPyConnection
from numpy.typing import NDArray

from explorer.numbers.discovery import (
    FEWEST_GAMES,
    FEWEST_PLAYERS,
    PAWNS,
    POINTS,
    Discovery,
    TwoGroups,
)
from explorer.numbers.intervals import Interval, mean_interval
from explorer.numbers.product import times
from explorer.numbers.welch import Sample, Test, welch
from explorer.positions.position import Position, position_of
from explorer.query.bands import level_number
from explorer.query.filters import Filters
from explorer.query.groups import Counted
from explorer.query.library import Facts
from explorer.query.mistake_model import ALL_LEVELS, Costly, Difference, Instead, Rate
from explorer.query.model import ReplyLevel
from explorer.query.moves import pack, unpack
from explorer.query.origin import facts_of
from explorer.query.pairs import (
    answers_to,
    levels_of,
    lines_of,
    material_at,
    put_pairs,
    rate_of,
    rates_by_level,
)
from explorer.query.subtree import Popular, Subtree
from explorer.query.sums import Sums

WORSE = 0.05  # one-sided p at which a reply is called worse than the best


@dataclass(frozen=True, eq=False, slots=True)
class Findings:
    """What was looked at: rows of ``sums``, of which ``candidates`` could be looked at, and
    what ``discovery`` made of them. ``anyone`` is the subtree of players of every level.
    """

    subtree: Subtree
    anyone: Subtree
    filters: Filters
    popular: Popular
    sums: Sums
    candidates: int
    discovery: Discovery

    def put(self, cursor: DuckDBPyConnection, numbers: Iterable[int]) -> None:
        """Make these rows the `pairs`."""
        rows = np.fromiter(numbers, np.intp)
        positions = self.sums.number[rows]
        columns = self.popular.key[positions], self.sums.move[rows], self.popular.white[positions]
        put_pairs(cursor, *(column.tolist() for column in columns))

    def cost(self, row: int) -> Difference:
        """Against expectation, beside the other replies there."""
        return difference(self.discovery.results, self.sums.results, row)

    def found_by(self, row: int) -> tuple[str, float]:
        """By which test, and its adjusted p: the smaller one when both found it."""
        found = self.discovery
        tests = {
            "results": (found.found_by_results[row], found.adjusted_p_results[row]),
            "material": (found.found_by_material[row], found.adjusted_p_material[row]),
        }
        by = {word: float(p) for word, (yes, p) in tests.items() if yes}
        return ("both" if len(by) == 2 else next(iter(by))), min(by.values())

    def instead(self, row: int, board: chess.Board) -> Instead | None:
        """The commonest other reply that is not significantly worse than the best."""
        sums, results = self.sums, self.sums.results.reply
        candidates = np.flatnonzero(
            (sums.number == sums.number[row])
            & ~self.discovery.found
            & (np.minimum(sums.games, results.n) >= FEWEST_GAMES)
            & (np.minimum(sums.players, results.clusters) >= FEWEST_PLAYERS)
        )
        if not len(candidates):
            return None
        mean = np.asarray(results.total)[candidates] / np.asarray(results.n)[candidates]
        best = candidates[int(mean.argmax())]
        test = welch(at(results, candidates), at(results, best), POINTS)
        good = candidates[(test.p_less >= WORSE) | (candidates == best)]
        row_ = int(good[int(sums.games[good].argmax())])
        return Instead(
            san=board.san(unpack(int(sums.move[row_]))),
            games=int(sums.games[row_]),
            share=float(sums.games[row_] / sums.went_on[row_]),
            over_expected=float(mean[candidates == row_][0]),
        )


def describe(
    cursor: DuckDBPyConnection, facts: Facts, findings: Findings, rows: Mapping[int, Counted]
) -> tuple[Costly, ...]:
    """The rows, each with its rate in all games, as answers carry them."""
    if not rows:
        return ()
    subtree, cuts = findings.subtree, findings.filters.cuts
    findings.put(cursor, rows)
    lines = lines_of(cursor, subtree)
    material, answers = material_at(cursor, subtree), answers_to(cursor, facts, subtree)
    levels = rates_by_level(cursor, findings.anyone, level_number(cuts, "mover_rating"))
    tests = welch(*material.material, PAWNS)
    found = []
    for place, ((row, everywhere), line) in enumerate(zip(rows.items(), lines, strict=True)):
        move = int(findings.sums.move[row])
        here = int(np.flatnonzero((material.number == place) & (material.move == move))[0])
        swing = difference(tests, material.material, here)
        punished = _punished(answers, place, line)
        shares = levels_of(levels, place, cuts)
        found.append(_row(findings, row, line, everywhere.rate, swing, punished, shares))
    return tuple(found)


def _row(
    findings: Findings,
    row: int,
    line: Position,
    everywhere: Rate,
    swing: Difference,
    punished: tuple[str, Rate] | None,
    levels: tuple[ReplyLevel, ...],
) -> Costly:
    board = line.board()
    board.pop()
    cost = findings.cost(row)
    found_by, p = findings.found_by(row)
    lost, low, high = _points_lost(everywhere, cost)
    punisher, rate = punished or (None, None)
    return Costly(
        line=line.numbered,
        position=facts_of(position_of(board)),
        name=line.opening,
        san=line.sans[-1],
        uci=line.ucis[-1],
        level=" or ".join(level.label for level in findings.filters.levels) or ALL_LEVELS,
        rate=chosen(findings.sums, row).rate,
        in_all_games=everywhere,
        cost=cost,
        swing=swing,
        mated=int(findings.sums.mated[row]),
        found_by=found_by,
        adjusted_p=p,
        lost=lost,
        lost_low=low,
        lost_high=high,
        instead=findings.instead(row, board),
        punisher=punisher,
        punished=rate,
        levels=levels,
    )


def _points_lost(rate: Rate, cost: Difference) -> tuple[float | None, float | None, float | None]:
    """Points lost in 100 games, with its interval."""
    if cost.value is None or rate.share is None:
        return None, None, None
    if cost.low is None or cost.high is None or rate.low is None or rate.high is None:
        return -100 * rate.share * cost.value, None, None
    share = rate.share, Interval(rate.low, rate.high)
    value, (low, high) = times(share, (-cost.value, Interval(-cost.high, -cost.low)))
    return 100 * value, 100 * low, 100 * high


def _punished(answers: Sums, pair: int, line: Position) -> tuple[str, Rate] | None:
    """The answer that punishes, and how often it is played by all who had the chance.

    A mate if the rules have one, else the one with the best lower bound against expectation
    of those with enough games and players.
    """
    here = np.flatnonzero(answers.number == pair).tolist()
    if not here:
        return None
    rates = {int(answers.move[row]): chosen(answers, row).rate for row in here}
    board = line.board()
    mates = [pack(move) for move in board.legal_moves if board.san(move).endswith("#")]
    if mates:
        best = max(mates, key=lambda move: (rates[move].cases if move in rates else 0, move))
    else:
        bounds = {int(answers.move[row]): _bound(answers, row) for row in here}
        best = max(bounds, key=lambda move: bounds[move])
        if bounds[best] == -inf:
            return None
    return board.san(unpack(best)), rates.get(best) or _never(answers, here[0])


def _bound(answers: Sums, row: int) -> float:
    """The lower bound of an answer against expectation; that of too few games is lowest."""
    sample = at(answers.results.reply, row)
    total, n, squares, design, players = (float(np.asarray(part)) for part in sample)
    if n < FEWEST_GAMES or players < FEWEST_PLAYERS:
        return -inf
    interval = mean_interval(total, n, squares, design)
    return interval.low if interval else -inf


def _never(sums: Sums, row: int) -> Rate:
    """The rate of a move that nobody played at the position of this row."""
    games, players = float(sums.went_on[row]), int(sums.went_on_players[row])
    return rate_of(0, games, (0, 0, float(sums.nn[row])), players, 0, 0).rate


def chosen(sums: Sums, row: int) -> Counted:
    """How often the reply is chosen where its position was reached."""
    products = [float(column[row]) for column in (sums.kk, sums.kn, sums.nn)]
    people = [int(column[row]) for column in (sums.went_on_players, sums.players, sums.top)]
    return rate_of(float(sums.games[row]), float(sums.went_on[row]), products, *people)


def difference(test: Test, groups: TwoGroups, row: int) -> Difference:
    """One row of many tests."""
    value, low, high, p = (
        None if np.isnan(part[row]) else float(part[row])
        for part in (test.difference, test.low, test.high, test.p_two_sided)
    )
    sizes = (groups.reply.n, groups.others.n, groups.reply.clusters, groups.others.clusters)
    games, other_games, players, other_players = (int(np.asarray(part)[row]) for part in sizes)
    return Difference(value, low, high, games, other_games, p, players, other_players)


def at(sample: Sample, rows: NDArray[np.intp] | int) -> Sample:
    """Some of many samples."""
    return Sample(*(np.asarray(part)[rows] for part in sample))
