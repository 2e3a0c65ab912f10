"""Random games in which much happens: they mate, castle, walk with the king and hang pieces.

For checking plans and habits against a slow recount. People are invented.
"""

from __future__ import annotations

from random import Random

import chess

from tests.support.random_games import CONTROLS, DATES, NAMES, RESULTS, Record

# Mates in two to four moves, a smothered one, a stalemate, and a king that walks to his castle.
SHORT = (
    "f2f3 e7e5 g2g4 d8h4",
    "e2e4 e7e5 f1c4 b8c6 d1h5 g8f6 h5f7",
    "e2e4 c7c6 d2d4 d7d5 b1c3 d5e4 c3e4 b8d7 d1e2 g8f6 e4d6",
    "e2e3 a7a5 d1h5 a8a6 h5a5 h7h5 h2h4 a6h6 a5c7 f7f6 "
    "c7d7 e8f7 d7b7 d8d3 b7b8 d3h7 b8c8 f7g6 c8e6",
    "e2e4 e7e5 g1f3 b8c6 f1c4 f8c5 e1f1 g8f6 d2d3 d7d6 f1g1 e8g8 h2h3 h7h6 c2c3 a7a6",
)
OWN_START = "rnbqkbnr/pppp1ppp/8/4p3/4P3/8/PPPP1PPP/RNBQKBNR w KQkq - 0 2"
LENGTHS = (1, 4, 9, 10, 15, 16, 23, 24, 29, 30, 31, 36, 45, 60)


def lively_records(seed: int, count: int) -> list[Record]:
    """Games of the collections "club" and "school", now and then from a start of their own."""
    random, found = Random(seed), {}
    while len(found) < count:
        record = _record(random, len(found) + 1)
        # The same people, result and moves again would be the same game.
        found.setdefault((record.white, record.black, record.result, record.moves), record)
    return list(found.values())


def _record(random: Random, number: int) -> Record:
    start = OWN_START if random.random() < 0.06 else chess.STARTING_FEN
    white, black = (None if name == "?" else name for name in random.sample(NAMES, 2))
    return Record(
        number=number,
        white=white,
        black=black,
        white_rating=_rating(random),
        black_rating=_rating(random),
        result=random.choice(RESULTS),
        date=random.choice(DATES),
        control=random.choice(list(CONTROLS)),
        start=start,
        moves=lively_moves(random, start),
        collections=frozenset((random.choice(("club", "school")),)),
    )


def _rating(random: Random) -> int | None:
    return None if random.random() < 0.2 else random.randint(700, 1900)


def lively_moves(random: Random, start: str = chess.STARTING_FEN) -> tuple[chess.Move, ...]:
    """One game: a short one, or moves with a liking for what is rare."""
    board = chess.Board(start)
    if start == chess.STARTING_FEN and random.random() < 0.12:
        for uci in random.choice(SHORT).split():
            board.push_uci(uci)
        return tuple(board.move_stack)
    temper = random.choice(("calm", "greedy", "wild"))
    for _ in range(random.choice(LENGTHS)):
        if not any(board.legal_moves):
            break
        board.push(_move(random, board, temper))
    return tuple(board.move_stack)


def _move(random: Random, board: chess.Board, temper: str) -> chess.Move:
    moves = list(board.legal_moves)
    rare = [m for m in moves if board.is_castling(m) or m.promotion or _mates(board, m)]
    if rare and random.random() < 0.6:
        return random.choice(rare)
    takes = [move for move in moves if board.is_capture(move)]
    if takes and random.random() < {"calm": 0.3, "greedy": 0.8, "wild": 0.1}[temper]:
        return random.choice(takes)
    men = [m for m in moves if board.piece_type_at(m.from_square) != chess.PAWN]
    return random.choice(men if men and random.random() < 0.5 else moves)


def _mates(board: chess.Board, move: chess.Move) -> bool:
    if not board.gives_check(move):
        return False
    board.push(move)
    mate = board.is_checkmate()
    board.pop()
    return mate
