"""A slow recount of `habits` with python-chess: the oracle of every definition.

Straight from the words of the definitions, one game and one move after the other.
Nothing here shares code with the query; the statistics of `explorer.numbers` have
their own tests.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import cache

import chess

from explorer.query.filters import Filters
from tests.support.random_games import Record
from tests.support.recount import VALUES, Visit, balance, in_dates, passes

Value = int | str | None  # a number, "mated", or None: not asked
PIECES = (chess.KNIGHT, chess.BISHOP, chess.ROOK, chess.QUEEN)


@dataclass
class Story:
    """One side of one game."""

    record: Record
    white: bool
    boards: list[chess.Board]
    seen: dict[str, Value] = field(default_factory=dict)  # what was looked at before

    @property
    def turns(self) -> list[tuple[chess.Board, chess.Move]]:
        """The side's moves, each with the board before it."""
        pairs = zip(self.boards, self.record.moves, strict=False)
        return [(board, move) for board, move in pairs if board.turn == self.white]

    @property
    def last(self) -> int:
        return len(self.boards) - 1

    @property
    def mated(self) -> bool:
        return self.boards[-1].is_checkmate() and self.boards[-1].turn == self.white

    @property
    def finished(self) -> bool:
        end = self.boards[-1]
        return self.record.result != "*" or end.is_checkmate() or end.is_stalemate()

    @property
    def stand_in(self) -> Visit:
        """The side as a visit, to be asked for names, ratings and points."""
        return Visit(self.record, "", 0, None, False, self.white, None, False)

    def kind(self, board: chess.Board, move: chess.Move) -> int | None:
        return board.piece_type_at(move.from_square)

    def material(self, ply: int) -> int:
        return balance(self.boards[ply], self.white)

    def quiet(self, ply: int) -> bool:
        if ply == self.last:
            return self.finished
        around = range(max(0, ply - 1), ply + 2)
        return len({self.material(other) for other in around}) == 1


def castled(story: Story, by: int, side: str = "both") -> bool:
    for board, move in story.turns[:by]:
        if board.is_kingside_castling(move) and side in ("king", "both"):
            return True
        if board.is_queenside_castling(move) and side in ("queen", "both"):
            return True
    return False


def queen_out(story: Story) -> bool:
    return any(story.kind(b, m) == chess.QUEEN for b, m in story.turns[:4])


def footprints(story: Story, by: int) -> Iterator[tuple[int, chess.Square]]:
    """For each of the side's piece moves: which piece, and where it stood at the beginning."""
    home = {square: square for square in chess.SQUARES}
    for board, move in story.turns[:by]:
        kind, first = story.kind(board, move), home[move.from_square]
        if kind in PIECES:
            yield kind, first
        if board.is_castling(move):
            rank = "1" if story.white else "8"
            king_side = board.is_kingside_castling(move)
            corner, beside = ("h", "f") if king_side else ("a", "d")
            home[chess.parse_square(beside + rank)] = chess.parse_square(corner + rank)
        home[move.to_square] = first


def same_piece_twice(story: Story) -> bool:
    moved = [first for _, first in footprints(story, 8)]
    return len(moved) > len(set(moved))


def developed(story: Story) -> int:
    rank = 0 if story.white else 7
    moved = {first for _, first in footprints(story, 8) if chess.square_rank(first) == rank}
    for board, move in story.turns[:8]:
        if board.is_castling(move):
            moved.add(chess.square(7 if board.is_kingside_castling(move) else 0, rank))
    return len(moved)


def centre_pawn(story: Story) -> bool:
    """A pawn that began on the d- or e-file arrives on the fourth rank of one of them."""
    home = {chess.square(f, 1 if story.white else 6): "abcdefgh"[f] for f in range(8)}
    goals = ("d4", "e4") if story.white else ("d5", "e5")
    for board, move in story.turns[:5]:
        file = home.pop(move.from_square, None)
        if file is not None and story.kind(board, move) == chess.PAWN:
            home[move.to_square] = file
            if file in "de" and chess.square_name(move.to_square) in goals:
                return True
    return False


def king_moved(story: Story) -> bool:
    for board, move in story.turns[:12]:
        if board.is_castling(move):
            return False
        if story.kind(board, move) == chess.KING:
            return True
    return False


def left_to_be_taken(story: Story) -> Value:
    found: Value = 0
    for ply, board in enumerate(story.boards[:30]):
        if board.turn != story.white or ply + 2 > story.last:
            continue
        after, reply = story.boards[ply + 1], story.record.moves[ply + 1]
        taken = after.piece_type_at(reply.to_square)
        if taken not in PIECES:
            continue
        rest = next((p for p in range(ply + 2, min(ply + 10, story.last) + 1) if story.quiet(p)), 0)
        rest = rest or ply + 10
        if rest > story.last:
            continue  # nobody knows how it ended
        if rest == story.last and story.boards[rest].is_checkmate():
            found = found or ("mated" if story.mated else 0)
        elif story.material(ply) - story.material(rest) >= VALUES[taken]:
            return 1
    return found


def mated(story: Story) -> bool:
    return story.mated and story.last <= 30


def rook_down(story: Story) -> Value:
    if mated(story):
        return "mated"
    plies = range(min(30, story.last) + 1)
    return int(any(story.quiet(p) and story.material(p) <= -5 for p in plies))


# Each habit: the moves of the side that the record must last, and what is seen.
HABITS: dict[str, tuple[int, Callable[[Story], Value]]] = {
    "castled_by_8": (8, lambda s: castled(s, 8)),
    "castled_by_10": (10, lambda s: castled(s, 10)),
    "castled_by_12": (12, lambda s: castled(s, 12)),
    "castled_king_side_by_12": (12, lambda s: castled(s, 12, "king")),
    "castled_queen_side_by_12": (12, lambda s: castled(s, 12, "queen")),
    "queen_out_before_5": (4, queen_out),
    "same_piece_twice_by_8": (8, same_piece_twice),
    "developed_by_8": (8, developed),
    "centre_pawn_by_5": (5, centre_pawn),
    "king_moved_by_12": (12, king_moved),
    "left_to_be_taken_by_15": (15, left_to_be_taken),
    "mated_by_15": (15, mated),
    "rook_down_by_15": (15, rook_down),
}
MATES_COUNT = ("mated_by_15", "rook_down_by_15")


def seen(story: Story, habit: str) -> Value:
    """What a side of a game shows; None where the record is too short to say."""
    if habit not in story.seen:
        moves, look = HABITS[habit]
        lasts = len(story.turns) >= moves
        if habit in MATES_COUNT and story.boards[-1].is_checkmate() and story.last <= 2 * moves:
            lasts = True
        value = look(story) if lasts else None
        story.seen[habit] = int(value) if isinstance(value, bool) else value
    return story.seen[habit]


@cache
def sides_of(record: Record) -> tuple[Story, Story]:
    """White's and Black's side of a game."""
    boards = [chess.Board(record.start)]
    for move in record.moves:
        boards.append(boards[-1].copy())
        boards[-1].push(move)
    return Story(record, True, boards), Story(record, False, boards)


def stories(records: Sequence[Record], filters: Filters) -> list[Story]:
    """The chosen sides of the games from the normal start with a move."""
    return [
        story
        for record in records
        if record.start == chess.STARTING_FEN and record.moves and in_dates(record, filters)
        for story in sides_of(record)
        if passes(story.stand_in, filters) and of_colour(story, filters)
    ]


def of_colour(story: Story, filters: Filters) -> bool:
    """Without a player, the side is the colour that is looked at."""
    colour = "white" if story.white else "black"
    return filters.player is not None or filters.side in (None, colour)
