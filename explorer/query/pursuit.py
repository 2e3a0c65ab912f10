"""The games in which a mistake was made, followed move by move along a punishing line.

A chance is a first visit, as everywhere: a game that had been in a position of the line
before it got there by the line is not followed further.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import chess
import numpy as np
from duckdb import DuckDBPyConnection

from explorer.numbers.intervals import mean_interval
from explorer.positions.moves import play
from explorer.positions.position import Position
from explorer.query.filters import Filters
from explorer.query.groups import sums_of
from explorer.query.library import Facts
from explorer.query.model import FEW_GAMES, FEW_PLAYERS
from explorer.query.moves import pack, unpack
from explorer.query.visits import Flags, Visits, visits_at
from explorer.query.where import where
from ingest.errors import PositionError, UsageError


@dataclass(frozen=True, slots=True)
class Answers:
    """What the other side answered at a position; ``named`` is the packed move that leads on."""

    board: chess.Board
    visits: Visits
    named: int


@dataclass(frozen=True, slots=True)
class Chance:
    """One move of the punishing side, with its number ("3." or "4...").

    ``visits`` are the games that had the chance and went on, ``found`` marks
    those in which it was taken; ``answers`` are those to the move before it, if any.
    """

    san: str
    number: str
    visits: Visits
    found: Flags
    answers: Answers | None


class Pursuit:
    """The games in which the mistake that ``line`` ends with was made, from there on.

    ``here`` are their visits right after it, ``other_ways`` counts the chosen games
    that come to the same position otherwise.
    """

    def __init__(
        self,
        cursor: DuckDBPyConnection,
        facts: Facts,
        line: Position,
        made: Visits,
        filters: Filters,
    ) -> None:
        """``made`` are the visits before the mistake in which it was made."""
        self.cursor, self.facts, self.line = cursor, facts, line
        self.curve = facts.curve(line.to_move)
        # A game that passes the filters before the mistake passes these after it.
        every = visits_at(cursor, line, where(cursor, facts, filters, opponent_moves=True))
        self.here = every.right_after(made)
        self.other_ways = len(every) - len(self.here)

    def typed(self, punish: Sequence[str]) -> list[chess.Move]:
        """The moves of a punishing line; PositionError or UsageError when it is none."""
        text, board = " ".join(punish), self.line.board()
        try:
            play(board, text)
        except PositionError as error:
            raise PositionError(f"--punish: {error}") from error
        moves = board.move_stack[len(self.line.ucis) :]
        if not len(moves) % 2:
            raise UsageError(
                f"--punish {text!r}: a punishing line begins and ends with a move of "
                "the side that punishes; write for example 'Nxe5 fxe5 Qh5+'"
            )
        if self.line.from_normal_start and len(board.move_stack) > self.facts.plies:
            raise UsageError(
                f"--punish {text!r}: the library keeps the first {self.facts.plies // 2} moves of "
                "a game, and this goes beyond; leave out its last moves"
            )
        return moves

    def mate(self) -> chess.Move | None:
        """A reply that mates; of several the commonest."""
        played, board = Counter(self.here.move.tolist()), self.line.board()
        mates = [move for move in board.legal_moves if _mates(board, move)]
        return max(mates, key=lambda move: (played[pack(move)], move.uci()), default=None)

    def best(self) -> chess.Move | None:
        """The reply with the best lower bound against expectation of those with enough games."""
        moves = [move for move in np.unique(self.here.move).tolist() if move]
        bounds = {move: bound for move in moves if (bound := self._bound(move)) is not None}
        return unpack(max(bounds, key=lambda move: bounds[move])) if bounds else None

    def _bound(self, move: int) -> float | None:
        games = self.here.only(self.here.move == move)
        compared, over = games.over(self.curve)
        sums = sums_of(games.person[compared], over)
        if sums.n < FEW_GAMES or sums.clusters < FEW_PLAYERS:
            return None
        interval = mean_interval(sums.total, sums.n, sums.squares, sums.design)
        return interval and interval.low

    def follow(self, moves: Sequence[chess.Move]) -> list[Chance]:
        """The steps of the punishing side, each among the games that came so far."""
        at, here, answers = self.line, self.here, None
        chances: list[Chance] = []
        for move, answer in zip(moves[::2], [*moves[1::2], None], strict=True):
            board, visits = at.board(), here.went_on
            found = visits.move == pack(move)
            number = f"{board.fullmove_number}{'.' if board.turn else '...'}"
            chances.append(Chance(board.san(move), number, visits, found, answers))
            if answer is not None:
                at = at.after(move)
                replies = visits_at(self.cursor, at).right_after(visits.only(found)).went_on
                answers = Answers(at.board(), replies, pack(answer))
                at = at.after(answer)
                led_on = replies.only(replies.move == answers.named)
                here = visits_at(self.cursor, at).right_after(led_on)
        return chances


def _mates(board: chess.Board, move: chess.Move) -> bool:
    board.push(move)
    mate = board.is_checkmate()
    board.pop()
    return mate
