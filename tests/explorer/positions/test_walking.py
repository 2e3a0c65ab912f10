"""Walking many games at once equals python-chess."""

from __future__ import annotations

from random import Random

import chess
import numpy as np
import pytest

from explorer.positions.walking import KING_SIDE, QUEEN_SIDE, VALUES, Boards, Walk, walk

# Starts of our own from which the rare moves are near: castling, en passant, promotion.
STARTS = (
    chess.STARTING_FEN,
    "r3k2r/pppq1ppp/2npbn2/2b1p3/2B1P3/2NPBN2/PPPQ1PPP/R3K2R w KQkq - 0 9",
    "r3k2r/pppq1ppp/2npbn2/2b1p3/2B1P3/2NPBN2/PPPQ1PPP/R3K2R b KQkq - 0 9",
    "rnbqkbnr/ppp2ppp/8/3pP3/3Pp3/8/PPP2PPP/RNBQKBNR w KQkq d6 0 4",
    "4k3/P2P2PP/8/8/8/8/p2p2pp/4K3 b - - 0 40",
)
PLIES = 30


def packed(move: chess.Move) -> int:
    return move.from_square + 64 * move.to_square + 4096 * (move.promotion or 0)


def lively(random: Random, board: chess.Board) -> chess.Move:
    """Any legal move, but rather one of the rare kinds."""
    moves = list(board.legal_moves)
    rare = [m for m in moves if m.promotion or board.is_castling(m) or board.is_en_passant(m)]
    return random.choice(rare if rare and random.random() < 0.5 else moves)


def random_game(random: Random, start: str) -> list[chess.Move]:
    board = chess.Board(start)
    for _ in range(random.choice((0, 3, PLIES, PLIES + 4))):
        if board.is_game_over():
            break
        board.push(lively(random, board))
    return list(board.move_stack)


def played(start: str, games: list[list[chess.Move]]) -> tuple[Walk, list[Boards]]:
    moves = np.full((len(games), PLIES), 77, np.uint16)  # beyond a game's length anything may be
    for row, game in enumerate(games):
        moves[row, : len(game)] = [packed(move) for move in game[:PLIES]]
    boards: list[Boards] = []

    def look(ply: int, now: Boards) -> None:
        assert ply == len(boards)
        boards.append(now.copy())

    lengths = np.array([len(game) for game in games])
    return walk(chess.Board(start), moves, lengths, look), boards


def codes(board: chess.Board) -> list[int]:
    men = [board.piece_at(square) for square in chess.SQUARES]
    return [(m.piece_type if m.color else -m.piece_type) if m else 0 for m in men]


def balance(board: chess.Board) -> int:
    return sum(
        int(VALUES[kind]) * (len(board.pieces(kind, True)) - len(board.pieces(kind, False)))
        for kind in chess.PIECE_TYPES
    )


@pytest.mark.parametrize("start", STARTS)
def test_a_walk_equals_python_chess(start: str) -> None:
    """Boards, pieces, captures, castling, promotion, units and balance, in 60 random games."""
    random = Random(start)
    games = [random_game(random, start) for _ in range(60)]
    found, boards = played(start, games)
    seen = set()
    for row, game in enumerate(games):
        board = chess.Board(start)
        unit = {square: square for square in board.piece_map()}
        assert found.balance[row, 0] == balance(board)
        for ply in range(PLIES):
            record = tuple(
                int(getattr(found, name)[row, ply])
                for name in ("piece", "captured", "start", "target", "castled", "promotion", "unit")
            )
            if ply < len(game):
                move = game[ply]
                wanted = expected(board, move)
                assert record == (*wanted, unit[move.from_square])
                seen |= {wanted[4], bool(wanted[5]), board.is_en_passant(move) and "passing"}
                follow(unit, board, move)
                board.push(move)
            else:
                assert record == (0,) * 7
            assert boards[ply][row].tolist() == codes(board)
            assert found.balance[row, ply + 1] == balance(board)
    rare = {1: {QUEEN_SIDE}, 2: {KING_SIDE}, 3: {"passing"}, 4: {True}}
    assert rare.get(STARTS.index(start), set()) <= seen


def expected(board: chess.Board, move: chess.Move) -> tuple[int, ...]:
    taken = board.piece_type_at(move.to_square) or (1 if board.is_en_passant(move) else 0)
    castled = (
        KING_SIDE
        if board.is_kingside_castling(move)
        else QUEEN_SIDE
        if board.is_queenside_castling(move)
        else 0
    )
    piece = board.piece_type_at(move.from_square) or 0
    return piece, taken, move.from_square, move.to_square, castled, move.promotion or 0


def follow(unit: dict[int, int], board: chess.Board, move: chess.Move) -> None:
    """Where each man stood at the start, after a move."""
    unit[move.to_square] = unit.pop(move.from_square)
    if board.is_castling(move):
        rank = move.to_square & 56
        corner, beside = (7, 5) if board.is_kingside_castling(move) else (0, 3)
        unit[rank + beside] = unit.pop(rank + corner)


def test_a_king_who_walks_to_g1_has_not_castled() -> None:
    """Ke1-f1-g1 is two king's moves, and no castling."""
    line = ["e4", "e5", "Nf3", "Nc6", "Bc4", "Bc5", "Kf1", "Nf6", "Kg1"]
    board = chess.Board()
    for san in line:
        board.push_san(san)
    found, _ = played(chess.STARTING_FEN, [list(board.move_stack)])
    assert not found.castled.any()
    assert found.piece[0, [6, 8]].tolist() == [6, 6]
    assert found.unit[0, [6, 8]].tolist() == [chess.E1, chess.E1]


def test_no_games_are_no_rows() -> None:
    """A walk of nothing has the right shapes."""
    found, boards = played(chess.STARTING_FEN, [])
    assert found.piece.shape == (0, PLIES)
    assert found.balance.shape == (0, PLIES + 1)
    assert len(boards) == PLIES
