"""A habit added up by player: rates, means, and one group set beside another."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from explorer.numbers.clusters import mean_design
from explorer.numbers.intervals import newcombe, wilson
from explorer.numbers.trend import linear_trend
from explorer.numbers.welch import Sample, mean_between, welch
from explorer.query.groups import counted
from explorer.query.habits_model import PIECES, Mean
from explorer.query.mistake_model import Difference, Rate
from explorer.query.visits import Flags, Ints

COLUMNS = ("named", "games", "cases", "squares", "mated")
ONE_PIECE = 1.0  # what keeps equal numbers of pieces from claiming certainty


@dataclass(frozen=True, slots=True)
class Group:
    """A habit in some games: one row for each player.

    ``cases`` are games with the habit, or with ``pieces`` numbers of pieces, ``squares`` the
    sums of their squares; ``mated`` games are told apart. ``named`` is False for a nameless
    player, who is one of a single game.
    """

    pieces: bool
    named: Flags
    games: Ints
    cases: Ints
    squares: Ints
    mated: Ints

    def at(self, here: Flags) -> Group:
        """Some of the rows."""
        return Group(self.pieces, *(getattr(self, name)[here] for name in COLUMNS))

    def joined(self, starts: Ints) -> Group:
        """Rows that follow each other added up; ``starts`` is where each new one begins."""
        added = (np.add.reduceat(getattr(self, name), starts) for name in COLUMNS[1:])
        return Group(self.pieces, self.named[starts], *added)

    @property
    def sums(self) -> tuple[int, int, int]:
        """Of cases, games and squares."""
        return int(self.cases.sum()), int(self.games.sum()), int(self.squares.sum())

    @property
    def players(self) -> int:
        """Those with a game."""
        return int(np.count_nonzero(self.games))

    @property
    def products(self) -> tuple[float, float, float]:
        """Sums over players of t * t, t * n and n * n, as in `numbers.clusters`."""
        t, n = self.cases.astype(np.float64), self.games.astype(np.float64)
        return float(t @ t), float(t @ n), float(n @ n)

    @property
    def design(self) -> float:
        """The design effect of players coming back."""
        total, games, squares = self.sums
        return mean_design(total, games, squares, *self.products, self.players)

    @property
    def sample(self) -> Sample:
        """The values of all games, with players as clusters."""
        total, games, squares = self.sums
        return Sample(total, games, squares, self.design, self.players, self.products[2])

    def told(self) -> dict[str, Any]:
        """``rate`` or ``mean``, and ``mated``."""
        if not self.pieces:
            rate = counted(np.arange(len(self.games)), self.named, self.cases, self.games).rate
            return {"rate": rate, "mean": None, "mated": int(self.mated.sum())}
        return {"rate": None, "mean": _mean(self.sample, self.players), "mated": 0}

    def told_alone(self) -> dict[str, Any]:
        """``rate`` or ``mean`` of one player, each of whose games is a case of its own."""
        total, games, squares = self.sums
        if self.pieces:
            return {"rate": None, "mean": _mean(Sample(total, games, squares), 1)}
        low, high = wilson(total, games) or (None, None)
        share = total / games if games else None
        rate = Rate(total, games, 1, share, low, high, total, int(total > 0))
        return {"rate": rate, "mean": None}


def _mean(sample: Sample, players: int) -> Mean:
    value, low, high = map(_number, mean_between(sample, ONE_PIECE))
    if low is not None and high is not None:
        low, high = max(0.0, low), min(float(PIECES), high)
    return Mean(value, low, high, int(np.asarray(sample.n)), players)


def apart(own: Group, others: Group) -> Difference:
    """One player's share or mean less that of others, each of the player's games a case."""
    (k1, n1, squares1), (k2, n2, squares2) = own.sums, others.sums
    design = others.design
    value = low = high = None
    if own.pieces:
        test = welch(Sample(k1, n1, squares1), others.sample, ONE_PIECE)
        value, low, high, p = map(_number, (test.difference, test.low, test.high, test.p_two_sided))
    else:
        if found := newcombe(k1, n1, k2, n2, 1.0, design):
            value, (low, high) = found
        # The test of a trend over two groups is the test that their shares differ.
        trend = linear_trend((k2, k1), (n2, n1), (squares2, squares1), (0, 1), (design, 1.0))
        p = trend.p if trend else None
    return Difference(value, low, high, n1, n2, p, other_players=others.players)


def _number(value: NDArray[np.float64]) -> float | None:
    """None for a number that could not be made."""
    return None if np.isnan(value) else float(value)
