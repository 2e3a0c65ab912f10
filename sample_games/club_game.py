"""One invented game, from the first move to the handshake."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date
from functools import cache
from random import Random

import chess
from club_openings import board_after, draw, rows
from club_people import HABIT_PLAYER, STUDENT, Person
from club_player import choose, material, on_lines, skill_of
from club_season import BLITZ, Planned, pick
from planted import (
    HABIT_OF_ONE,
    OPPONENT_HABITS,
    SHAKEN,
    STRONG_OPENING,
    STRONG_OPENING_BONUS,
    STUDENT_HABITS,
    Habit,
)

DRAWN = "1/2-1/2"
LONGEST = 130  # plies; the players then agree on what the pieces say
DEEPEST_LINE = 20  # plies within which positions are looked up in the table
REMARKS = (
    "Played quickly.",
    "A long think here.",
    "Both had seen this before.",
    "Look at every check first!",
    "Whose piece is loose?",
)

# What writes beside a move: the board before it and the move -> the words after it.
Pen = Callable[[chess.Board, chess.Move], list[str]]


@dataclass(slots=True)
class Record:
    """A game while it is made. ``asides``: what is written after a move, by its index."""

    moves: list[str] = field(default_factory=list)
    asides: dict[int, list[str]] = field(default_factory=dict)
    result: str = "*"
    termination: str = "normal"


@dataclass(slots=True)
class Side:
    """One player on the day of the game; ``strength`` may fall during it."""

    person: Person
    day: date
    book: float  # the strength at which the table is read: the printed rating when there is one
    strength: float
    habits: tuple[Habit, ...]

    @property
    def stubborn(self) -> float:
        """1 for those who never resign, falling with strength."""
        return on_lines((500, 2000), (1.0, 0.0), self.strength)


def play(game: Planned, rng: Random) -> Record:
    """Play a planned game to its end."""
    sides = (_side(game, game.black, game.white), _side(game, game.white, game.black))
    board, record = chess.Board(), Record()
    referee = _Referee(sides, game.time_control in BLITZ, rng)
    pen = _pen(game, rng)
    breaks_off = int(8 + 50 * rng.random()) if rng.random() < 0.012 else LONGEST + 1
    while not referee.over(board, record):
        if board.ply() >= breaks_off:
            record.termination = "unterminated"
            break
        move, punishes = _move(board, sides[board.turn], rng)
        if punishes:
            sides[not board.turn].strength -= SHAKEN
        if aside := pen(board, move):
            record.asides[len(record.moves)] = aside
        record.moves.append(board.san(move))
        board.push(move)
    return record


def _side(game: Planned, person: Person, other: Person) -> Side:
    strength = person.strength_on(game.day)
    habits: tuple[Habit, ...] = ()
    if person.name == STUDENT:
        habits = STUDENT_HABITS
    elif other.name == STUDENT:
        habits = OPPONENT_HABITS
    elif person.name == HABIT_PLAYER:
        habits = (HABIT_OF_ONE,)
    return Side(person, game.day, person.rating_on(game.day) or strength, strength, habits)


@cache
def _epd(line: str) -> str:
    return board_after(line).epd()


def _move(board: chess.Board, side: Side, rng: Random) -> tuple[chess.Move, bool]:
    """The move a player makes, by habit, else from the table, else by looking.

    With it, whether the table says that it punishes a mistake.
    """
    epd = board.epd() if board.ply() < DEEPEST_LINE else ""
    row = rows().get(epd, ())
    never: set[str] = set()
    for habit in side.habits:
        if _epd(habit.line) == epd:
            never.add(habit.san)
            kept = habit.until is None or side.day < habit.until
            if kept and rng.random() < habit.share:
                marks = {reply.san: reply.mark for reply in row}
                return board.parse_san(habit.san), marks.get(habit.san) == "!"
    reply = draw(epd, board.ply(), side.book, side.person.taste, rng, never)
    if reply is not None:
        return chess.Move.from_uci(reply.uci), reply.mark == "!"
    never.update(reply.san for reply in row)
    shunned = frozenset(board.parse_san(san) for san in never)
    return choose(board, skill_of(side.strength + _bonus(board, side)), rng, shunned), False


def _bonus(board: chess.Board, side: Side) -> int:
    """What the student gains by the opening that suits her, as Black."""
    if side.person.name != STUDENT or board.turn == chess.WHITE:
        return 0
    first = board_after(STRONG_OPENING).move_stack
    return STRONG_OPENING_BONUS if board.move_stack[: len(first)] == first else 0


class _Referee:
    """Says when a game is over, and how."""

    def __init__(self, sides: tuple[Side, Side], blitz: bool, rng: Random) -> None:
        self.sides, self.blitz, self.rng = sides, blitz, rng
        self.seen = Counter[tuple[int, ...]]()
        self.balances: list[int] = []  # White's material less Black's, after each ply

    def over(self, board: chess.Board, record: Record) -> bool:
        """Whether the game is over; writes the result into the record."""
        self.balances.append(material(board))
        if not any(board.legal_moves):
            record.result = _lost(board.turn) if board.is_check() else DRAWN
        elif self._third_time(board) or board.is_insufficient_material():
            record.result = DRAWN
        elif board.ply() >= LONGEST:
            record.result = _by_pieces(self.balances[-1])
        elif board.ply() >= 12:
            self._given_up(board, record)
        return record.result != "*"

    def _third_time(self, board: chess.Board) -> bool:
        place = (
            board.pawns, board.knights, board.bishops, board.rooks, board.queens, board.kings,
            board.occupied_co[True], board.turn,
        )  # fmt: skip
        self.seen[place] += 1
        return self.seen[place] == 3

    def _given_up(self, board: chess.Board, record: Record) -> None:
        """Whether the player to move resigns, oversteps the time or agrees to a draw."""
        stubborn = self.sides[board.turn].stubborn
        lately = [-balance if board.turn else balance for balance in self.balances[-5:]]
        behind = min(lately)  # a piece about to be taken back is no reason to resign
        resigns = (0.01 if behind < 9 else 0.04) + 0.3 * (1 - stubborn)
        if behind >= 5 and self.rng.random() < resigns:
            record.result = _lost(board.turn)
        elif self.blitz and board.ply() > 50 and self.rng.random() < 0.003:
            record.result, record.termination = _lost(board.turn), "time forfeit"
        elif (
            board.ply() > 56
            and -1 <= behind <= max(lately) <= 1
            and self.rng.random() < 0.004 + 0.03 * (1 - stubborn)
        ):
            record.result = DRAWN


def _lost(white: bool) -> str:
    """The result when this side loses."""
    return "0-1" if white else "1-0"


def _by_pieces(balance: int) -> str:
    """The result that both agree on: two pawns more win."""
    return DRAWN if abs(balance) < 2 else _lost(balance < 0)


class _Clocks:
    """Writes what the mover's clock shows after each move."""

    def __init__(self, time_control: str, rng: Random) -> None:
        main, _, bonus = time_control.partition("+")
        self.left = [int(main), int(main)]
        self.bonus, self.rng = int(bonus), rng

    def __call__(self, board: chess.Board, move: chess.Move) -> list[str]:
        used = int(self.left[board.turn] * (0.002 + 0.04 * self.rng.random()))
        self.left[board.turn] += self.bonus - used
        minutes, seconds = divmod(max(1, self.left[board.turn]), 60)
        return [f"{{[%clk {minutes // 60}:{minutes % 60:02}:{seconds:02}]}}"]


class _Notes:
    """Now and then a comment, or a variation that begins with a better-looking move."""

    def __init__(self, rng: Random) -> None:
        self.rng = rng

    def __call__(self, board: chess.Board, move: chess.Move) -> list[str]:
        if board.ply() < 5 or self.rng.random() > 0.12:
            return []
        if self.rng.random() < 0.5 or board.legal_moves.count() < 2:
            return [f"{{{pick(self.rng, REMARKS)}}}"]
        return ["$6", *self._variation(board.copy(stack=False), move)]

    def _variation(self, board: chess.Board, played: chess.Move) -> list[str]:
        tokens = [f"{board.fullmove_number}{'.' if board.turn else '...'}"]
        never = frozenset({played})
        for _ in range(3):
            if board.is_game_over():
                break
            if len(tokens) > 1 and board.turn:
                tokens.append(f"{board.fullmove_number}.")
            move = choose(board, skill_of(2000), self.rng, never)
            tokens.append(board.san(move))
            board.push(move)
            never = frozenset()
        return ["(" + tokens[0], *tokens[1:-1], tokens[-1] + ")"]


def _quiet(board: chess.Board, move: chess.Move) -> list[str]:
    return []


def _pen(game: Planned, rng: Random) -> Pen:
    """What is written beside the moves: mostly nothing."""
    drawn = rng.random()
    if drawn < 0.02 and "+" in game.time_control:
        return _Clocks(game.time_control, rng)
    return _Notes(rng) if drawn > 0.98 else _quiet
