"""What a student plays: the tree of the student's own moves, beside the others of the level."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import chess
import numpy as np

from explorer.numbers.discovery import POINTS
from explorer.numbers.fisher import fisher
from explorer.numbers.trend import SIGNIFICANT
from explorer.numbers.welch import not_zero
from explorer.positions.names import name_of_key
from explorer.query.groups import Counted
from explorer.query.model import FEW_GAMES
from explorer.query.moves import pack, unpack
from explorer.query.student_games import OwnGames, OwnVisits
from explorer.query.student_lines import Lines, Stop
from explorer.query.student_numbers import (
    adjusted,
    beside,
    day_of,
    own_rate,
    results_of,
    sample,
)
from explorer.query.student_others import At, enough
from explorer.query.student_parts import Choice, OwnMove, OwnTree
from explorer.query.visits import Flags, Ints
from explorer.query.where import COLOURS
from ingest.poskey import format_key

LEAST_VISITS = 3  # a position met less often is not in the tree
LEAST_TESTED = 5  # fewer games cannot show a difference, and only weaken the other tests
MOVES = 1 << 16


@dataclass(frozen=True, slots=True)
class Node:
    """A position of a tree: the commonest way to it, and the visits (rows of `choices`)."""

    key: int
    moves: tuple[int, ...]
    rows: Ints
    parent: int | None
    depth: int


@dataclass(frozen=True, eq=False)
class Tree:
    """The positions of one tree that were met LEAST_VISITS times, depth first."""

    side: str
    against: int | None
    games: Flags
    nodes: tuple[Node, ...]


def trees_of(games: OwnGames, lines: Lines) -> tuple[Tree, ...]:
    """As White, then as Black against each first move, the commonest first."""
    prefixes = _Prefixes(games)
    white = games.of(COLOURS[0]) & (games.plies > 0)
    trees = [_tree(games, prefixes, lines, COLOURS[0], None, white)] if white.any() else []
    black = games.of(COLOURS[1]) & (games.plies > 1)
    firsts, counts = np.unique(games.moves[black, 0], return_counts=True)
    for place in np.argsort(-counts, kind="stable").tolist():
        those = black & (games.moves[:, 0] == firsts[place])
        trees.append(_tree(games, prefixes, lines, COLOURS[1], int(firsts[place]), those))
    return tuple(trees)


class _Prefixes:
    """Numbers for the beginnings of games: equal for equal moves up to a ply."""

    def __init__(self, games: OwnGames) -> None:
        self.moves = games.moves
        plies = int(games.visits.ply.max(initial=0)) + 1
        column = np.zeros(len(games), np.int64)
        self.number = [column]
        for ply in range(min(plies, games.moves.shape[1])):
            pairs = column * MOVES + games.moves[:, ply]
            column = np.unique(pairs, return_inverse=True)[1].reshape(-1)
            self.number.append(column)

    def commonest(self, visits: OwnVisits, rows: Ints) -> tuple[int, ...]:
        """The moves by which most of the visits came there; of equals the shortest and first."""
        plies, games = visits.ply[rows], visits.game[rows]
        numbers = np.array(
            [
                self.number[ply][game]
                for ply, game in zip(plies.tolist(), games.tolist(), strict=True)
            ]
        )
        ways, first, counts = np.unique(
            np.stack([plies, numbers]), axis=1, return_index=True, return_counts=True
        )
        place = min(range(len(counts)), key=lambda i: (-counts[i], ways[0, i], ways[1, i]))
        row = first[place]
        return tuple(self.moves[games[row], : plies[row]].tolist())


def _tree(
    games: OwnGames,
    prefixes: _Prefixes,
    lines: Lines,
    side: str,
    against: int | None,
    those: Flags,
) -> Tree:
    visits = games.visits.choices
    here = np.flatnonzero(those[visits.game])
    here = here[np.argsort(visits.key[here], kind="stable")]
    keys, starts, counts = np.unique(visits.key[here], return_index=True, return_counts=True)
    kept = np.flatnonzero(counts >= LEAST_VISITS).tolist()
    rows = {int(keys[i]): here[starts[i] : starts[i] + counts[i]] for i in kept}
    ways = {key: prefixes.commonest(visits, among) for key, among in rows.items()}
    parents = {key: _parent(lines, moves, ways) for key, moves in ways.items()}
    children: dict[int | None, list[int]] = {}
    for key in sorted(rows, key=lambda key: (-len(rows[key]), ways[key])):
        children.setdefault(parents[key], []).append(key)
    nodes = []
    todo = [(key, 0) for key in reversed(children.get(None, []))]
    while todo:
        key, depth = todo.pop()
        nodes.append(Node(key, ways[key], rows[key], parents[key], depth))
        todo += [(child, depth + 1) for child in reversed(children.get(key, []))]
    return Tree(side, against, those, tuple(nodes))


def _parent(
    lines: Lines, moves: tuple[int, ...], ways: Mapping[int, tuple[int, ...]]
) -> int | None:
    """The last position on the way that is in the tree too, and comes earlier in it."""
    for end in range(len(moves) - 1, -1, -1):
        key = lines.at(moves[:end]).key
        if key in ways and len(ways[key]) < len(moves):
            return key
    return None


def own_trees(
    games: OwnGames, trees: Sequence[Tree], lines: Lines, others: At
) -> tuple[OwnTree, ...]:
    """The trees with what is said of each position; the tests allow for all of them together.

    Nothing is tested of a student with fewer than FEW_GAMES games of the colour.
    """
    drafts = [
        [_Draft(games, node, lines.at(node.moves), others) for node in tree.nodes] for tree in trees
    ]
    every = [draft for tree in drafts for draft in tree]
    claims = {side: int(games.of(side).sum()) >= FEW_GAMES for side in COLOURS}
    apart = adjusted([draft.test if claims[draft.stop.side] else None for draft in every])
    told = [
        move if claims[draft.stop.side] else replace(move, p=None)
        for draft in every
        for move in draft.moves
    ]
    judged = iter(
        _judged(move, p) for move, p in zip(told, adjusted([move.p for move in told]), strict=True)
    )
    ps = iter(apart)
    return tuple(
        OwnTree(
            side=tree.side,
            against=None if tree.against is None else lines.at(()).san(tree.against),
            games=int(tree.games.sum()),
            results=results_of(tree.side, games.points[tree.games], games.over[tree.games]),
            choices=tuple(draft.choice(next(ps), judged) for draft in drafted),
        )
        for tree, drafted in zip(trees, drafts, strict=True)
    )


def _judged(move: OwnMove, p: float | None) -> OwnMove:
    value = move.results.over_expected.value
    if p is None or p >= SIGNIFICANT or value is None:
        return replace(move, p=p)
    return replace(move, p=p, stands_out="above" if value > 0 else "below")


@dataclass(frozen=True, eq=False)
class _Draft:
    """One position of a tree before the tests are known."""

    games: OwnGames
    node: Node
    stop: Stop
    others: At

    @cached_property
    def moves(self) -> list[OwnMove]:
        """Every move chosen, the commonest first."""
        visits = self.games.visits.choices.only(self.node.rows)
        packed, counts = np.unique(visits.move, return_counts=True)
        order = np.argsort(-counts, kind="stable")
        return [self._move(int(packed[i]), visits, int(counts[i])) for i in order.tolist()]

    def _move(self, packed: int, visits: OwnVisits, count: int) -> OwnMove:
        rows = visits.game[visits.move == packed]
        points, over = self.games.points[rows], self.games.over[rows]
        known = over[~np.isnan(over)]
        p = None if len(known) < FEW_GAMES else float(not_zero(sample(known), POINTS))
        after = self.stop.after(packed)
        return OwnMove(
            san=self.stop.san(packed),
            uci=unpack(packed).uci(),
            to=format_key(after),
            name=name_of_key(after),
            own=own_rate(count, len(visits)),
            others=self.others.rate(self.node.key, packed).rate,
            results=results_of("all", points, over),
            p=p,
            stands_out="",
            last=day_of(int(self.games.day[rows].max())),
        )

    @cached_property
    def beside(self) -> Counted:
        """How often the others play the commonest move."""
        return self.others.rate(self.node.key, pack(chess.Move.from_uci(self.moves[0].uci)))

    @property
    def test(self) -> float | None:
        """Whether the student and the others choose it alike; the others count by the number of
        players that they are worth."""
        own = self.moves[0].own
        if own.games < LEAST_TESTED or not enough(self.beside):
            return None
        k, n, design = self.beside.factor
        size = int(n / design)
        return fisher(own.cases, own.games, round(k / n * size), size)

    def choice(self, p: float | None, judged: Iterator[OwnMove]) -> Choice:
        first, stop = self.moves[0], self.stop
        commonest = self.others.commonest(self.node.key)
        parent = self.node.parent
        return Choice(
            line=stop.line,
            fen=stop.fen,
            key=stop.hex,
            name=name_of_key(stop.key),
            move=stop.number,
            depth=self.node.depth,
            parent=None if parent is None else format_key(parent),
            games=first.own.games,
            others_games=first.others.games,
            others_players=first.others.players,
            others_first=None if commonest is None else stop.san(commonest),
            moves=tuple(next(judged) for _ in self.moves),
            difference=beside(first.own, self.beside, p),
            differs=p is not None and p < SIGNIFICANT,
        )
