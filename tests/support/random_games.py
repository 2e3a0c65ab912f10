"""Random games with odd tags, for checking queries against a slow recount.

Openings are drawn from few moves, so that games meet and transpose; later
moves are any legal ones. People are invented.
"""

from __future__ import annotations

import datetime
from dataclasses import dataclass, field
from random import Random

import chess
import chess.pgn

NAMES = ("Amber Vane", "Birk Olander", "Cleo Marsh", "Dario Fenn", "Edda Quill", "?")
RESULTS = ("1-0", "0-1", "1/2-1/2", "*")
CONTROLS = {"300": "blitz", "900+10": "rapid", "5400+30": "standard", "?": "unknown"}
DATES = ("2023.05.01", "2024.02.29", "2024.??.??", "2024.03.??", "????.??.??", "2025.11.30")
FIRST_MOVES = "e2e4 d2d4 g1f3 b1c3 f1c4 g1h3 e7e5 d7d6 g8f6 b8c6 f8c5 e7e6 a7a6 h7h6"
# Mates in two, a stalemate, and a game that comes back to where it began.
SHORT = (
    "f2f3 e7e5 g2g4 d8h4",
    "g2g4 e7e5 f2f3 d8h4",
    "e2e4 e7e5 f1c4 b8c6 d1h5 g8f6 h5f7",
    "g1f3 g8f6 f3g1 f6g8 e2e4 e7e5",
    "e2e3 a7a5 d1h5 a8a6 h5a5 h7h5 h2h4 a6h6 a5c7 f7f6 "
    "c7d7 e8f7 d7b7 d8d3 b7b8 d3h7 b8c8 f7g6 c8e6",
)
STARTS = (
    chess.STARTING_FEN,
    "rnbqkbnr/pppp1ppp/8/4p3/4P3/8/PPPP1PPP/RNBQKBNR w KQkq - 0 2",
    "rnbqkbnr/pppppppp/8/8/4P3/8/PPPP1PPP/RNBQKBNR b KQkq - 0 1",
)


@dataclass(frozen=True)
class Record:
    """One game as a person would note it: names, ratings and dates may be missing."""

    number: int  # unique; the Round tag
    white: str | None
    black: str | None
    white_rating: int | None
    black_rating: int | None
    result: str
    date: str
    control: str
    start: str
    moves: tuple[chess.Move, ...]
    collections: frozenset[str] = field(default_factory=frozenset)
    cut: bool = False  # the record goes on, but nobody can read how

    @property
    def pace(self) -> str:
        """The pace that the time control stands for."""
        return CONTROLS[self.control]

    @property
    def played(self) -> datetime.date | None:
        """The day, when the date has one."""
        if "?" in self.date:
            return None
        return datetime.date(*map(int, self.date.split(".")))

    @property
    def pgn(self) -> str:
        """The game in PGN."""
        game = chess.pgn.Game()
        if self.start != chess.STARTING_FEN:
            game.setup(chess.Board(self.start))
        game.headers.update(
            Event="Lantern Club Evening",
            Round=str(self.number),
            White=self.white or "?",
            Black=self.black or "?",
            Date=self.date,
            Result=self.result,
            TimeControl=self.control,
            WhiteElo=str(self.white_rating or "-"),
            BlackElo=str(self.black_rating or "-"),
        )
        game.add_line(self.moves)
        text = str(game)
        if self.cut:
            text = f"{text.removesuffix(self.result)}Zz9 {self.result}"
        return f"{text}\n\n"


def random_records(seed: int, count: int) -> list[Record]:
    """Games of the collections "club" and "school"; some of the named ones are in both."""
    random = Random(seed)
    return [_record(random, number) for number in range(1, count + 1)]


def _record(random: Random, number: int) -> Record:
    start = random.choices(STARTS, (20, 1, 1))[0]
    white, black = (None if name == "?" else name for name in random.sample(NAMES, 2))
    both = bool(white and black) and random.random() < 0.2
    one = random.choice(("club", "school"))
    cut = Random(number)
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
        moves=(moves := _moves(random, start)),
        cut=bool(moves) and cut.random() < 0.1 and not _over(start, moves),
        collections=frozenset(("club", "school") if both else (one,)),
    )


def _over(start: str, moves: tuple[chess.Move, ...]) -> bool:
    board = chess.Board(start)
    for move in moves:
        board.push(move)
    return board.is_checkmate() or board.is_stalemate()


def _rating(random: Random) -> int | None:
    return None if random.random() < 0.25 else random.randint(600, 2200)


def _moves(random: Random, start: str) -> tuple[chess.Move, ...]:
    board = chess.Board(start)
    if start == chess.STARTING_FEN and random.random() < 0.15:
        for uci in random.choice(SHORT).split():
            board.push_uci(uci)
        return tuple(board.move_stack)
    for ply in range(random.choice((0, 1, 2, 4, 6, 20, 40))):
        moves = list(board.legal_moves)
        if ply < 7:
            moves = [move for move in moves if move.uci() in FIRST_MOVES] or moves
        if not moves:
            break
        board.push(random.choice(moves))
    return tuple(board.move_stack)
