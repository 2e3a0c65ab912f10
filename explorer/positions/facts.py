"""Facts of a line that the rules alone give: no database, no opinion."""

from __future__ import annotations

from dataclasses import dataclass

import chess

from explorer.positions.position import Position

# Pawn, knight, bishop, rook, queen, king.
VALUES = (1, 3, 3, 5, 9, 0)
FEW_REPLIES = 3


@dataclass(frozen=True, slots=True)
class PlyFacts:
    """What holds after one move.

    ``ply`` counts from 1 at the line's first move. ``replies`` is the number
    of legal replies, ``only_replies`` names them when there are three or
    fewer. ``balance`` is the material, White minus Black, in pawns.
    """

    ply: int
    san: str
    check: bool
    mate: bool
    stalemate: bool
    replies: int
    only_replies: tuple[str, ...]
    balance: int


def line_facts(position: Position) -> tuple[PlyFacts, ...]:
    """The facts after every move of the position's line, in order."""
    board = chess.Board(position.start)
    facts = []
    for ply, (uci, san) in enumerate(zip(position.ucis, position.sans, strict=True), start=1):
        board.push(chess.Move.from_uci(uci))
        facts.append(_facts(board, ply, san))
    return tuple(facts)


def _facts(board: chess.Board, ply: int, san: str) -> PlyFacts:
    legal = list(board.legal_moves)
    check = board.is_check()
    return PlyFacts(
        ply=ply,
        san=san,
        check=check,
        mate=check and not legal,
        stalemate=not check and not legal,
        replies=len(legal),
        only_replies=tuple(sorted(map(board.san, legal))) if len(legal) <= FEW_REPLIES else (),
        balance=balance(board),
    )


def balance(board: chess.Board) -> int:
    """Material, White minus Black, in pawns (pawn 1, knight and bishop 3, rook 5, queen 9)."""
    return sum(
        value * (len(board.pieces(piece, chess.WHITE)) - len(board.pieces(piece, chess.BLACK)))
        for piece, value in zip(chess.PIECE_TYPES, VALUES, strict=True)
    )


def attackers(board: chess.Board, square: str) -> tuple[str, ...]:
    """The men that attack the man on a square, as ``Bc5`` or ``e5``; empty for none."""
    man = _man(board, square)
    return _named(board, board.attackers(not man.color, chess.parse_square(square)))


def guards(board: chess.Board, square: str) -> tuple[str, ...]:
    """The men that guard the man of their own side on a square."""
    man = _man(board, square)
    return _named(board, board.attackers(man.color, chess.parse_square(square)))


def attacked_by(board: chess.Board, square: str) -> tuple[str, ...]:
    """The enemy men that the man on a square attacks, the king among them."""
    man = _man(board, square)
    reach = board.attacks(chess.parse_square(square))
    return _named(board, reach & board.occupied_co[not man.color])


def _man(board: chess.Board, square: str) -> chess.Piece:
    man = board.piece_at(chess.parse_square(square))
    if man is None:
        raise ValueError(f"{square} is empty")
    return man


def _named(board: chess.Board, squares: chess.SquareSet) -> tuple[str, ...]:
    """The men on the squares, from a1 to h8."""
    letters = {square: man.symbol().upper() for square, man in board.piece_map().items()}
    return tuple(letters[s].replace("P", "") + chess.square_name(s) for s in squares)
