"""A draft as lines: by which line a position is shown, and what the lesson's file says in order.

A position that several lines come to is shown once, by the line that comes there at the earliest
turn, of these the most frequent one; the others end where they meet it, and name it.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import chess
import chess.pgn

from explorer.numbers.chain import Flow, Masses
from explorer.positions.position import numbered
from explorer.query.draft_model import DraftMove
from explorer.query.drafting import Drafting
from explorer.query.moves import pack, unpack
from ingest.poskey import key_of

Sans = tuple[str, ...]


@dataclass(slots=True)
class Way:
    """A move by which games come to a position: ``part`` of all, first at the student's ``turn``
    (of a reply: the coming one)."""

    before: int
    to: int
    move: chess.Move
    turn: int
    part: float = 0.0


def ways_of(drafting: Drafting, run: Flow) -> list[Way]:
    """The moves between the positions of a draft, those without an answer included; those that
    come first and most often lead."""
    chain, shown = drafting.chain, drafting.chain.taught.keys() | drafting.refused.keys()
    found: dict[tuple[int, int], Way] = {}

    def add(before: int, to: int, move: chess.Move, turn: int, part: float) -> None:
        found.setdefault((before, to), Way(before, to, move, turn)).part += part

    places: dict[int, Masses] = defaultdict(lambda: defaultdict(float))
    if not chain.students_turn:
        places[chain.first_turn][chain.start] = 1.0
    for turn, parts in run.met.items():
        for position in parts.keys() & chain.taught.keys():
            place, part = chain.taught[position], parts[position]
            add(position, place, drafting.choices[position].move, turn, part)
            places[turn + 1][place] += part
    for turn, parts in places.items():
        for place, part in parts.items():
            replies = chain.replies.get(place, {})
            for move, to in drafting.after.get(place, {}).items():
                if to in shown and to in replies:
                    add(place, to, unpack(move), turn, part * replies[to])
    return sorted(found.values(), key=lambda way: (way.turn, -way.part, way.before, way.to))


class Lines:
    """The lines of a draft. ``least``: the part of all games that must come by a way to a
    position shown elsewhere, for the file to have it."""

    def __init__(self, drafting: Drafting, run: Flow, least: float) -> None:
        """Choose the line by which each position is shown: its home."""
        self.drafting, self.run, self.least = drafting, run, least
        self.steps = {key: step for step, key in enumerate(drafting.choices, start=1)}
        self.ways: dict[int, list[Way]] = defaultdict(list)
        self.home: dict[int, Way | None] = {}
        self.sans: dict[int, Sans] = {}
        self._show_start()
        for way in ways_of(drafting, run):
            self.home.setdefault(way.to, way)
            if way.to not in drafting.refused:
                self.ways[way.before].append(way)

    def _show_start(self) -> None:
        """The positions on the line to the start are at home there."""
        board, sans = chess.Board(), list(self.drafting.start.sans)
        for ply, move in enumerate(self.drafting.start.board().move_stack):
            self._at_home(key_of(board), sans[:ply])
            board.push(move)
        self._at_home(key_of(board), sans)

    def _at_home(self, key: int, sans: Sequence[str]) -> None:
        self.home.setdefault(key, None)
        self.sans.setdefault(key, tuple(sans))

    def sans_to(self, key: int) -> Sans:
        """The line to a position, in SAN."""
        if key not in self.sans:
            way = self.home[key]
            assert way is not None
            san = self.drafting.boards[way.before].san(way.move)
            self.sans[key] = (*self.sans_to(way.before), san)
        return self.sans[key]

    def line_to(self, key: int) -> str:
        """The same with move numbers."""
        return numbered(self.sans_to(key))

    def moves(self) -> Iterator[DraftMove]:
        """The moves as the file has them: the line to the start, and what goes on from there."""
        start, board = self.drafting.start, chess.Board()
        for ply, move in enumerate(start.board().move_stack):
            key = key_of(board)
            given = board.turn == self._students_turn and key in self.steps
            step = self.steps[key] if given else None
            yield DraftMove(ply, board.san(move), move.uci(), step)
            board.push(move)
        yield from self._from(start.key, len(start.ucis))

    @property
    def _students_turn(self) -> chess.Color:
        drafting = self.drafting
        return drafting.start.board().turn == drafting.chain.students_turn

    def _from(self, key: int, ply: int) -> Iterator[DraftMove]:
        """What goes on from a position: the taught move, or the replies, commonest first."""
        for way in sorted(self.ways.get(key, ()), key=lambda way: -way.part):
            here = self.home[way.to] is way
            if here or way.part >= self.least or key in self.steps:
                yield self._move(way, ply, here)
                if here:
                    yield from self._from(way.to, ply + 1)

    def _move(self, way: Way, ply: int, here: bool) -> DraftMove:
        san = self.drafting.boards[way.before].san(way.move)
        goes_on = not here and bool(self.ways.get(way.to))
        same_as = self.line_to(way.to) if goes_on else None
        if step := self.steps.get(way.before):
            return DraftMove(ply, san, way.move.uci(), step, same_as=same_as)
        shares = self.drafting.shares[way.before]
        return DraftMove(
            ply,
            san,
            way.move.uci(),
            games=shares.replies[pack(way.move)],
            of=shares.games,
            in_100=100 * (self.run.reach(way.to) if here else way.part),
            borrowed=shares.borrowed,
            same_as=same_as,
        )


def game_of(moves: Sequence[DraftMove]) -> tuple[chess.pgn.Game, list[chess.pgn.ChildNode]]:
    """The game with variations that the moves make, and the node of each move."""
    game = chess.pgn.Game()
    path: list[chess.pgn.GameNode] = [game]
    nodes = []
    for move in moves:
        node = path[move.ply].add_variation(chess.Move.from_uci(move.uci))
        path[move.ply + 1 :] = [node]
        nodes.append(node)
    return game, nodes
