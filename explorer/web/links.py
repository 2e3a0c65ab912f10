"""The addresses of what pages show; the games that were asked for stay the same."""

from __future__ import annotations

from dataclasses import dataclass

import chess

from explorer.positions.position import position_of
from explorer.query.model import GameRow, PositionFacts
from explorer.web.asked import Asked, Pairs, address, where
from ingest.poskey import format_key, key_of

POSITION = "/position"
MISTAKE = "/mistake"


@dataclass(frozen=True)
class PageLinks:
    """Where the links of a page lead; ``path`` is the page of the positions after a move."""

    asked: Asked
    path: str = POSITION

    def after(self, uci: str) -> str:
        """The position after a move from the page's position."""
        san = chess.Board(self.asked.position.fen).san(chess.Move.from_uci(uci))
        return address(self.path, (*self.asked.after(san), *self.asked.kept))

    def mistake(self, position: PositionFacts, san: str) -> str:
        """A move in a position as a mistake."""
        pairs = dict(_place(position))
        line = f"{pairs.get('line', '')} {san}".strip()
        return address(MISTAKE, (*{**pairs, "line": line}.items(), *self.asked.kept))

    def game(self, row: GameRow) -> str:
        """A game, at the ply where it reached the position."""
        return address(f"/game/{row.id}", (("ply", str(row.ply_here)), *self.asked.kept))


def _place(position: PositionFacts) -> Pairs:
    """A position by its line where that leads there from the normal start, else by its FEN."""
    board = chess.Board()
    try:
        for word in (position.line or "").split():
            if not word[0].isdigit():
                board.push_san(word)
    except ValueError:  # a line from another start
        board.reset()
    if format_key(key_of(board)) == position.key:
        return where(position_of(board))
    return (("fen", position.fen),)
