"""Random lessons, and a slow recount of what they answer: move by move, with python-chess.

A position is its EPD; the shares come from `recount`. Nothing here shares code with the
queries.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import dataclass, field, replace
from random import Random

import chess
import chess.pgn

from explorer.query.filters import Filters
from ingest.levels import bands
from tests.support.random_world import World
from tests.support.recount import Recount, Visit, in_level

KINDS = ("answer", "won", "ended", "unanswered", "too_few")


def random_lesson(world: World, side: str, depth: int = 5) -> chess.pgn.Game:
    """A lesson along moves that games show, and now and then one that none does."""
    game = chess.pgn.Game()
    _grow(world, world.random, game, side == "white", depth)
    return game


def _grow(world: World, draw: Random, node: chess.pgn.GameNode, white: bool, depth: int) -> None:
    board = node.board()
    played = [v.move for v in world.recount.chosen(board, Filters()) if v.move]
    moves = sorted({*played, *draw.sample([*board.legal_moves], min(1, board.legal_moves.count()))},
                   key=chess.Move.uci)  # fmt: skip
    students = board.turn == white
    if not moves or not depth or (students and draw.random() < 0.1):
        return
    wanted = 1 if students else draw.choice((0, 1, 2, 2, 3))
    for move in [draw.choice(played or moves)] if students else draw.sample(
        moves, min(wanted, len(moves))
    ):  # fmt: skip
        _grow(world, draw, node.add_variation(move), white, depth - students)


@dataclass
class Slow:
    """A lesson, the shares of some level, and where games stand: by recursion."""

    recount: Recount
    white: bool
    filters: Filters
    min_games: int
    taught: dict[str, chess.Move] = field(default_factory=dict)
    listed: defaultdict[str, set[str]] = field(default_factory=lambda: defaultdict(set))
    known: set[str] = field(default_factory=set)
    asked: dict[str, tuple[list[Visit], bool]] = field(default_factory=dict)
    next: dict[str, str | list[chess.Board]] = field(default_factory=dict)

    def read(self, node: chess.pgn.GameNode) -> None:
        """Follow the lesson along what is taught; the first way to a position decides."""
        board = node.board()
        here = board.epd()
        self.known.add(here)
        if board.turn != self.white:
            for child in node.variations:
                self.listed[here].add(child.move.uci())
                self.read(child)
        elif node.variations:
            child = node.variations[0]
            if self.taught.setdefault(here, child.move) == child.move:
                self.read(child)

    def games(self, board: chess.Board) -> tuple[list[Visit], bool]:
        """The games that went on from an opponent's position, and whether some are borrowed."""
        if board.epd() not in self.asked:
            self.asked[board.epd()] = self._games(board)
        return self.asked[board.epd()]

    def _games(self, board: chess.Board) -> tuple[list[Visit], bool]:
        anyone = replace(self.filters, levels=())
        every = [v for v in self.recount.chosen(board, anyone) if v.move]
        found = every
        for step in range(len(self.filters.cuts) + 2):
            found = [v for v in every if self._near(v.ratings[0], step)]
            if len(found) >= self.min_games or not self.filters.levels:
                return found, step > 0
        return found, True

    def _near(self, rating: int | None, step: int) -> bool:
        levels, every = self.filters.levels, bands(self.filters.cuts)
        if not levels or any(in_level(rating, level) for level in levels):
            return True
        if rating is None or not step:
            return False
        own = [
            number
            for number, band in enumerate(every[:-1])
            for level in levels
            if level.rated
            if (level.low or 0) <= (band.high or 9999) and (band.low or 0) <= (level.high or 9999)
        ]
        (here,) = (number for number, band in enumerate(every) if in_level(rating, band))
        return any(abs(here - number) <= step for number in own)

    def answers_at(self, board: chess.Board) -> bool:
        """Whether the lesson answers a reply here."""
        return bool(self.listed[board.epd()]) or any(
            _after(board, move).epd() in self.taught for move in board.legal_moves
        )

    def states(self, board: chess.Board, turns: int) -> Counter[str]:
        """The five states ``turns`` of the student's turns after this one (0: at this one)."""
        epd = board.epd()
        if board.turn == self.white:
            if epd not in self.taught:
                return Counter({"ended" if epd in self.known else "unanswered": 1.0})
            if not turns:
                return Counter({"answer": 1.0})
            return self._opponents(_after(board, self.taught[epd]), turns - 1)
        return self._opponents(board, turns)

    def _opponents(self, board: chess.Board, turns: int) -> Counter[str]:
        if board.is_checkmate():
            return Counter({"won": 1.0})
        if not self.answers_at(board):
            return Counter({"ended": 1.0})
        games, _ = self.games(board)
        if len(games) < self.min_games:
            return Counter({"too_few": 1.0})
        found: Counter[str] = Counter()
        for move, count in Counter(v.move for v in games).items():
            assert move is not None
            for kind, part in self.states(_after(board, move), turns).items():
                found[kind] += part * count / len(games)
        return found

    def play(self, draw: Random, board: chess.Board, turns: int) -> list[str]:
        """One simulated game: the state at each of the student's turns."""
        told: list[str] = []
        while len(told) <= turns:
            following = self._following(board)
            if isinstance(following, str):
                return [*told, *[following] * (turns + 1)]
            if board.turn == self.white:
                told.append("answer")
            board = draw.choice(following)
        return told

    def _following(self, board: chess.Board) -> str | list[chess.Board]:
        """What may come next, once for each game; or the state in which games stay."""
        epd = board.epd()
        if epd not in self.next:
            self.next[epd] = self._next(board, epd)
        return self.next[epd]

    def _next(self, board: chess.Board, epd: str) -> str | list[chess.Board]:
        if board.turn == self.white:
            if epd in self.taught:
                return [_after(board, self.taught[epd])]
            return "ended" if epd in self.known else "unanswered"
        if board.is_checkmate():
            return "won"
        if not self.answers_at(board):
            return "ended"
        games, _ = self.games(board)
        if len(games) < self.min_games:
            return "too_few"
        after = {v.move: _after(board, v.move) for v in games if v.move}
        return [after[v.move] for v in games if v.move]


def _after(board: chess.Board, move: chess.Move) -> chess.Board:
    after = board.copy(stack=False)
    after.push(move)
    return after
