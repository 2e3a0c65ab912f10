"""A slow recount of `plans` with python-chess: the oracle.

Straight from the definitions of the kinds of plans, one move of one game after the other.
Nothing here shares code with the queries.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from math import ceil
from random import Random

import chess

from explorer.query.plans_model import Plan
from tests.support.random_games import STARTS, Record, random_records
from tests.support.recount import VALUES, Visit

# kind, piece, other, square, side
Key = tuple[str, str, str | None, str | None, str | None]
LINED = (chess.BISHOP, chess.ROOK, chess.QUEEN)
PIECES = (chess.KNIGHT, *LINED)
OPENINGS = (
    "e2e4 e7e5 g1f3 b8c6 f1c4 f8c5",
    "e2e4 e7e5 f1c4 f8c5 g1f3 b8c6",
    "e2e4 e7e5 f1c4 b8c6 g1f3 f8c5",
    "e2e4 e7e5 g1f3 b8c6 f1b5 a7a6",
    "d2d4 d7d5 c2c4 e7e6 b1c3 g8f6",
)


def key_of(plan: Plan) -> Key:
    return plan.kind, plan.piece, plan.other, plan.square, plan.side


def games_with_plans(seed: int, count: int) -> list[Record]:
    """Games of a mover who likes to castle, to pin, to break, to take back and to mate."""
    random = Random(seed)
    return [
        replace(record, moves=_lively(random, record.start))
        for record in random_records(seed, count)
    ]


def _lively(random: Random, start: str) -> tuple[chess.Move, ...]:
    board = chess.Board(start)
    if start == STARTS[0]:
        for uci in random.choice(OPENINGS).split():
            board.push_uci(uci)
    for _ in range(random.choice((0, 5, 9, 20, 20, 30))):
        moves = list(board.legal_moves)
        if not moves:
            break
        liked = [move for move in moves if _liked(board, move)]
        board.push(random.choice(liked if liked and random.random() < 0.7 else moves))
    return tuple(board.move_stack)


def _liked(board: chess.Board, move: chess.Move) -> bool:
    if board.is_castling(move) or board.is_capture(move):
        return True
    after = board.copy(stack=False)
    after.push(move)
    return after.is_checkmate() or _pins(after, move.to_square) or _breaks(board, after, move)


@dataclass(frozen=True)
class First:
    """The first time of a plan: its ply after the position, the game's own move number, the way."""

    ply: int
    number: int
    way: tuple[int, int]


def carried_out(visit: Visit, moves: int) -> dict[tuple[bool, Key], First] | None:
    """(White's, plan) -> first time in the next ``moves`` moves of each side; None: ended."""
    record, end = visit.record, visit.ply + 2 * moves
    if len(record.moves) < end:
        return None
    board = chess.Board(record.start)
    for move in record.moves[: visit.ply]:
        board.push(move)
    stood = {square: square for square in board.piece_map()}
    found: dict[tuple[bool, Key], First] = {}
    window = record.moves[visit.ply : end]
    pending: Key | None = None
    for ply, move in enumerate(window):
        white, way = board.turn, (stood[move.from_square], move.to_square)
        first = First(ply, board.fullmove_number, way)
        after = window[ply + 1] if ply + 1 < len(window) else None
        keys = list(_plans(board, move))
        if pending is not None:  # this move takes back
            keys.append(pending)
        pending = None
        if (trade := _exchange(board, move, after)) is not None:
            keys.append(trade)
            pending = ("exchange", trade[2] or "", trade[1], None, None)
        for key in keys:
            found.setdefault((white, key), first)
        _follow(stood, board, move)
        board.push(move)
    return found


def _follow(stood: dict[int, int], board: chess.Board, move: chess.Move) -> None:
    stood[move.to_square] = stood.pop(move.from_square)
    if board.is_castling(move):
        rank = move.to_square & 56
        corner, beside = (7, 5) if board.is_kingside_castling(move) else (0, 3)
        stood[rank + beside] = stood.pop(rank + corner)


def _plans(board: chess.Board, move: chess.Move) -> Iterator[Key]:
    kind = board.piece_type_at(move.from_square) or 0
    piece, square = chess.piece_name(kind), chess.square_name(move.to_square)
    if board.is_castling(move):
        side = "king" if board.is_kingside_castling(move) else "queen"
        yield "castle", piece, None, None, side
        return
    after = board.copy(stack=False)
    after.push(move)
    if kind != chess.PAWN:
        yield "move", piece, None, square, None
    elif not board.is_capture(move):
        yield "step", piece, None, square, None
        if _breaks(board, after, move):
            yield "break", piece, None, square, None
    if kind in LINED and _pins(after, move.to_square):
        yield "pin", piece, None, square, None


def _breaks(board: chess.Board, after: chess.Board, move: chess.Move) -> bool:
    """Whether a pawn's step attacks an enemy pawn."""
    if board.piece_type_at(move.from_square) != chess.PAWN or board.is_capture(move):
        return False
    if after.piece_type_at(move.to_square) != chess.PAWN:
        return False
    return bool(after.attacks(move.to_square) & after.pieces(chess.PAWN, after.turn))


def _pins(after: chess.Board, square: int) -> bool:
    """Whether the line piece on a square attacks an enemy piece with one worth more behind."""
    if after.piece_type_at(square) not in LINED:
        return False
    attacked = after.attacks(square)
    for target in attacked:
        pinned = after.piece_at(target)
        if pinned is None or pinned.color != after.turn or pinned.piece_type not in PIECES:
            continue
        opened = after.copy(stack=False)
        opened.remove_piece_at(target)
        for behind in opened.attacks(square) & ~attacked:
            man = opened.piece_at(behind)
            if man is None or man.color != after.turn:
                continue
            if man.piece_type == chess.KING or (
                man.piece_type == chess.QUEEN and VALUES[pinned.piece_type] < VALUES[chess.QUEEN]
            ):
                return True
    return False


def _exchange(board: chess.Board, move: chess.Move, after: chess.Move | None) -> Key | None:
    """The exchange that a capture begins, seen by the side that takes first."""
    own, other = (board.piece_type_at(square) for square in (move.from_square, move.to_square))
    if own not in PIECES or other not in PIECES or after is None:
        return None
    if after.to_square != move.to_square:
        return None
    return "exchange", chess.piece_name(own), chess.piece_name(other), None, None


def side_of(visit: Visit, white: bool) -> Visit:
    """The visit seen by one side."""
    return replace(visit, white=white)


def quartiles(values: Sequence[int]) -> tuple[int | None, ...]:
    """The values that a quarter, a half and three quarters do not exceed."""
    if not values:
        return None, None, None
    ordered = sorted(values)
    return tuple(ordered[ceil(share * len(ordered)) - 1] for share in (0.25, 0.5, 0.75))


def commonest_way(ways: Iterable[tuple[int, int]]) -> set[str]:
    """The ways that are taken most often."""
    counts = Counter(ways)
    most = max(counts.values())
    return {
        chess.square_name(a) + chess.square_name(b)
        for (a, b), count in counts.items()
        if count == most
    }
