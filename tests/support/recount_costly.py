"""A slow recount of `costly` with python-chess: the replies below a position, and their games.

Straight from the definitions of the words, on the visits of `recount`.
Nothing here shares code with the queries; the statistics of `explorer.numbers`
have their own tests.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import chess

from explorer.numbers.clusters import mean_design
from explorer.numbers.expectation import Expectation, left_by_level
from explorer.numbers.swing import fit_expected_swing
from explorer.numbers.welch import Sample
from explorer.query.filters import Filters
from ingest.levels import bands
from tests.support.recount import Recount, Visit, clustered, in_dates, in_level, passes

MATED = -9  # a queen

Pairs = list[tuple[str, float]]
Replies = dict[chess.Move, list[Visit]]


def below(
    recount: Recount, board: chess.Board, filters: Filters, side: str | None, end: int
) -> dict[str, Replies]:
    """Position -> reply -> visits, of games that went through ``board``, before ply ``end``."""
    reached = {visit.record.number: visit.ply for visit in recount.at[board.epd()]}
    found: dict[str, Replies] = {}
    for epd, visits in recount.at.items():
        replies: defaultdict[chess.Move, list[Visit]] = defaultdict(list)
        for v in visits:
            later = reached.get(v.record.number, 99) <= v.ply < end
            chosen = passes(v, filters) and in_dates(v.record, filters)
            if v.move and later and chosen and side in (None, "white" if v.white else "black"):
                replies[v.move].append(v)
        if replies:
            found[epd] = dict(replies)
    return found


def popular(positions: dict[str, Replies], least: int, others: int) -> dict[str, Replies]:
    """The positions where a reply has ``least`` games and the others together ``others``."""

    def is_popular(replies: Replies) -> bool:
        games = [len(visits) for visits in replies.values()]
        return any(n >= least and sum(games) - n >= others for n in games)

    return {epd: replies for epd, replies in positions.items() if is_popular(replies)}


@dataclass(frozen=True)
class Values:
    """Score and swing against what movers of that level and expected score do."""

    expectation: Expectation
    cuts: tuple[int, ...]
    visits: Sequence[Visit]

    def expected(self, visit: Visit) -> float | None:
        own, other = visit.ratings
        if own is None or other is None:
            return None
        return self.expectation.of(own - other, visit.white)

    def bare_over(self, visit: Visit) -> float | None:
        expected = self.expected(visit)
        return None if expected is None or visit.points is None else visit.points - expected

    def level(self, visit: Visit) -> int:
        levels = enumerate(bands(self.cuts))
        return next(number for number, level in levels if in_level(visit.ratings[0], level))

    def measured(self) -> tuple[dict[int, float], dict[int, float]]:
        """id of the visit -> score (swing) against the mean of such movers, to four places."""
        over = [(v, value) for v in self.visits if (value := self.bare_over(v)) is not None]
        left = left_by_level(
            [v.white for v, _ in over],
            [self.level(v) for v, _ in over],
            [1] * len(over),
            [value for _, value in over],
        )
        swung = [(v, MATED if v.mated else v.swing) for v in self.visits]
        known = [(v, swing) for v, swing in swung if swing is not None]
        places = (
            [v.ply for v, _ in known],
            [self.level(v) for v, _ in known],
            [0.5 if (e := self.expected(v)) is None else e for v, _ in known],
        )
        fit = fit_expected_swing(*places, [1] * len(known), [swing for _, swing in known])
        foreseen = fit.of(*places).tolist()
        return (
            {id(v): round(value - left[int(v.white), self.level(v)], 4) for v, value in over},
            {id(v): round(swing - e, 4) for (v, swing), e in zip(known, foreseen, strict=True)},
        )


def pairs_of(visits: Iterable[Visit], values: dict[int, float]) -> Pairs:
    """(player, value) of the games that have one."""
    return [(visit.mover, values[id(visit)]) for visit in visits if id(visit) in values]


def sample_of(pairs: Pairs) -> Sample:
    """The sums over them."""
    s = clustered(pairs)
    design = mean_design(s.total, s.n, s.squares, s.tt, s.tn, s.nn, s.clusters) if s.n else 1.0
    return Sample(s.total, s.n, s.squares, design, s.clusters, s.nn)


def most_of_one(visits: Iterable[Visit]) -> int:
    """The most games that one named player has."""
    return max(Counter(visit.mover for visit in visits if visit.named).values(), default=0)


def after(recount: Recount, visits: Sequence[Visit]) -> list[Visit]:
    """The visits one ply later in the same games that went on from there."""
    plies = {visit.record.number: visit.ply + 1 for visit in visits}
    if not visits or visits[0].move is None:
        return []
    board = chess.Board(f"{visits[0].epd} 0 1")
    board.push(visits[0].move)
    here = recount.at[board.epd()]
    return [v for v in here if v.move and plies.get(v.record.number) == v.ply]
