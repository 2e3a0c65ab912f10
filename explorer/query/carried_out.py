"""Which plans games carry out after a position, and when: numbers for every kind of plan."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import chess
import numpy as np
from numpy.typing import NDArray

from explorer.positions.walking import (
    BISHOP,
    KING,
    KING_SIDE,
    KNIGHT,
    PAWN,
    QUEEN,
    ROOK,
    VALUES,
    Boards,
    Bytes,
    Walk,
    walk,
)
from explorer.query.plans_model import BREAK, CASTLE, EXCHANGE, MOVE, PIN, STEP
from explorer.query.visits import Flags, Ints

AT_ONCE = 8192  # games; their boards stay in the processor's cache

# A plan's code: 64 * piece + square of a move or step; the other kinds lie above.
CASTLES = 7 * 64
BREAKS = CASTLES + 64
PINS = BREAKS + 64
EXCHANGES = PINS + 3 * 64
CODES = EXCHANGES + 64
OFF = 64  # a square beside the board; it is always empty
WORTH = np.array([*VALUES[:KING], 100])  # of a pinned man and the one behind: a king is all


@dataclass(frozen=True, slots=True)
class Done:
    """First times: a row for each plan and game that carried it out.

    ``side`` is 0 for the side to move at the position, 1 for the other one; ``ply`` counts
    from the position. ``start`` is where the man stood in the position, ``goal`` where he went.
    """

    game: NDArray[np.int32]
    code: NDArray[np.uint16]
    side: Bytes
    ply: Bytes
    start: Bytes
    goal: Bytes

    def of(self, code: int) -> Done:
        """The rows of one plan; all must be in order of plan."""
        first, last = np.searchsorted(self.code, (code, code + 1))
        return self.only(slice(first, last))

    def only(self, which: Flags | Ints | slice) -> Done:
        """Some of the rows."""
        return Done(*(getattr(self, name)[which] for name in self.__slots__))


class CarriedOut:
    """The plans that games carry out after a position, by both sides.

    Kept in parts, because of a million games there are twenty million rows.
    """

    def __init__(self, board: chess.Board, moves: NDArray[np.uint16]) -> None:
        """``moves`` has shape (games, plies)."""
        starts = range(0, max(len(moves), 1), AT_ONCE)
        self._parts = [_first_times(board, moves[i : i + AT_ONCE], i) for i in starts]

    def games(self, side: int, which: Flags) -> Ints:
        """In how many of the marked games a side carried out each plan, by code."""
        found = np.zeros(CODES, np.int64)
        for part in self._parts:
            rows = (part.side == side) & which[part.game]
            found += np.bincount(part.code[rows], minlength=CODES)
        return found

    def of(self, side: int, codes: Sequence[int]) -> Done:
        """The rows of some plans of a side, in order of plan."""
        asked = np.zeros(CODES, np.bool_)
        asked[list(codes)] = True
        parts = [part.only((part.side == side) & asked[part.code]) for part in self._parts]
        columns = (np.concatenate([getattr(p, name) for p in parts]) for name in Done.__slots__)
        found = Done(*columns)
        return found.only(np.argsort(found.code, kind="stable"))


def _first_times(board: chess.Board, moves: NDArray[np.uint16], first: int) -> Done:
    """The plans of some games, whose numbers begin with ``first``."""
    plies = moves.shape[1]
    marks = _Marks(moves)
    found = walk(board, moves, np.full(len(moves), plies), marks.look)
    # One number for game, side, plan and ply, so that sorting brings the first time first.
    keys = np.concatenate(
        [
            ((game * 2 + ply % 2) * CODES + code) * plies + ply
            for game, ply, code in _events(found, marks)
        ]
    )
    keys.sort()
    plan, ply = keys // plies, keys % plies
    earliest = np.append(True, plan[1:] != plan[:-1])[: len(plan)]
    plan, ply = plan[earliest], ply[earliest]
    game, code = plan // CODES // 2, plan % CODES
    return Done(
        game=(game + first).astype(np.int32),
        code=code.astype(np.uint16),
        side=(plan // CODES % 2).astype(np.uint8),
        ply=ply.astype(np.uint8),
        start=found.unit[game, ply],
        goal=found.target[game, ply],
    )


def _events(found: Walk, marks: _Marks) -> Iterator[tuple[Ints, Ints, Ints]]:
    """(games, plies, codes) of all plans carried out, again and again too."""
    piece, taken, goal = (
        part.astype(np.int64) for part in (found.piece, found.captured, found.target)
    )
    moved = (piece > PAWN) & (found.castled == 0)
    step = (piece == PAWN) & (taken == 0)
    yield _at(moved | step, 64 * piece + goal)
    yield _at(found.castled > 0, CASTLES + found.castled.astype(np.int64))
    yield _at(step & marks.breaks, BREAKS + goal)
    yield _at((piece > KNIGHT) & marks.pins, PINS + 64 * (piece - BISHOP) + goal)
    # Of two captures on one square in a row: what took first for what it took.
    given, got, back = piece[:, :-1], taken[:, :-1], taken[:, 1:]
    on_it = goal[:, :-1] == goal[:, 1:]
    traded = (given > PAWN) & (got > PAWN) & (back > 0) & on_it
    yield _at(traded, EXCHANGES + 8 * given + got)
    games, plies, codes = _at(traded, EXCHANGES + 8 * got + given)
    yield games, plies + 1, codes


def _at(which: Flags, codes: Ints) -> tuple[Ints, Ints, Ints]:
    games, plies = np.nonzero(which)
    return games, plies, codes[games, plies]


class _Marks:
    """What has to be seen on the boards: after which moves a pawn or a line piece does what.

    ``breaks`` and ``pins``, of shape (games, plies), say it of whatever stands on the goal.
    """

    def __init__(self, moves: NDArray[np.uint16]) -> None:
        self._goals = (moves >> 6 & 63).astype(np.intp)
        self.breaks = np.zeros(moves.shape, np.bool_)
        self.pins = np.zeros(moves.shape, np.bool_)

    def look(self, ply: int, boards: Boards) -> None:
        goals = self._goals[:, ply]
        man = boards[np.arange(len(boards)), goals]
        kind = np.abs(man)
        pawns = np.flatnonzero(kind == PAWN)
        self.breaks[pawns, ply] = _attacks_pawn(boards[pawns], goals[pawns], man[pawns])
        for lines, pieces in ((STRAIGHT, (ROOK, QUEEN)), (SLANTED, (BISHOP, QUEEN))):
            rows = np.flatnonzero(np.isin(kind, pieces))
            self.pins[rows, ply] |= _pins(boards[rows], goals[rows], man[rows], lines)


def _attacks_pawn(boards: Boards, goals: Ints, man: NDArray[np.int8]) -> Flags:
    """Whether a pawn attacks an enemy pawn."""
    attacked = PAWN_ATTACKS[(man < 0).astype(np.intp), goals]
    return np.asarray((_men(boards, attacked) == -man[:, None]).any(axis=1))


def _pins(boards: Boards, goals: Ints, man: NDArray[np.int8], lines: Ints) -> Flags:
    """Whether a line piece attacks an enemy piece who shields one worth more: king or queen."""
    men = _men(boards, lines[goals])  # games, directions, squares away
    pinned, rest = _nearest(men)
    behind, _ = _nearest(rest)
    enemies = (np.sign(pinned) == -np.sign(man)[:, None]) & (np.sign(behind) == np.sign(pinned))
    pinned, behind = np.abs(pinned), np.abs(behind)
    pieces = (pinned > PAWN) & (pinned < KING) & (behind >= QUEEN)
    return np.asarray((enemies & pieces & (WORTH[pinned] < WORTH[behind])).any(axis=1))


def _nearest(men: Boards) -> tuple[Boards, Boards]:
    """The first man on each line (0: none), and the lines without him."""
    place = (men != 0).argmax(axis=2)[:, :, None]
    rest = men.copy()
    np.put_along_axis(rest, place, 0, axis=2)
    return np.take_along_axis(men, place, axis=2)[:, :, 0], rest


def _men(boards: Boards, squares: Ints) -> Boards:
    """What stands on some squares of each board; nobody stands beside it."""
    padded = np.zeros((len(boards), OFF + 1), np.int8)
    padded[:, :OFF] = boards
    rows = np.arange(len(boards)).reshape(-1, *[1] * (squares.ndim - 1))
    return padded[rows, squares]


def _squares_from(square: int, file_step: int, rank_step: int, most: int) -> list[int]:
    """The squares in a direction, filled up to ``most``."""
    file, rank, found = square % 8, square // 8, []
    for away in range(1, most + 1):
        x, y = file + away * file_step, rank + away * rank_step
        found.append(x + 8 * y if 0 <= x < 8 and 0 <= y < 8 else OFF)
    return found


def _lines(steps: tuple[tuple[int, int], ...]) -> Ints:
    """For each square the lines that begin beside it: (64, directions, 7)."""
    return np.array([[_squares_from(square, *step, 7) for step in steps] for square in range(64)])


STRAIGHT = _lines(((1, 0), (-1, 0), (0, 1), (0, -1)))
SLANTED = _lines(((1, 1), (1, -1), (-1, 1), (-1, -1)))
# What a pawn attacks, by its colour (White, Black) and square.
PAWN_ATTACKS = np.array(
    [
        [
            [*_squares_from(square, -1, up, 1), *_squares_from(square, 1, up, 1)]
            for square in range(64)
        ]
        for up in (1, -1)
    ]
)

PIECES = chess.PIECE_NAMES


def sharper(codes: Ints) -> Ints:
    """The code of the break or pin that a step or move may be as well; -1 for none."""
    piece, square = codes // 64, codes % 64
    lined = (piece >= BISHOP) & (piece <= QUEEN)
    breaks, pins = BREAKS + square, PINS + 64 * (piece - BISHOP) + square
    return np.select([piece == PAWN, lined], [breaks, pins], -1)


def kind_of(code: int) -> dict[str, Any]:
    """The fields of a `Plan` that say what it is."""
    piece = other = square = side = None
    if code >= EXCHANGES:
        kind, piece, other = EXCHANGE, (code - EXCHANGES) // 8, (code - EXCHANGES) % 8
    elif code >= PINS:
        kind, piece, square = PIN, BISHOP + (code - PINS) // 64, code % 64
    elif code >= BREAKS:
        kind, piece, square = BREAK, PAWN, code % 64
    elif code >= CASTLES:
        kind, piece, side = CASTLE, KING, "king" if code == CASTLES + KING_SIDE else "queen"
    else:
        kind, piece, square = STEP if code < 2 * 64 else MOVE, code // 64, code % 64
    return {
        "kind": kind,
        "piece": PIECES[piece],
        "other": PIECES[other] if other else None,
        "square": None if square is None else chess.square_name(square),
        "side": side,
    }
