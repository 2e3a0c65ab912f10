"""What costs a student most: moves that score below the level's better reply."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from explorer.numbers.discovery import POINTS
from explorer.numbers.trend import SIGNIFICANT
from explorer.numbers.welch import alike, welch
from explorer.positions.names import name_of_key
from explorer.query.favoured import enough, favoured_row
from explorer.query.groups import by_enough
from explorer.query.lesson_model import Favoured
from explorer.query.mistake_model import Difference
from explorer.query.model import FEW_GAMES
from explorer.query.moves import unpack
from explorer.query.student_games import OwnGames
from explorer.query.student_lines import Lines, Stop
from explorer.query.student_model import Cost, Costs
from explorer.query.student_numbers import LEAST_CASES, adjusted, own_rate, run_since
from explorer.query.student_others import At
from explorer.query.student_plays import LEAST_VISITS, Node, Tree
from explorer.query.sums import Sums
from explorer.query.sums import at as part_of


def costs_of(games: OwnGames, trees: Sequence[Tree], lines: Lines, others: At, level: str) -> Costs:
    """The moves that cost, the most costly first; ``others`` say what scores how.

    Looked at are moves played LEAST_CASES times in positions met LEAST_VISITS times, by a
    student with FEW_GAMES games of the colour. Claimed is what the tests, all together, show.
    """
    nodes = {node.key: node for tree in trees for node in tree.nodes}
    every = [
        move
        for node in nodes.values()
        for move in _moves(games, node, lines.at(node.moves), others, level)
    ]
    ps = adjusted([move.p for move in every])
    found = [
        move.told(p) for move, p in zip(every, ps, strict=True) if p is not None and move.costs(p)
    ]
    return Costs(
        at_least=LEAST_VISITS,
        positions=len(nodes),
        tested=sum(p is not None for p in ps),
        found=tuple(sorted(found, key=lambda one: (-one.lost, one.line, one.san))),
    )


def _moves(games: OwnGames, node: Node, stop: Stop, others: At, level: str) -> Iterator[_Move]:
    """The student's moves in a position that can be compared with the favoured one."""
    of_colour = int(games.of(stop.side).sum())
    row = favoured_row(others.sums, others.here(node.key))
    if row is None or of_colour < FEW_GAMES:
        return
    can = enough(others.sums)
    moves = games.visits.choices.move[node.rows]
    for packed in np.unique(moves).tolist():
        own = others.row(node.key, packed)
        often = np.count_nonzero(moves == packed) >= LEAST_CASES
        if often and own is not None and own != row and can[own]:
            yield _Move(games, node, stop, others.sums, packed, (row, own), of_colour, level)


@dataclass(frozen=True, eq=False)
class _Move:
    """One move; ``rows`` are those of the favoured move and of this one among the others'."""

    games: OwnGames
    node: Node
    stop: Stop
    sums: Sums
    packed: int
    rows: tuple[int, int]
    of_colour: int
    level: str

    @cached_property
    def difference(self) -> Difference:
        """Favoured less this one; p is one-sided."""
        better, own = (part_of(self.sums.results.reply, row) for row in self.rows)
        test = welch(*alike(own, better), POINTS)
        value, low, high = (-float(part) for part in (test.difference, test.high, test.low))
        games, own_games = (int(np.asarray(part.n)) for part in (better, own))
        players, own_players = (int(np.asarray(part.clusters)) for part in (better, own))
        p = float(test.p_less)
        return by_enough(Difference(value, low, high, games, own_games, p, players, own_players))

    @property
    def p(self) -> float | None:
        return self.difference.p

    def costs(self, p: float) -> bool:
        """Whether the tests say so."""
        return p < SIGNIFICANT and (self.difference.value or 0.0) > 0

    def told(self, p: float) -> Cost:
        visits = self.games.visits.choices.only(self.node.rows)
        wrong = visits.move == self.packed
        times = int(wrong.sum())
        last, since, over = run_since(self.games.day[visits.game], wrong)
        found = replace(self.difference, p=p)
        lost, low, high = (
            None if part is None else 100 * part * times / self.of_colour
            for part in (found.value, found.low, found.high)
        )
        return Cost(
            side=self.stop.side,
            line=self.stop.line,
            fen=self.stop.fen,
            key=self.stop.hex,
            name=name_of_key(self.stop.key),
            move=self.stop.number,
            san=self.stop.san(self.packed),
            uci=unpack(self.packed).uci(),
            own=own_rate(times, len(visits)),
            games=self.of_colour,
            last=last,
            since_then=since,
            over=over,
            favoured=self._favoured(),
            difference=found,
            lost=lost or 0.0,
            lost_low=low,
            lost_high=high,
        )

    def _favoured(self) -> Favoured:
        row, sums = self.rows[0], self.sums
        move = int(sums.move[row])
        return Favoured(
            san=self.stop.san(move),
            uci=unpack(move).uci(),
            games=int(sums.games[row]),
            players=int(sums.players[row]),
            share=float(sums.games[row] / sums.went_on[row]),
            over_expected=sums.mean(row),
            level=self.level,
        )
