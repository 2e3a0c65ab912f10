"""Lines of moves from the normal start: each beginning is played once."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import chess

from explorer.positions.position import fen_of, numbered
from explorer.query.moves import key_after, unpack
from ingest.poskey import format_key, key_of

Moves = tuple[int, ...]  # packed


@dataclass(frozen=True)
class Stop:
    """The position at the end of a line."""

    board: chess.Board
    key: int
    sans: tuple[str, ...]

    @cached_property
    def line(self) -> str:
        """``1. e4 e5 2. Nf3``; empty at the start."""
        return numbered(self.sans)

    @cached_property
    def fen(self) -> str:
        """As everywhere without counters."""
        return fen_of(self.board)

    @property
    def hex(self) -> str:
        """The key as answers carry it."""
        return format_key(self.key)

    @property
    def side(self) -> str:
        """Who is to move: ``white`` or ``black``."""
        return "white" if self.board.turn else "black"

    @property
    def number(self) -> int:
        """The number of the move to come."""
        return len(self.sans) // 2 + 1

    def san(self, packed: int) -> str:
        """A move in SAN."""
        return self.board.san(unpack(packed))

    def after(self, packed: int) -> int:
        """The key of the position after a move."""
        return key_after(self.board, unpack(packed))


class Lines:
    """Positions by the moves that lead to them."""

    def __init__(self) -> None:
        """Knows the start."""
        board = chess.Board()
        self._stops: dict[Moves, Stop] = {(): Stop(board, key_of(board), ())}

    def at(self, moves: Moves) -> Stop:
        """The position after packed moves from the normal start."""
        known = len(moves)
        while moves[:known] not in self._stops:
            known -= 1
        for end in range(known + 1, len(moves) + 1):
            before, move = self._stops[moves[: end - 1]], unpack(moves[end - 1])
            board = before.board.copy(stack=False)
            board.push(move)
            sans = (*before.sans, before.board.san(move))
            self._stops[moves[:end]] = Stop(board, key_of(board), sans)
        return self._stops[moves]
