"""A lesson: PGN with variations, merged by position, seen from the student's side.

On the student's turns the first move is taught and other ones are alternatives, which
are not followed; a move marked ? ?? or ?! is a warning, never taught. On the opponent's
turns every move is an answered reply. The marks are those of the PGN standard, section
10 (numeric annotation glyphs 2, 4 and 6).
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field

import chess
import chess.pgn

from explorer.positions.lesson_file import read_games
from explorer.positions.position import fen_of, numbered
from ingest.errors import InputError
from ingest.poskey import key_of

WARNINGS = {chess.pgn.NAG_MISTAKE, chess.pgn.NAG_BLUNDER, chess.pgn.NAG_DUBIOUS_MOVE}


@dataclass(frozen=True, slots=True)
class LessonMove:
    """One move of a lesson, with the teacher's words after it."""

    uci: str
    san: str
    comment: str = ""


@dataclass(slots=True)
class Place:
    """One position of a lesson.

    ``line`` is the first way to it in the file, UCI moves from the normal start. Where the
    student moves, ``taught`` is None at the end of a line, and ``replies`` is empty; where
    the opponent moves ``replies`` are the answered ones, in the file's order.
    """

    key: int
    fen: str
    line: tuple[str, ...]
    sans: tuple[str, ...]
    students_turn: bool
    taught: LessonMove | None = None
    alternatives: list[LessonMove] = field(default_factory=list)
    warnings: list[LessonMove] = field(default_factory=list)
    replies: list[LessonMove] = field(default_factory=list)

    @property
    def numbered(self) -> str:
        """The line with move numbers; empty at the start."""
        return numbered(self.sans)


@dataclass(frozen=True, slots=True)
class TwoTaught:
    """Two taught moves for one position, with the lines that reach it: the first one counts."""

    line: str
    taught: str
    other_line: str
    other: str


@dataclass(frozen=True)
class Lesson:
    """The positions that a student who plays the taught moves can meet, by key, in file order.

    ``games`` are the file's games as python-chess reads them. ``not_reached`` names the
    games that begin at a position of their own to which no line leads, ``not_followed``
    the alternatives, as lines.
    """

    name: str
    side: str
    games: tuple[chess.pgn.Game, ...]
    places: dict[int, Place]
    two_taught: tuple[TwoTaught, ...]
    not_reached: tuple[str, ...]
    not_followed: tuple[str, ...]

    @property
    def taught(self) -> list[Place]:
        """The positions in which the student knows what to play."""
        return [place for place in self.places.values() if place.taught]

    @property
    def title(self) -> str:
        """What the file calls it: the Event tag of its first game, if it says anything."""
        # A quote in a tag is escaped (PGN standard, section 7).
        event = re.sub(r'\\(["\\])', r"\1", self.games[0].headers.get("Event", "?")).strip()
        return "" if event in ("", "?", "-") else event

    @property
    def looks_like_the_other_side(self) -> bool:
        """Whether the side to be taught has many choices, and the other one none."""
        branching = sum(len(place.replies) > 1 for place in self.places.values())
        return not branching and len(self.not_followed) > 1


def read_lesson(path: str, side: str) -> Lesson:
    """The lesson in a PGN file, for a student who plays ``side`` ("white" or "black").

    InputError when the file is no PGN, has an illegal move (line and move are named), is
    empty, or teaches that side nothing.
    """
    return lesson_of(read_games(path), path, side)


def lesson_of(games: Iterable[chess.pgn.Game], name: str, side: str) -> Lesson:
    """The lesson that games with variations make; InputError when it teaches nothing."""
    merged = _Merged(tuple(games), side == "white")
    lesson = Lesson(
        name=name,
        side=side,
        games=merged.games,
        places=merged.places,
        two_taught=tuple(merged.two_taught),
        not_reached=tuple(merged.waiting_titles()),
        not_followed=tuple(merged.not_followed),
    )
    if not lesson.taught:
        raise InputError(
            f"{name}: it teaches {side.capitalize()} no move; is it a lesson for the other "
            "side? Choose it with --as"
        )
    return lesson


class _Merged:
    """The games merged by position, followed from the normal start."""

    def __init__(self, games: tuple[chess.pgn.Game, ...], white: bool) -> None:
        self.games = games
        self.white = white
        self.places: dict[int, Place] = {}
        self.two_taught: list[TwoTaught] = []
        self.not_followed: list[str] = []
        self.first_line: dict[int, tuple[str, ...]] = {}  # of the taught move, SAN
        self.waiting = list(games)
        self._place(chess.Board(), (), ())
        while self._follow_those_reached():
            pass

    def _follow_those_reached(self) -> bool:
        """Follow the games whose first position is reached by now; whether there were any."""
        reached = [game for game in self.waiting if key_of(game.board()) in self.places]
        self.waiting = [game for game in self.waiting if game not in reached]
        for game in reached:
            start = self.places[key_of(game.board())]
            self._follow(game, start.line, start.sans)
        return bool(reached)

    def waiting_titles(self) -> list[str]:
        """The games that no line reaches, by number and title."""
        titles = []
        for number, game in enumerate(self.games, start=1):
            if any(game is other for other in self.waiting):
                event = game.headers.get("Event", "?")
                titles.append(f"game {number}" + (f": {event}" if event != "?" else ""))
        return titles

    def _follow(self, game: chess.pgn.Game, line: tuple[str, ...], sans: tuple[str, ...]) -> None:
        """Depth first, in the file's order, by a stack of our own: lines may be long."""
        waiting: list[tuple[chess.pgn.GameNode, chess.Board, tuple[str, ...], tuple[str, ...]]]
        waiting = [(game, game.board(), line, sans)]
        while waiting:
            node, board, line, sans = waiting.pop()
            place = self._place(board, line, sans)
            followed = []
            for child in self._chosen(place, node, board, sans):
                after = board.copy(stack=False)
                after.push(child.move)
                ways = (*line, child.move.uci()), (*sans, board.san(child.move))
                followed.append((child, after, *ways))
            waiting += reversed(followed)

    def _place(self, board: chess.Board, line: tuple[str, ...], sans: tuple[str, ...]) -> Place:
        key = key_of(board)
        if key not in self.places:
            students_turn = board.turn == self.white
            self.places[key] = Place(key, fen_of(board), line, sans, students_turn)
        return self.places[key]

    def _chosen(
        self, place: Place, node: chess.pgn.GameNode, board: chess.Board, sans: tuple[str, ...]
    ) -> list[chess.pgn.ChildNode]:
        """The moves of a node that are followed."""
        if place.students_turn:
            return self._taught(place, node, board, sans)
        for child in node.variations:
            _once(place.replies, _move(child, board))
        return node.variations

    def _taught(
        self, place: Place, node: chess.pgn.GameNode, board: chess.Board, sans: tuple[str, ...]
    ) -> list[chess.pgn.ChildNode]:
        for child in node.variations:
            if child.nags & WARNINGS:
                _once(place.warnings, _move(child, board))
        sound = [child for child in node.variations if not child.nags & WARNINGS]
        if not sound:
            return []
        first = _move(sound[0], board)
        if place.taught is None:
            place.taught = first
            self.first_line[place.key] = sans
        elif place.taught.uci != first.uci:
            lines = numbered(self.first_line[place.key]), numbered(sans)
            self.two_taught.append(TwoTaught(lines[0], place.taught.san, lines[1], first.san))
            sound = sound[1:]
        followed = []
        for child in sound:
            move = _move(child, board)
            if move.uci == place.taught.uci:
                followed.append(child)
                continue
            _once(place.alternatives, move)
            line = numbered((*sans, move.san))
            if line not in self.not_followed:
                self.not_followed.append(line)
        return followed


def _move(child: chess.pgn.ChildNode, board: chess.Board) -> LessonMove:
    return LessonMove(child.move.uci(), board.san(child.move), child.comment.strip())


def _once(moves: list[LessonMove], move: LessonMove) -> None:
    """Add a move that is not there yet."""
    if all(other.uci != move.uci for other in moves):
        moves.append(move)
