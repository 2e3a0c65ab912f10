"""A student's games beside a lesson: how long both stayed in it, who left first, and where."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import chess
import numpy as np

from explorer.positions.lesson import Lesson, Place
from explorer.query.moves import pack, unpack
from explorer.query.student_games import OwnGames
from explorer.query.student_model import AgainstLesson, KeptAt, Leaving, LessonPlace
from explorer.query.student_numbers import (
    by_game,
    day_of,
    mean_of,
    own_rate,
    results_of,
    run_since,
    told,
)
from explorer.query.visits import Ints
from ingest.poskey import format_key, key_of

ONE_MOVE = 1.0  # what keeps equal numbers of moves from claiming certainty
LONGEST = 300.0  # moves of a game


@dataclass(slots=True)
class Followed:
    """One game followed through the lesson. ``asked``: (place, packed move) of each turn at which
    a move was taught. ``by`` is who left it: "student", "opponent" or "" (nobody); then
    ``place`` is where, ``move`` what was played, ``ply`` when (from 0)."""

    row: int
    asked: list[tuple[int, int]] = field(default_factory=list)
    kept: int = 0
    by: str = ""
    place: int = 0
    move: int = 0
    ply: int = 0

    @property
    def entered(self) -> bool:
        """Whether the first taught move was played."""
        return self.kept > 0


class Map:
    """A lesson's positions and the moves between them."""

    def __init__(self, lesson: Lesson) -> None:
        """Looks at a position's moves only when a game comes there."""
        self.lesson = lesson
        self._next: dict[int, dict[int, int]] = {}
        self.taught = {
            key: pack(chess.Move.from_uci(place.taught.uci))
            for key, place in lesson.places.items()
            if place.taught
        }

    def inside(self, key: int) -> dict[int, int]:
        """The moves that stay in the lesson, with the positions that they lead to."""
        if key not in self._next:
            board = chess.Board(self.lesson.places[key].fen)
            self._next[key] = {}
            for move in board.legal_moves:
                board.push(move)
                if (after := key_of(board)) in self.lesson.places:
                    self._next[key][pack(move)] = after
                board.pop()
        return self._next[key]

    def follow(self, row: int, moves: Sequence[int]) -> Followed:
        """One game from the normal start."""
        game, key = Followed(row), key_of(chess.Board())
        for ply, move in enumerate(moves):
            place = self.lesson.places[key]
            if place.students_turn:
                if key not in self.taught:
                    return game  # the lesson ends here
                game.asked.append((key, move))
            elif not place.replies and not self.inside(key):
                return game
            after = self.inside(key).get(move)
            if after is None:
                game.by = "student" if place.students_turn else "opponent"
                game.place, game.move, game.ply = key, move, ply
                return game
            game.kept += place.students_turn
            key = after
        return game


@dataclass(frozen=True, eq=False)
class Course:
    """All games of the lesson's colour, followed; in the order of `OwnGames`."""

    lesson: Lesson
    games: OwnGames
    followed: list[Followed]

    @cached_property
    def entered(self) -> list[Followed]:
        """Those in which the first taught move was played."""
        return [game for game in self.followed if game.entered]

    @cached_property
    def turns(self) -> tuple[Ints, Ints]:
        """For each game of the student's, whatever the colour: taught moves played, and asked."""
        kept, asked = (np.zeros(len(self.games), np.int64) for _ in range(2))
        for game in self.followed:
            kept[game.row], asked[game.row] = game.kept, len(game.asked)
        return kept, asked

    @cached_property
    def left_at(self) -> Ints:
        """For each game the number of the move at which the student left the lesson, or 0."""
        left = np.zeros(len(self.games), np.int64)
        for game in self.left("student"):
            left[game.row] = game.ply // 2 + 1
        return left

    def left(self, by: str) -> list[Followed]:
        """Of those that entered the games that somebody left first ("": nobody)."""
        return [game for game in self.entered if game.by == by]

    def rows(self, games: Sequence[Followed]) -> Ints:
        """The rows of some games."""
        return np.array([game.row for game in games], np.int64)


def course_of(games: OwnGames, lesson: Lesson) -> Course:
    """Follow the student's games of the lesson's colour."""
    places = Map(lesson)
    rows = np.flatnonzero(games.of(lesson.side)).tolist()
    plies = games.plies.tolist()
    return Course(
        lesson,
        games,
        [places.follow(row, games.moves[row, : plies[row]].tolist()) for row in rows],
    )


def against(course: Course, warnings: tuple[str, ...]) -> AgainstLesson:
    """What is said of the games beside the lesson."""
    entered, games = course.entered, course.followed
    left = {by: course.left(by) for by in ("student", "opponent", "")}
    rates = {by: own_rate(len(those), len(entered)) for by, those in left.items()}
    return AgainstLesson(
        lesson=course.lesson.name,
        title=course.lesson.title,
        side=course.lesson.side,
        games=len(games),
        met=sum(bool(game.asked) for game in games),
        entered=own_rate(len(entered), len(games)),
        stayed=mean_of(np.array([game.kept for game in entered], float), ONE_MOVE, LONGEST),
        left_by_student=rates["student"],
        left_by_opponent=rates["opponent"],
        ended=rates[""],
        kept=told(by_game(*course.turns).rate),
        results=tuple(
            results_of(of, course.games.points[rows], course.games.over[rows])
            for of, rows in (
                ("kept", course.rows([*left["opponent"], *left[""]])),
                ("left", course.rows(left["student"])),
                ("not entered", course.rows([game for game in games if not game.entered])),
            )
        ),
        by_student=_leavings(course, [game for game in games if game.by == "student"], _of_own),
        by_opponent=_leavings(course, [game for game in games if game.by == "opponent"], _replies),
        at_moves=tuple(_at_moves(games, course.lesson)),
        places=tuple(_places(course)),
        warnings=warnings,
    )


Says = Callable[[Place, str], tuple[tuple[str, ...], str]]


def _leavings(course: Course, left: Sequence[Followed], says: Says) -> tuple[Leaving, ...]:
    """The ways in which it was left, the commonest first."""
    groups: dict[tuple[int, int], list[Followed]] = {}
    for game in left:
        groups.setdefault((game.place, game.move), []).append(game)
    found = []
    for (key, packed), those in groups.items():
        place, move = course.lesson.places[key], unpack(packed)
        rows = course.rows(those)
        instead, kind = says(place, move.uci())
        found.append(
            Leaving(
                by=those[0].by,
                line=place.numbered,
                fen=place.fen,
                key=format_key(key),
                move=len(place.sans) // 2 + 1,
                san=chess.Board(place.fen).san(move),
                uci=move.uci(),
                instead=instead,
                kind=kind,
                games=len(those),
                last=day_of(int(course.games.day[rows].max())),
                results=results_of("all", course.games.points[rows], course.games.over[rows]),
            )
        )
    return tuple(sorted(found, key=lambda one: (-one.games, one.line, one.san)))


def _of_own(place: Place, uci: str) -> tuple[tuple[str, ...], str]:
    taught = (place.taught.san,) if place.taught else ()
    for kind, moves in (("alternative", place.alternatives), ("warning", place.warnings)):
        if any(move.uci == uci for move in moves):
            return taught, kind
    return taught, ""


def _replies(place: Place, _: str) -> tuple[tuple[str, ...], str]:
    return tuple(reply.san for reply in place.replies), ""


def _at_moves(games: Sequence[Followed], lesson: Lesson) -> Iterator[KeptAt]:
    """Turn by turn, by the number of the move."""
    asked: dict[int, list[bool]] = {}
    for game in games:
        for turn, (key, _) in enumerate(game.asked):
            number = len(lesson.places[key].sans) // 2 + 1
            asked.setdefault(number, []).append(turn < game.kept)
    for number, turns in sorted(asked.items()):
        yield KeptAt(number, own_rate(sum(turns), len(turns)))


def _places(course: Course) -> Iterator[LessonPlace]:
    """The taught positions that were met, in the lesson's order."""
    met: dict[int, list[tuple[int, int, bool]]] = {}
    for game in course.followed:
        for turn, (key, move) in enumerate(game.asked):
            met.setdefault(key, []).append((game.row, move, turn < game.kept))
    for place in course.lesson.taught:
        if place.key not in met or place.taught is None:
            continue
        wrong = np.array([not kept for _, _, kept in met[place.key]])
        days = course.games.day[[row for row, _, _ in met[place.key]]]
        last, since, over = run_since(days, wrong)
        yield LessonPlace(
            line=place.numbered,
            fen=place.fen,
            key=format_key(place.key),
            move=len(place.sans) // 2 + 1,
            taught=place.taught.san,
            kept=own_rate(int(np.count_nonzero(~wrong)), len(wrong)),
            missed=_most([move for _, move, kept in met[place.key] if not kept], place),
            last_missed=last,
            since_then=since,
            over=over,
        )


def _most(moves: Sequence[int], place: Place) -> str | None:
    """The commonest of some moves in SAN."""
    if not moves:
        return None
    packed, counts = np.unique(moves, return_counts=True)
    return chess.Board(place.fen).san(unpack(int(packed[counts.argmax()])))
