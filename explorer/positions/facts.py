"""Facts of a line that the rules alone give: no database, no opinion."""

from __future__ import annotations

from dataclasses import dataclass

import chess

from explorer.positions.position import Position
from ingest.errors import UsageError

# Pawn, knight, bishop, rook, queen, king.
VALUES = (1, 3, 3, 5, 9, 0)
FEW_REPLIES = 3


@dataclass(frozen=True, slots=True)
class SquareFacts:
    """What bears on a square: the ``man`` on it, if any, and the men of each colour that
    attack it (of the man's own colour: guard it), as ``Bc5`` or ``e5``, from a1 to h8."""

    man: str | None
    white: tuple[str, ...]
    black: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PlyFacts:
    """What holds after one move.

    ``ply`` counts from 1 at the line's first move. ``replies`` is the number
    of legal replies, ``only_replies`` names them when there are three or
    fewer. ``balance`` is the material, White minus Black, in pawns. ``attacks``
    are the enemy men that the moved piece attacks and that are undefended or worth
    more than it, the king always; ``double_attack`` are those and the king
    where another piece gives check, empty when they are fewer than two.
    ``square`` speaks of the square asked for.
    """

    ply: int
    san: str
    check: bool
    mate: bool
    stalemate: bool
    replies: int
    only_replies: tuple[str, ...]
    balance: int
    attacks: tuple[str, ...] = ()
    double_attack: tuple[str, ...] = ()
    square: SquareFacts | None = None


def line_facts(position: Position, square: str | None = None) -> tuple[PlyFacts, ...]:
    """The facts after every move of the position's line, in order.

    ``square`` ("d4") asks for its attackers and guards as well; UsageError when it is none.
    """
    if square is not None and square not in chess.SQUARE_NAMES:
        raise UsageError(f"--square {square}: not a square; write for example d4")
    board = chess.Board(position.start)
    facts = []
    for ply, (uci, san) in enumerate(zip(position.ucis, position.sans, strict=True), start=1):
        move = chess.Move.from_uci(uci)
        board.push(move)
        facts.append(_facts(board, ply, san, move.to_square, square))
    return tuple(facts)


def _facts(board: chess.Board, ply: int, san: str, moved: int, square: str | None) -> PlyFacts:
    legal = list(board.legal_moves)
    check = board.is_check()
    targets = _targets(board, moved)
    king = board.king(board.turn)
    hit = targets | {king} if check and king is not None else targets
    return PlyFacts(
        ply=ply,
        san=san,
        check=check,
        mate=check and not legal,
        stalemate=not check and not legal,
        replies=len(legal),
        only_replies=tuple(sorted(map(board.san, legal))) if len(legal) <= FEW_REPLIES else (),
        balance=balance(board),
        attacks=_named(board, targets),
        double_attack=_named(board, hit) if len(hit) > 1 else (),
        square=None if square is None else square_facts(board, square),
    )


def _targets(board: chess.Board, square: int) -> chess.SquareSet:
    """The enemy men that the man on a square attacks with a threat: undefended or worth more.

    A king threatens only the undefended: it may not take anything else.
    """
    enemy, own = board.turn, board.piece_type_at(square)
    worth = VALUES[-2] if own == chess.KING else VALUES[own - 1] if own else 0
    found = chess.SquareSet()
    for target in board.attacks(square) & board.occupied_co[enemy]:
        man = board.piece_type_at(target)
        dearer = man is not None and (man == chess.KING or VALUES[man - 1] > worth)
        if dearer or not board.attackers(enemy, target):
            found.add(target)
    return found


def square_facts(board: chess.Board, square: str) -> SquareFacts:
    """The man on a square, and the men of both colours that bear on it."""
    number = chess.parse_square(square)
    man = _named(board, chess.SquareSet([number]) & board.occupied)
    white, black = (_named(board, board.attackers(colour, number)) for colour in (True, False))
    return SquareFacts(man[0] if man else None, white, black)


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
