"""A slow recount with python-chess of what the queries answer: the oracle.

Straight from the definitions of the words, one game and one move after the
other; a position is its EPD. Nothing here shares code with the library.
"""

from __future__ import annotations

import datetime
from calendar import monthrange
from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import chess

from explorer.query.filters import Filters
from ingest.levels import Level, bands
from tests.support.random_games import Record

VALUES = {chess.PAWN: 1, chess.KNIGHT: 3, chess.BISHOP: 3, chess.ROOK: 5, chess.QUEEN: 9}


@dataclass(frozen=True)
class Visit:
    """One game's first arrival at a position."""

    record: Record
    epd: str
    ply: int
    move: chess.Move | None
    on_board: bool  # the record stops here by mate or stalemate
    white: bool  # White is to move
    swing: int | None
    mated: bool

    @property
    def mover(self) -> str:
        """The player to move; each nameless one is somebody else."""
        name = self.record.white if self.white else self.record.black
        return name or f"? in game {self.record.number}"

    @property
    def named(self) -> bool:
        """Whether the player to move has a name."""
        return (self.record.white if self.white else self.record.black) is not None

    @property
    def ratings(self) -> tuple[int | None, int | None]:
        """The mover's rating and the opponent's."""
        pair = self.record.white_rating, self.record.black_rating
        return pair if self.white else pair[::-1]

    @property
    def points(self) -> float | None:
        """The mover's points; None when the result is unknown."""
        by_white = {"1-0": 1.0, "0-1": 0.0, "1/2-1/2": 0.5, "*": None}[self.record.result]
        return by_white if self.white or by_white is None else 1 - by_white


def balance(board: chess.Board, white: bool) -> int:
    """Material in pawns, seen by one side."""
    return sum(
        VALUES.get(piece.piece_type, 0) * (1 if piece.color == white else -1)
        for piece in board.piece_map().values()
    )


def swing_of(boards: Sequence[chess.Board], ply: int, known: bool) -> tuple[int | None, bool]:
    """What the move at ``ply`` costs the mover, and whether the mover is soon mated."""
    white = boards[ply].turn
    last = len(boards) - 1
    if last <= ply + 16 and boards[last].is_checkmate() and boards[last].turn == white:
        return None, True
    material = [balance(board, white) for board in boards[: ply + 18]]
    finished = known or boards[last].is_checkmate() or boards[last].is_stalemate()
    before = material[ply]
    if finished and last < ply + 8:
        return material[last] - before, False
    for later in range(ply + 8, min(ply + 16, last) + 1):
        if later == ply + 16 or (later == last and finished):
            return material[later] - before, False
        if later < last and len(set(material[later - 1 : later + 2])) == 1:
            return material[later] - before, False
    return None, False


def visits_of(record: Record, plies: int) -> list[Visit]:
    """The positions of a game in its first ``plies`` plies, each once."""
    board = chess.Board(record.start)
    boards = [board.copy()]
    for move in record.moves:
        board.push(move)
        boards.append(board.copy())
    seen: set[str] = set()
    found = []
    ends = () if record.cut else (None,)
    known = record.result != "*" and not record.cut
    for ply, (here, move) in enumerate(zip(boards, (*record.moves, *ends), strict=False)):
        epd = here.epd()
        if ply < plies and epd not in seen:
            seen.add(epd)
            swing, mated = swing_of(boards, ply, known) if move else (None, False)
            on_board = move is None and (here.is_checkmate() or here.is_stalemate())
            found.append(Visit(record, epd, ply, move, on_board, here.turn, swing, mated))
    return found


def in_level(rating: int | None, level: Level) -> bool:
    """Whether a rating lies in a band; a band without ends is for the unrated."""
    if rating is None or (level.low is None and level.high is None):
        return rating is None and level.low is None and level.high is None
    return (level.low or 0) <= rating <= (level.high or 9999)


def possible_days(text: str) -> tuple[datetime.date, datetime.date]:
    """The first and the last day that a PGN date can mean."""
    year, month, _ = text.split(".")
    if "?" in year:
        return datetime.date.min, datetime.date.max
    first, last = (1, 12) if "?" in month else (int(month), int(month))
    return (
        datetime.date(int(year), first, 1),
        datetime.date(int(year), last, monthrange(int(year), last)[1]),
    )


def passes(visit: Visit, filters: Filters) -> bool:
    """Whether a visit passes the filters, dates apart."""
    record = visit.record
    own, other = visit.ratings
    sides = {"white": (record.white,), "black": (record.black,), None: (record.white, record.black)}
    return (
        (not filters.levels or any(in_level(own, level) for level in filters.levels))
        and (not filters.opponents or any(in_level(other, level) for level in filters.opponents))
        and (not filters.pace or record.pace in filters.pace)
        and (not filters.collections or bool(record.collections & set(filters.collections)))
        and (filters.player is None or filters.player in sides[filters.side])
    )


def groups_of(visit: Visit, filters: Filters) -> set[str]:
    """The labels of the groups that a visit counts in."""
    record = visit.record
    own, other = visit.ratings
    if filters.by in ("level", "opponents"):
        rating = own if filters.by == "level" else other
        return {band.label for band in bands(filters.cuts) if in_level(rating, band)}
    if filters.by == "collection":
        return {name for name in record.collections if name in (filters.collections or (name,))}
    if filters.by == "pace":
        return {record.pace}
    year, month, _ = record.date.split(".")
    if "?" in (year if filters.by == "year" else year + month):
        return {f"unknown {filters.by}"}
    if filters.by == "year":
        return {year}
    first = int(year) if month >= "07" else int(year) - 1
    return {f"{first}/{str(first + 1)[2:]}"}


def in_dates(record: Record, filters: Filters) -> bool:
    """Whether the game was surely played between the dates asked for."""
    if filters.since is None and filters.until is None:
        return True
    day = record.played
    return day is not None and (
        (filters.since or datetime.date.min) <= day <= (filters.until or datetime.date.max)
    )


def is_vague(record: Record, filters: Filters) -> bool:
    """Whether the game can have been played between the dates asked for, or not."""
    if record.played is not None or (filters.since is None and filters.until is None):
        return False
    first, last = possible_days(record.date)
    return last >= (filters.since or first) and first <= (filters.until or last)


class Recount:
    """All visits of some games, counted by hand."""

    def __init__(self, records: Iterable[Record], plies: int) -> None:
        self.at: defaultdict[str, list[Visit]] = defaultdict(list)
        for record in records:
            for visit in visits_of(record, plies):
                self.at[visit.epd].append(visit)

    def chosen(self, board: chess.Board, filters: Filters) -> list[Visit]:
        """The visits at a position that pass the filters."""
        return [
            v for v in self.at[board.epd()] if passes(v, filters) and in_dates(v.record, filters)
        ]

    def vague(self, board: chess.Board, filters: Filters) -> int:
        """Games left out because their date cannot be judged."""
        return sum(passes(v, filters) and is_vague(v.record, filters) for v in self.at[board.epd()])

    def transposing(self, board: chess.Board, filters: Filters) -> dict[str, int]:
        """Unplayed legal moves (UCI) -> games that reached the position after them.

        The level filter speaks of the player who would make the move.
        """
        played = {visit.move for visit in self.chosen(board, filters)}
        turned = replace(filters, levels=filters.opponents, opponents=filters.levels)
        found = {}
        for move in board.legal_moves:
            after = board.copy(stack=False)
            after.push(move)
            if move not in played and (games := len(self.chosen(after, turned))):
                found[move.uci()] = games
        return found


def orders_of(visits: Iterable[Visit]) -> Counter[tuple[str, tuple[str, ...]]]:
    """(start, moves in UCI) -> games, for every move order among the visits."""
    return Counter(
        (v.record.start, tuple(move.uci() for move in v.record.moves[: v.ply])) for v in visits
    )


def mean(values: Sequence[float]) -> float | None:
    """Their mean, None of nothing."""
    return sum(values) / len(values) if values else None


@dataclass(frozen=True)
class Clustered:
    """Sums over players of t (total of values) and n (games): what a design effect needs."""

    total: float
    n: int
    squares: float
    tt: float
    tn: float
    nn: float
    clusters: int


def clustered(pairs: Iterable[tuple[str, float]]) -> Clustered:
    """From (player, value) of each game."""
    by_player: defaultdict[str, list[float]] = defaultdict(list)
    for player, value in pairs:
        by_player[player].append(value)
    groups = by_player.values()
    return Clustered(
        total=sum(map(sum, groups)),
        n=sum(map(len, groups)),
        squares=sum(value * value for values in groups for value in values),
        tt=sum(sum(values) ** 2 for values in groups),
        tn=sum(sum(values) * len(values) for values in groups),
        nn=sum(len(values) ** 2 for values in groups),
        clusters=len(by_player),
    )
