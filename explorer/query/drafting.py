"""A lesson that grows by one position at a time, with what is known of the games around it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import chess

from explorer.numbers.chain import Chain, Flow, flow
from explorer.numbers.growing import Growth, grow
from explorer.positions.position import Position
from explorer.query.draft_answers import Answers, Choice, Refusal
from explorer.query.lesson_shares import Shares, shares_at
from explorer.query.moves import unpack
from explorer.query.reach import After, after_each, first_turn_of, replies_of
from ingest.poskey import key_of


class Drafting:
    """The lesson so far, all by key.

    ``choices`` are the positions learnt, in order, ``refused`` those without an answer.
    ``boards`` has these, and the opponent's positions after the taught moves; of the latter
    ``after`` and ``shares`` say what each reply leads to, and how often it is played.
    """

    def __init__(
        self, start: Position, side: str, answers: Answers, to_move: int, min_games: int
    ) -> None:
        """Nothing is taught yet."""
        self.start, self.to_move, self.min_games = start, to_move, min_games
        self.answers = answers
        self.chain = Chain(start.key, start.to_move == side, first_turn_of(start, side))
        self.boards = {start.key: start.board()}
        self.choices: dict[int, Choice] = {}
        self.refused: dict[int, Refusal] = {}
        self.after: dict[int, After] = {}
        self.shares: dict[int, Shares] = {}
        self.given: list[int] = []
        self._before: dict[int, tuple[int, int]] = {}  # position -> a place before it, the reply

    def teach_start(self, moves: Mapping[int, chess.Move]) -> None:
        """Teach what the teacher gives: the student's moves on the line to the start, by key."""
        board = chess.Board()
        for move in self.start.board().move_stack:
            key = key_of(board)
            if key in moves and key not in self.choices:
                self.boards.setdefault(key, board.copy(stack=False))
                self._learn(key, self.answers.given(board, key, move))
                self.given.append(key)
            board.push(move)

    def grow(self, positions: int, least: float) -> Growth:
        """Learn on, up to ``positions`` in all, none that fewer than ``least`` of the games
        come to."""
        return grow(self.chain, self.run, self.teach, positions - len(self.choices), least)

    def run(self) -> Flow:
        """Let games run through the lesson, and ask what opponents play wherever they come to."""
        while True:
            found = flow(self.chain, self.to_move)
            if not (new := self._unasked(found)):
                return found
            self._ask(new)

    def _unasked(self, run: Flow) -> list[int]:
        chain = self.chain
        if not chain.students_turn and chain.start not in self.after:
            return [chain.start]
        places = (
            chain.taught[position]
            for turn, parts in run.met.items()
            for position in parts
            if turn < self.to_move and position in chain.taught
        )
        return [place for place in dict.fromkeys(places) if place not in self.after]

    def _ask(self, places: Sequence[int]) -> None:
        found = shares_at(
            self.answers.cursor, self.answers.facts, places, self.answers.filters, self.min_games
        )
        for place in places:
            after, shares = after_each(self.boards[place]), found[place]
            self.after[place], self.shares[place] = after, shares
            if after:  # else it is mate or stalemate
                enough = shares.games >= self.min_games
                self.chain.replies[place] = replies_of(after, shares) if enough else {}
            for move in shares.replies:
                self._before.setdefault(after[move], (place, move))

    def teach(self, position: int) -> bool:
        """Teach the answer to a position that games come to; False when there is none."""
        if position not in self.boards:
            place, move = self._before[position]
            board = self.boards[place].copy(stack=False)
            board.push(unpack(move))
            self.boards[position] = board
        board = self.boards[position]
        if not any(board.legal_moves):  # the student is mated
            return False
        match self.answers.to(board, position):
            case Refusal() as refusal:
                self.refused[position] = refusal
                return False
            case Choice() as choice:
                self._learn(position, choice)
        return True

    def _learn(self, position: int, choice: Choice) -> None:
        board = self.boards[position].copy(stack=False)
        board.push(choice.move)
        self.choices[position] = choice
        place = self.chain.taught[position] = key_of(board)
        self.boards.setdefault(place, board)
        if board.is_checkmate():
            self.chain.won.add(place)
