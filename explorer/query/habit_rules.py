"""What each habit is: its words, its definition, and how it is seen in games played on arrays.

All of it from the rules of chess alone. "By move N" is by the N-th move of the side that is
looked at; the mate and the balance by move 15 count to the end of the game's fifteenth move.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import NamedTuple

import chess
import numpy as np
from numpy.typing import NDArray

from explorer.positions.walking import (
    KING,
    KING_SIDE,
    KNIGHT,
    PAWN,
    QUEEN,
    QUEEN_SIDE,
    VALUES,
    Walk,
)

Flags = NDArray[np.bool_]
Ints = NDArray[np.int64]
Marks = NDArray[np.int8]

NOT_ASKED, MATED = -1, -2  # the record is too short; told apart
LATE = 15  # moves up to which material is looked at
FURTHER = 8  # plies after a piece is taken in which the balance must come to rest
PLIES = 2 * LATE + FURTHER + 2  # of a game that must be played
ROOK = int(VALUES[chess.ROOK])
_NEVER = 1000  # a ply that no game is played to


@dataclass(frozen=True, slots=True)
class Records:
    """n games played from the normal start, and how they ended.

    ``lengths`` are whole games in plies, beyond what is played here too. ``checkmate``:
    on the board at the end. ``quiet`` (n, T + 1): nothing was won by the move before this
    position nor by the one after it; the end of a finished game (a known result,
    mate or stalemate) is quiet. ``next_quiet``: the first such ply from here on.
    """

    walk: Walk
    lengths: Ints
    checkmate: Flags
    quiet: Flags
    next_quiet: NDArray[np.int16]


def records(walk: Walk, lengths: Ints, checkmate: Flags, finished: Flags) -> Records:
    """The games and where they are quiet."""
    plies = walk.piece.shape[1]
    still = walk.balance[:, 1:] == walk.balance[:, :-1]
    quiet = np.zeros(walk.balance.shape, np.bool_)
    quiet[:, :-1] = still
    quiet[:, 1:-1] &= still[:, :-1]
    quiet &= np.arange(plies + 1) < lengths[:, None]
    over = np.flatnonzero(finished & (lengths <= plies))
    quiet[over, lengths[over]] = True
    plies_of_quiet = np.where(quiet, np.arange(plies + 1, dtype=np.int16), np.int16(_NEVER))
    next_quiet = np.minimum.accumulate(plies_of_quiet[:, ::-1], axis=1)[:, ::-1]
    return Records(walk, lengths, checkmate, quiet, next_quiet)


@dataclass(frozen=True, slots=True)
class Played:
    """One side's moves in the games, (n, T / 2) each; ``moves`` is how many it made in all."""

    white: bool
    records: Records

    @property
    def moves(self) -> Ints:
        """The number of moves that the side made in the whole game."""
        return (self.records.lengths + self.white) // 2

    @property
    def mated(self) -> Flags:
        """Whether the side is mated at the end of the game."""
        to_move = self.records.lengths % 2 == (0 if self.white else 1)
        return np.asarray(self.records.checkmate & to_move)

    def of(self, name: str, first: int) -> NDArray[np.uint8]:
        """A field of `Walk` at the side's first moves."""
        field: NDArray[np.uint8] = getattr(self.records.walk, name)
        return field[:, (0 if self.white else 1) : 2 * first : 2]

    def balance(self) -> NDArray[np.int16]:
        """The side's material less the other's, (n, T + 1)."""
        found = self.records.walk.balance
        return found if self.white else -found

    def mate_by(self, move: int) -> Flags:
        """Whether either side is mated by the end of that move."""
        return np.asarray(self.records.checkmate & (self.records.lengths <= 2 * move))


class Rule(NamedTuple):
    """A habit: the record must last ``moves`` moves of the side, or, with ``mates``, end by mate.

    ``seen`` gives 1 for a game that shows it, 0 for one that does not, MATED for one that is
    told apart; with ``pieces`` a number of pieces. Without ``scored`` the habit decides the score
    by itself, and none is told.
    """

    id: str
    words: str
    definition: str
    wanted: int
    moves: int
    seen: Callable[[Played], Marks]
    pieces: bool = False
    mates: bool = False
    scored: bool = True


def marks(rule: Rule, played: Played) -> Marks:
    """What a rule sees in each game; NOT_ASKED where the record is too short."""
    asked = played.moves >= rule.moves
    if rule.mates:
        asked |= played.mate_by(rule.moves)
    return np.asarray(np.where(asked, rule.seen(played), NOT_ASKED), np.int8)


def _any(found: Flags) -> Marks:
    return np.asarray(found.any(axis=1), np.int8)


def _castled(played: Played, by: int, side: int | None = None) -> Marks:
    castled = played.of("castled", by)
    return _any(castled > 0 if side is None else castled == side)


def _queen_out(played: Played) -> Marks:
    return _any(played.of("piece", 4) == QUEEN)


def _is_piece(played: Played, by: int) -> Flags:
    piece = played.of("piece", by)
    return (piece >= KNIGHT) & (piece <= QUEEN)


def _same_piece_twice(played: Played) -> Marks:
    unit = played.of("unit", 8).astype(np.int16)
    others = np.arange(64, 72, dtype=np.int16)  # all different: no piece moved
    moved = np.sort(np.where(_is_piece(played, 8), unit, others), axis=1)
    return _any(moved[:, 1:] == moved[:, :-1])


def _developed(played: Played) -> Marks:
    """Of the pieces on their first rank, those that moved; one bit for each file."""
    unit, castled = played.of("unit", 8).astype(np.int16), played.of("castled", 8)
    first_rank = unit >> 3 == (0 if played.white else 7)
    bits = np.where(_is_piece(played, 8) & first_rank, 1 << unit % 8, 0)
    bits = np.where(castled == KING_SIDE, 1 << 7, np.where(castled == QUEEN_SIDE, 1, bits))
    moved = np.bitwise_or.reduce(bits, axis=1).astype(np.uint8)
    return np.asarray(np.unpackbits(moved[:, None], axis=1).sum(axis=1), np.int8)


def _centre_pawn(played: Played) -> Marks:
    first = (chess.D2, chess.E2) if played.white else (chess.D7, chess.E7)
    fourth = (chess.D4, chess.E4) if played.white else (chess.D5, chess.E5)
    pawn = (played.of("piece", 5) == PAWN) & np.isin(played.of("unit", 5), first)
    return _any(pawn & np.isin(played.of("target", 5), fourth))


def _king_moved(played: Played) -> Marks:
    castled = played.of("castled", 12)
    before = np.maximum.accumulate(castled, axis=1) == 0
    return _any((played.of("piece", 12) == KING) & before)


def _left_to_be_taken(played: Played) -> Marks:
    """A piece is taken by the next move, and the balance at rest shows the loss of all of it.

    The side's own mate makes it a sacrifice; being mated first is told apart.
    """
    record, first = played.records, 0 if played.white else 1
    taken = record.walk.captured[:, first + 1 : first + 2 * LATE : 2]
    game, number = np.nonzero((taken >= KNIGHT) & (taken <= QUEEN))
    before = first + 2 * number
    rest = np.minimum(record.next_quiet[game, before + 2], before + 2 + FURTHER)
    over = record.checkmate[game] & (record.lengths[game] == rest)
    balance = played.balance()
    lost = balance[game, before] - balance[game, rest]
    known = (rest <= record.lengths[game]) & ~over
    left = known & (lost >= VALUES[taken[game, number]])
    found = np.zeros(len(taken), np.int8)
    found[game[over & played.mated[game]]] = MATED
    found[game[left]] = 1
    return found


def _mated(played: Played) -> Marks:
    return (played.mated & played.mate_by(LATE)).astype(np.int8)


def _rook_down(played: Played) -> Marks:
    last = 2 * LATE + 1
    down = played.records.quiet[:, :last] & (played.balance()[:, :last] <= -ROOK)
    return np.asarray(np.where(_mated(played) == 1, MATED, _any(down)), np.int8)


def _castling(by: int) -> Rule:
    return Rule(
        f"castled_by_{by}",
        f"castled by move {by}",
        f"the side has castled with one of its first {by} moves; a king that walks to the "
        "same square has not castled",
        1,
        by,
        partial(_castled, by=by),
    )


def _castling_to(side: int, name: str, words: str) -> Rule:
    return Rule(
        f"castled_{name}_by_12",
        f"castled {words} side by move 12",
        f"the side has castled on the {words} side with one of its first 12 moves",
        0,
        12,
        partial(_castled, by=12, side=side),
    )


RULES = (
    _castling(8),
    _castling(10),
    _castling(12),
    _castling_to(KING_SIDE, "king_side", "king's"),
    _castling_to(QUEEN_SIDE, "queen_side", "queen's"),
    Rule(
        "queen_out_before_5",
        "queen out before move 5",
        "the queen leaves her square with one of the side's first four moves",
        -1,
        4,
        _queen_out,
    ),
    Rule(
        "same_piece_twice_by_8",
        "same piece twice by move 8",
        "one knight, bishop, rook or queen makes two or more of the side's first eight moves; "
        "castling is a move of the king",
        -1,
        8,
        _same_piece_twice,
    ),
    Rule(
        "developed_by_8",
        "pieces developed by move 8",
        "how many of the knights, bishops, rooks and the queen have left their first squares "
        "with the side's first eight moves, of seven; castling moves the rook, and a piece that "
        "went back counts",
        1,
        8,
        _developed,
        pieces=True,
    ),
    Rule(
        "centre_pawn_by_5",
        "a pawn in the centre by move 5",
        "the pawn of the d- or the e-file has moved to d4 or e4 (Black's to d5 or e5) with one of "
        "the side's first five moves",
        1,
        5,
        _centre_pawn,
    ),
    Rule(
        "king_moved_by_12",
        "king moved before castling by move 12",
        "the king makes one of the side's first 12 moves without castling and without having "
        "castled before",
        -1,
        12,
        _king_moved,
    ),
    Rule(
        "left_to_be_taken_by_15",
        "a piece left to be taken by move 15",
        "after one of the side's first 15 moves the next move takes a knight, bishop, rook or "
        "queen, and once nothing is being taken any more (four moves later at the latest) the "
        "side has lost at least that piece's worth since before its move; a side mated in that "
        "time is told apart, and one that gives mate has sacrificed the piece",
        -1,
        LATE,
        _left_to_be_taken,
    ),
    Rule(
        "mated_by_15",
        "mated by move 15",
        "the side is mated by the end of move 15; games that end by mate earlier count, though "
        "they did not last so long",
        -1,
        LATE,
        _mated,
        mates=True,
        scored=False,
    ),
    Rule(
        "rook_down_by_15",
        "down a rook's worth by move 15",
        "the side is five pawns or more behind (pawn 1, knight and bishop 3, rook 5, queen 9) by "
        "the end of move 15, at a moment when nothing is being taken; a side mated by then is told "
        "apart, and games that end by mate earlier count",
        -1,
        LATE,
        _rook_down,
        mates=True,
    ),
)
