"""Random games of standard chess, written in random styles. Players are invented."""

from __future__ import annotations

import random

import chess

RESULTS = ("1-0", "0-1", "1/2-1/2", "*")

# Positions from which castling, promotion and en passant (of pinned pawns too) come up often.
STARTS = (
    "r3k2r/pppppppp/8/8/8/8/PPPPPPPP/R3K2R w KQkq - 0 1",
    "4k3/P6p/8/8/8/8/p6P/4K3 b - - 3 17",
    "8/3p3p/8/K1P4r/R4p1k/8/P3P3/8 w - - 0 1",
    "rnbqkbnr/ppp1p1pp/8/3pPp2/8/8/PPPP1PPP/RNBQKBNR w KQkq f6 0 3",
    "8/8/8/2k5/8/5n2/8/2KR4 w - - 70 90",
)


def play(rng: random.Random, plies: int, fen: str | None = None) -> chess.Board:
    """A game of random moves; some go back and forth, some like captures; shorter when it ends."""
    board = chess.Board(fen) if fen else chess.Board()
    homing = rng.random() < 0.2
    while len(board.move_stack) < plies:
        moves = list(board.legal_moves)
        if not moves:
            break
        back = [move for move in moves if move == _undoing(board)] if homing else []
        lively = [m for m in moves if board.is_capture(m) or board.is_castling(m) or m.promotion]
        chosen = back if back and rng.random() < 0.7 else lively
        board.push(rng.choice(chosen if chosen and rng.random() < 0.6 else moves))
    return board


def _undoing(board: chess.Board) -> chess.Move | None:
    if len(board.move_stack) < 2:
        return None
    last = board.move_stack[-2]
    return chess.Move(last.to_square, last.from_square)


def write(rng: random.Random, board: chess.Board, *, plain: bool = False) -> str:
    """A game as PGN text; ``plain`` leaves out what only the reference reader takes."""
    start = board.root()
    result = board.result() if board.is_checkmate() else rng.choice(RESULTS)
    tags = {"Event": "Invented Cup", "White": "Ada Example", "Black": "Bo Sample"}
    tags["Result"] = result
    if start.fen() != chess.STARTING_FEN:
        tags |= {"SetUp": "1", "FEN": start.fen(en_passant=rng.choice(("fen", "legal")))}
    words = []
    for move in board.move_stack:
        words += _move_words(rng, start, move, plain)
        start.push(move)
    if plain or rng.random() < 0.9:
        words.append(result)
    head = "".join(f'[{name} "{value}"]\n' for name, value in tags.items())
    blank = rng.choice((" ", " ", "\n"))
    return f"{head}\n{blank.join(words)}\n\n"


def _move_words(rng: random.Random, board: chess.Board, move: chess.Move, plain: bool) -> list[str]:
    words = []
    if rng.random() < 0.8:
        words.append(f"{board.fullmove_number}{'.' if board.turn else '...'}")
    san = board.san(move)
    if rng.random() < 0.1:
        san = san.rstrip("+#") + rng.choice(("", "!", "?!", " $3"))
    if rng.random() < 0.1:
        san = san.replace("O", "0")
    if not plain and rng.random() < 0.05:
        san = rng.choice((board.lan(move), board.uci(move), board.san(move).replace("=", "")))
    words.append(san)
    if rng.random() < 0.05:
        words.append("{a word ; on (this) }")
    if rng.random() < 0.02:
        variation = f"( {board.san(move)} {{no}} )"
        words.append(rng.choice(("; to the line's end\n", "\n% an escape line\n", variation)))
    return words


def texts(seed: int, games: int, *, plies: int = 70, plain: bool = False) -> list[str]:
    """Random games as PGN texts; one in four begins from a FEN."""
    rng = random.Random(seed)
    fens = [None if rng.random() < 0.75 else rng.choice(STARTS) for _ in range(games)]
    return [write(rng, play(rng, rng.randrange(plies), fen), plain=plain) for fen in fens]
