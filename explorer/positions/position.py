"""A position and, when it is known, the line that leads to it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import chess

from explorer.positions.names import name_along, name_of_key
from ingest.poskey import key_of


def fen_of(board: chess.Board) -> str:
    """The position alone as FEN: *en passant* only when legal, counters ``0 1``.

    Without the counters every move order of a position gives the same text.
    """
    return f"{board.epd()} 0 1"


def first_ply(start_fen: str | None = None) -> int:
    """The ply, from 0, of the first move after a FEN with its counters (None: the normal start)."""
    fields = (start_fen or chess.STARTING_FEN).split()
    return 2 * (int(fields[5]) - 1 if len(fields) > 5 else 0) + (fields[1] == "b")


def numbered(sans: Sequence[str], start_fen: str | None = None) -> str:
    """SAN moves with their numbers: ``1. e4 e5 2. Nf3``; empty for no moves.

    ``start_fen`` (None: the normal start) gives the side and number to begin
    with: ``7... Kf8 8. O-O``.
    """
    ply = first_ply(start_fen)
    words = []
    for index, san in enumerate(sans):
        number, black = divmod(ply + index, 2)
        if not black:
            words.append(f"{number + 1}.")
        elif not index:
            words.append(f"{number + 1}...")
        words.append(san)
    return " ".join(words)


@dataclass(frozen=True)
class Position:
    """One position.

    ``start`` is the full FEN (with its counters) from which ``ucis`` were
    played; ``sans`` are the same moves in SAN. Both are empty when no moves
    are known. ``fen`` is that of `fen_of`, ``key`` that of `ingest.poskey`.
    """

    fen: str
    key: int
    start: str = chess.STARTING_FEN
    ucis: tuple[str, ...] = ()
    sans: tuple[str, ...] = ()

    def board(self) -> chess.Board:
        """A fresh board with the known moves on its stack."""
        board = chess.Board(self.start)
        for uci in self.ucis:
            board.push(chess.Move.from_uci(uci))
        return board

    def after(self, move: chess.Move | str) -> Position:
        """The position after a legal move (a string is UCI).

        ValueError when the move is not legal here.
        """
        board = self.board()
        if isinstance(move, str):
            move = board.parse_uci(move)
        elif not board.is_legal(move):
            raise ValueError(f"{move.uci()} is not legal in {self.fen}")
        san = board.san_and_push(move)
        return replace(
            self,
            fen=fen_of(board),
            key=key_of(board),
            ucis=(*self.ucis, move.uci()),
            sans=(*self.sans, san),
        )

    @property
    def from_normal_start(self) -> bool:
        """Whether the line begins at the normal starting position."""
        return self.start == chess.STARTING_FEN

    @property
    def numbered(self) -> str:
        """The line with move numbers, ``1. e4 e5 2. Nf3``; empty without moves."""
        return numbered(self.sans, self.start)

    @property
    def to_move(self) -> str:
        """``white`` or ``black``."""
        return "white" if self.fen.split()[1] == "w" else "black"

    @property
    def name(self) -> str | None:
        """The name of this very position: the same by every move order."""
        return name_of_key(self.key)

    @cached_property
    def opening(self) -> str | None:
        """The deepest name along the line: what the opening is called by now."""
        board = chess.Board(self.start)
        keys = [key_of(board)]
        for uci in self.ucis:
            board.push(chess.Move.from_uci(uci))
            keys.append(key_of(board))
        return name_along(keys)


def position_of(board: chess.Board) -> Position:
    """The position on a board, with the moves of its stack as its line."""
    start = board.root()
    replayed = start.copy()
    return Position(
        fen=fen_of(board),
        key=key_of(board),
        start=start.fen(en_passant="fen"),
        ucis=tuple(move.uci() for move in board.move_stack),
        sans=tuple([replayed.san_and_push(move) for move in board.move_stack]),
    )
