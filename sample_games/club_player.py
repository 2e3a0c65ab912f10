"""The two-ply player: an invented player whose errors grow rarer with strength.

It looks at its own moves, and after the most inviting ones at the captures
that the other side then has. Only whole numbers and ``Random.random()`` are
used, and moves are put in order first, so that the same seed gives the same
game on every machine and Python version (``math.exp`` and ``sum`` of floats
do not promise that).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from random import Random

import chess

# Worth of a piece by its type, in hundredths of a pawn; a king never captures
# what is guarded, so it is the dearest capturer.
WORTH = (0, 100, 300, 310, 500, 900, 10_000)
QUEENS_HOME = (chess.D1, chess.D8)
CENTRE = (0, 1, 2, 3, 3, 2, 1, 0)
# What a pawn's place on files a-h is worth on ranks 2-7, seen by its owner.
PAWN_HOME = (8, 8, 0, -12, -12, 12, 14, 10)
PAWN_THIRD = (4, 2, 6, 12, 12, -6, 4, 5)
PAWN_FOURTH = (2, 0, 12, 30, 30, 4, -4, 0)


def _place_worth(piece: int, square: int, ending: bool) -> int:
    """How well a white piece stands on a square (hundredths of a pawn)."""
    file, rank = square & 7, square >> 3
    middle = CENTRE[file] + CENTRE[rank]
    if piece == chess.PAWN:
        if ending:
            return 6 * rank * rank
        near = (PAWN_HOME, PAWN_THIRD, PAWN_FOURTH)
        return near[rank - 1][file] if 1 <= rank <= 3 else 10 + 12 * (rank - 3)
    if piece == chess.KNIGHT:
        return 9 * middle - (0 if rank else 18)
    if piece == chess.BISHOP:
        return 4 * middle + (18 if rank else 0)
    if piece == chess.ROOK:
        return 4 * CENTRE[file] + (18 if rank == 6 else 0)
    if piece == chess.QUEEN:
        return middle + (0 if ending or rank == 0 else -14)
    if ending:
        return 8 * middle
    return (34 if file in (1, 2, 6) else 12 if file == 7 else 0) - 30 * rank


def _tables(ending: bool) -> tuple[tuple[tuple[int, ...], ...], ...]:
    """``[white][piece type][square]`` -> worth of the place."""
    white = tuple(
        tuple(_place_worth(piece, square, ending) if piece else 0 for square in range(64))
        for piece in range(7)
    )
    black = tuple(tuple(row[square ^ 56] for square in range(64)) for row in white)
    return black, white


PLACES = {ending: _tables(ending) for ending in (False, True)}


@dataclass(frozen=True, slots=True)
class Skill:
    """What a strength means at the board."""

    careless: float  # chance of not looking at the other side's captures
    blind: float  # chance of overlooking what a move takes or saves; a third where the
    # other side's last move took or threatened it
    noise: int  # a move looks this much better or worse than it is, at most
    sees_mate: float  # chance of seeing a mate in one of one's own
    fears_mate: float  # chance of looking for the other side's
    breadth: int  # moves looked at twice
    castles: int  # what castling is worth, beside where the king then stands
    queen_waits: int  # what the queen's first move is worth less


STRENGTHS = (0, 500, 800, 1100, 1400, 1700, 2000)
# The fields of Skill at those strengths; tuned so that 200 points score about two thirds.
CARELESS = (1.0, 0.9, 0.62, 0.38, 0.2, 0.08, 0.0)
BLIND = (0.9, 0.6, 0.42, 0.26, 0.13, 0.05, 0.0)
NOISE = (200, 130, 105, 80, 55, 30, 6)
SEES_MATE = (0.1, 0.4, 0.62, 0.82, 0.95, 0.99, 1.0)
FEARS_MATE = (0.0, 0.05, 0.2, 0.45, 0.75, 0.95, 1.0)
BREADTH = (4, 6, 8, 10, 14, 20, 40)
# Two habits of weak players, planted: they castle late, and their queen comes out early.
CASTLES = (0, 0, 10, 25, 45, 70, 100)
QUEEN_WAITS = (-30, -20, -5, 15, 30, 50, 70)


def on_lines(points: Sequence[float], values: Sequence[float], point: float) -> float:
    """The value at a point, on straight lines between the given ones, flat outside."""
    if point <= points[0]:
        return values[0]
    for left, right, low, high in zip(points, points[1:], values, values[1:], strict=False):
        if point <= right:
            return low + (high - low) * (point - left) / (right - left)
    return values[-1]


def skill_of(strength: float) -> Skill:
    """The skill of a player of this strength (on the scale of the ratings)."""
    return Skill(
        careless=on_lines(STRENGTHS, CARELESS, strength),
        blind=on_lines(STRENGTHS, BLIND, strength),
        noise=int(on_lines(STRENGTHS, NOISE, strength)),
        sees_mate=on_lines(STRENGTHS, SEES_MATE, strength),
        fears_mate=on_lines(STRENGTHS, FEARS_MATE, strength),
        breadth=int(on_lines(STRENGTHS, BREADTH, strength)),
        castles=int(on_lines(STRENGTHS, CASTLES, strength)),
        queen_waits=int(on_lines(STRENGTHS, QUEEN_WAITS, strength)),
    )


def ordered_moves(board: chess.Board) -> list[chess.Move]:
    """The legal moves in an order that no version of the library changes."""
    return sorted(
        board.legal_moves,
        key=lambda move: (move.from_square, move.to_square, move.promotion or 0),
    )


def choose(
    board: chess.Board, skill: Skill, rng: Random, never: frozenset[chess.Move] = frozenset()
) -> chess.Move:
    """A move for the side to move, out of those not in ``never`` unless that leaves none."""
    moves = ordered_moves(board)
    moves = [move for move in moves if move not in never] or moves
    mates = mates_in_one(board, moves)
    if mates and rng.random() < skill.sees_mate:
        return mates[0]
    looks = _first_look(board, moves, skill, rng)
    if rng.random() >= skill.careless * _daring(board, looks[0][1]):
        looks = _second_look(board, looks[: skill.breadth])
    if rng.random() < skill.fears_mate:
        for _, move in looks[:4]:
            board.push(move)
            lost = bool(mates_in_one(board, ordered_moves(board)))
            board.pop()
            if not lost:
                return move
    return looks[0][1]


def _daring(board: chess.Board, move: chess.Move) -> float:
    """How much of the usual carelessness is left: less with what is dear, or takes what is not."""
    piece = board.piece_type_at(move.from_square) or 0
    if piece == chess.QUEEN:
        return 0.25
    taken = board.piece_type_at(move.to_square) or 0
    gives = taken and WORTH[piece] > WORTH[taken] + 50
    return 0.5 if gives and board.is_attacked_by(not board.turn, move.to_square) else 1.0


def mates_in_one(board: chess.Board, moves: list[chess.Move]) -> list[chess.Move]:
    """Those moves that mate by a direct check (a discovered mate is overlooked)."""
    king = board.king(not board.turn)
    if king is None:
        return []
    slanting = chess.BB_DIAG_ATTACKS[king][chess.BB_DIAG_MASKS[king] & board.occupied]
    straight = (
        chess.BB_RANK_ATTACKS[king][chess.BB_RANK_MASKS[king] & board.occupied]
        | chess.BB_FILE_ATTACKS[king][chess.BB_FILE_MASKS[king] & board.occupied]
    )
    pawn = chess.BB_PAWN_ATTACKS[not board.turn][king]
    knight = chess.BB_KNIGHT_ATTACKS[king]
    checks = (0, pawn, knight, slanting, straight, slanting | straight, 0)
    found = []
    for move in moves:
        piece = move.promotion or board.piece_type_at(move.from_square) or 0
        if checks[piece] >> move.to_square & 1:
            board.push(move)
            if board.is_checkmate():
                found.append(move)
            board.pop()
    return found


def _first_look(
    board: chess.Board, moves: list[chess.Move], skill: Skill, rng: Random
) -> list[tuple[int, chess.Move]]:
    """Moves by what they take, where they go and what they save, best first."""
    places = PLACES[few_pieces(board)][board.turn]
    hanging = dict(_losses(board, board.turn))
    latest, threatened = _last_move(board)
    looks = []
    for number, move in enumerate(moves):
        piece = board.piece_type_at(move.from_square) or 0
        taken = board.piece_type_at(move.to_square) or 0
        worth = places[piece][move.to_square] - places[piece][move.from_square]
        gain = WORTH[taken] + hanging.get(move.from_square, 0)
        retaking = latest >> move.to_square & 1
        if gain and rng.random() >= (
            skill.blind / 3 if retaking or threatened >> move.from_square & 1 else skill.blind
        ):
            worth += gain
        if move.promotion:
            worth += WORTH[move.promotion]
        elif piece == chess.KING and abs(move.from_square - move.to_square) == 2:
            worth += skill.castles
        elif piece == chess.QUEEN and move.from_square in QUEENS_HOME:
            worth -= skill.queen_waits
        worth += int((2 * rng.random() - 1) * skill.noise)
        looks.append((worth, -number, move))
    looks.sort(reverse=True)
    return [(worth, move) for worth, _, move in looks]


def _last_move(board: chess.Board) -> tuple[int, int]:
    """Where the other side's last move went and what it attacks from there, as square masks."""
    if not board.move_stack:
        return 0, 0
    square = board.move_stack[-1].to_square
    return chess.BB_SQUARES[square], board.attacks_mask(square)


def _second_look(
    board: chess.Board, looks: list[tuple[int, chess.Move]]
) -> list[tuple[int, chess.Move]]:
    """The same moves less what the other side then wins by a capture, best first."""
    mover = board.turn
    again = []
    for number, (worth, move) in enumerate(looks):
        board.push(move)
        losses = sorted((loss for _, loss in _losses(board, mover)), reverse=True)
        board.pop()
        cost = losses[0] + (losses[1] // 3 if len(losses) > 1 else 0) if losses else 0
        again.append((worth - cost, -number, move))
    again.sort(reverse=True)
    return [(worth, move) for worth, _, move in again]


def few_pieces(board: chess.Board) -> bool:
    """Whether the ending has begun: no more than six pieces beside kings and pawns."""
    return (board.occupied & ~board.pawns & ~board.kings).bit_count() <= 6


def _losses(board: chess.Board, side: bool) -> list[tuple[int, int]]:
    """(square, what the other side wins by capturing there) for the pieces of ``side``."""
    attacked = 0
    for square in chess.scan_forward(board.occupied_co[not side]):
        attacked |= board.attacks_mask(square)
    losses = []
    for square in chess.scan_forward(board.occupied_co[side] & attacked & ~board.kings):
        worth = WORTH[board.piece_type_at(square) or 0]
        if board.attackers_mask(side, square):
            takers = chess.scan_forward(board.attackers_mask(not side, square))
            worth -= min(WORTH[board.piece_type_at(taker) or 0] for taker in takers)
        if worth > 0:
            losses.append((square, worth))
    return losses


def material(board: chess.Board) -> int:
    """White's pieces less Black's, in pawns (1, 3, 3, 5, 9)."""
    balance = 0
    for worth, pieces in (
        (1, board.pawns),
        (3, board.knights | board.bishops),
        (5, board.rooks),
        (9, board.queens),
    ):
        white = (pieces & board.occupied_co[True]).bit_count()
        balance += worth * (2 * white - pieces.bit_count())
    return balance
