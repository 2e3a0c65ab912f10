"""A slow recount of `student` with python-chess: one game and one move after the other.

Straight from the words of the definitions; a position is its EPD. Nothing here shares code
with the queries; the statistics of `explorer.numbers` have their own tests.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

import chess
import chess.pgn

from explorer.numbers.expectation import Expectation
from ingest.levels import Level, bands
from tests.support.random_games import Record
from tests.support.recount import Visit, in_level, visits_of

LEAST = 3


@dataclass(frozen=True)
class Own:
    """One game, seen by the student."""

    record: Record
    white: bool

    @property
    def points(self) -> float | None:
        by_white = {"1-0": 1.0, "0-1": 0.0, "1/2-1/2": 0.5, "*": None}[self.record.result]
        return by_white if self.white or by_white is None else 1 - by_white

    @property
    def ratings(self) -> tuple[int | None, int | None]:
        pair = self.record.white_rating, self.record.black_rating
        return pair if self.white else pair[::-1]

    @property
    def normal(self) -> bool:
        return self.record.start == chess.STARTING_FEN

    def over(self, expectation: Expectation) -> float | None:
        own, other = self.ratings
        if self.points is None or own is None or other is None:
            return None
        return self.points - expectation.of(own - other, self.white)

    def visits(self, plies: int) -> list[Visit]:
        """The positions in which the student went on."""
        return [
            visit
            for visit in visits_of(self.record, plies)
            if visit.white == self.white and visit.move is not None
        ]


def own_games(records: Sequence[Record], name: str) -> list[Own]:
    """The student's games, those of a whole date in order, the others first."""
    games = [Own(r, r.white == name) for r in records if name in (r.white, r.black)]
    return sorted(games, key=lambda one: one.record.played or date.min)


def level_of(games: Sequence[Own], cuts: tuple[int, ...]) -> Level | None:
    """The band of most rated games; of equals the lower one."""
    rated = [own for one in games if (own := one.ratings[0]) is not None]
    every = bands(cuts)[:-1]
    counts = [sum(in_level(rating, level) for rating in rated) for level in every]
    return every[counts.index(max(counts))] if rated else None


def tree(games: Sequence[Own], plies: int) -> dict[str, list[tuple[Own, Visit]]]:
    """The positions of some games that were met LEAST times."""
    met: defaultdict[str, list[tuple[Own, Visit]]] = defaultdict(list)
    for one in games:
        if one.normal:
            for visit in one.visits(plies):
                met[visit.epd].append((one, visit))
    return {epd: found for epd, found in met.items() if len(found) >= LEAST}


@dataclass(frozen=True)
class Told:
    """A lesson read by hand: EPD -> taught move; the EPDs of every position in it."""

    white: bool
    taught: dict[str, chess.Move]
    replies: dict[str, set[str]]
    known: set[str]


def read(game: chess.pgn.Game, white: bool) -> Told:
    """The first move taught, on the student's turns; every reply on the other's."""
    told = Told(white, {}, defaultdict(set), set())
    _read(game, told)
    return told


def _read(node: chess.pgn.GameNode, told: Told) -> None:
    epd = node.board().epd()
    told.known.add(epd)
    if node.board().turn != told.white:
        for child in node.variations:
            told.replies[epd].add(child.uci())
            _read(child, told)
    elif node.variations and epd not in told.taught:
        told.taught[epd] = node.variations[0].move
        _read(node.variations[0], told)
    elif node.variations and told.taught[epd] == node.variations[0].move:
        _read(node.variations[0], told)


@dataclass
class Walked:
    """How one game went beside a lesson."""

    game: Own
    asked: int = 0
    kept: int = 0
    by: str = ""
    at: tuple[str, str] = ("", "")  # EPD, move played
    move: int = 0


def walked(game: Own, told: Told) -> Walked:
    """Follow a game as long as each of its positions is the lesson's."""
    found, board = Walked(game), chess.Board()
    for move in game.record.moves:
        epd, mine = board.epd(), board.turn == told.white
        if mine and epd not in told.taught:
            return found
        stays = _staying(board, told)
        if not mine and not told.replies[epd] and not stays:
            return found
        found.asked += mine
        if move not in stays:
            found.by, found.at = ("student" if mine else "opponent"), (epd, move.uci())
            found.move = board.fullmove_number
            return found
        found.kept += mine
        board.push(move)
    return found


def _staying(board: chess.Board, told: Told) -> set[chess.Move]:
    found = set()
    for move in board.legal_moves:
        after = board.copy(stack=False)
        after.push(move)
        if after.epd() in told.known:
            found.add(move)
    return found


def moves_of(found: Sequence[tuple[Own, Visit]]) -> Counter[str]:
    """How often each move was played, by UCI."""
    return Counter(visit.move.uci() for _, visit in found if visit.move)


def months(games: Sequence[Own]) -> Iterator[tuple[str, list[Own]]]:
    """The months in which there are games with a whole date."""
    by: defaultdict[str, list[Own]] = defaultdict(list)
    for one in games:
        if one.record.played:
            by[f"{one.record.played:%Y-%m}"].append(one)
    yield from sorted(by.items())
