"""What is said of each costly reply that discovery found."""

from __future__ import annotations

from collections.abc import Mapping
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
    Discovery,
    TwoGroups,
)
from explorer.numbers.intervals import Interval, mean_interval
from explorer.numbers.product import times
from explorer.numbers.welch import Test, alike, welch
from explorer.positions.position import Position, position_of
from explorer.query.favoured import favoured_row
from explorer.query.filters import Filters
from explorer.query.groups import Counted, by_enough
from explorer.query.library import Facts
from explorer.query.mistake_model import ALL_LEVELS, Costly, Difference, Instead, Rate
from explorer.query.model import ReplyLevel
from explorer.query.moves import pack, unpack
from explorer.query.origin import facts_of
from explorer.query.pairs import (
    Pair,
    answers_to,
    levels_of,
    lines_of,
    put_pairs,
    shares_at,
    swings_at,
)
from explorer.query.subtree import Popular, Subtree
from explorer.query.sums import Sums, at


@dataclass(frozen=True, eq=False, slots=True)
class Findings:
    """What was looked at: rows of ``sums``, of which ``candidates`` could be looked at, and
    what ``discovery`` made of them, of which those marked ``large`` are shown. ``anyone`` is
    the subtree of players of every level.
    """

    subtree: Subtree
    anyone: Subtree
    filters: Filters
    popular: Popular
    sums: Sums
    candidates: int
    discovery: Discovery
    large: NDArray[np.bool_]

    @property
    def costly(self) -> NDArray[np.bool_]:
        """Which rows are: found, and not scoring better than the others there.

        A gambit gives material up without being a mistake.
        """
        worse = ~(self.discovery.results.difference >= 0)  # or not known
        return np.asarray(self.discovery.found & worse)

    @property
    def shown(self) -> NDArray[np.bool_]:
        """Those of them that are worth showing."""
        return np.asarray(self.costly & self.large)

    def pair(self, row: int) -> Pair:
        """The position and the reply of a row."""
        number = int(self.sums.number[row])
        key, white = int(self.popular.key[number]), bool(self.popular.white[number])
        return Pair(number, key, int(self.sums.move[row]), white)

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
        sums = self.sums
        chosen = favoured_row(sums, (sums.number == sums.number[row]) & ~self.costly)
        if chosen is None:
            return None
        return Instead(
            san=board.san(unpack(int(sums.move[chosen]))),
            games=int(sums.games[chosen]),
            share=float(sums.games[chosen] / sums.went_on[chosen]),
            over_expected=sums.mean(chosen),
        )


def describe(
    cursor: DuckDBPyConnection, facts: Facts, findings: Findings, rows: Mapping[int, Counted]
) -> tuple[Costly, ...]:
    """The rows, each with its rate in all games, as answers carry them."""
    if not rows:
        return ()
    subtree, cuts = findings.subtree, findings.filters.cuts
    pairs = [findings.pair(row) for row in rows]
    put_pairs(cursor, pairs)
    lines = lines_of(cursor, subtree)
    answers = answers_to(cursor, facts, subtree, [line.key for line in lines])
    played = swings_at(cursor, subtree, pairs)
    by_level = shares_at(cursor, findings.anyone, pairs, cuts)
    swings = welch(*alike(*played.material), PAWNS)
    found = []
    for place, (row, pair, line) in enumerate(zip(rows, pairs, lines, strict=True)):
        here = played.row(pair.position, pair.reply)
        assert here is not None
        swing = difference(swings, played.material, here)
        punished = _punished(answers, place, line)
        shares = levels_of(by_level, pair, cuts)
        found.append(_row(findings, row, line, rows[row].rate, swing, punished, shares))
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
        rate=findings.sums.rate(row).rate,
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
    board = line.board()
    mates = [pack(move) for move in board.legal_moves if board.san(move).endswith("#")]
    if mates:
        best = max(mates, key=lambda move: (answers.rate_at(pair, move).rate.cases, move))
    else:
        bounds = {int(answers.move[row]): _bound(answers, row) for row in here}
        best = max(bounds, key=lambda move: bounds[move])
        if bounds[best] == -inf:
            return None
    return board.san(unpack(best)), answers.rate_at(pair, best).rate


def _bound(answers: Sums, row: int) -> float:
    """The lower bound of an answer against expectation; that of too few games is lowest."""
    sample = at(answers.results.reply, row)
    total, n, squares, design, players, _ = (float(np.asarray(part)) for part in sample)
    if n < FEWEST_GAMES or players < FEWEST_PLAYERS:
        return -inf
    interval = mean_interval(total, n, squares, design)
    return interval.low if interval else -inf


def difference(test: Test, groups: TwoGroups, row: int) -> Difference:
    """One row of many tests."""
    value, low, high, p = (
        None if np.isnan(part[row]) else float(part[row])
        for part in (test.difference, test.low, test.high, test.p_two_sided)
    )
    sizes = (groups.reply.n, groups.others.n, groups.reply.clusters, groups.others.clusters)
    games, other_games, players, other_players = (int(np.asarray(part)[row]) for part in sizes)
    return by_enough(Difference(value, low, high, games, other_games, p, players, other_players))
