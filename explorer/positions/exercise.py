"""Exercises "your move": a position, and the move that the student is to find."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

from explorer.positions.facts import PlyFacts, balance, line_facts
from explorer.positions.lesson import Lesson, LessonMove, Place
from explorer.positions.position import Position

LONG = 5  # plies of a solution: three moves of the student
LONGEST = 11  # where captures and checks go on


@dataclass(frozen=True)
class Exercise:
    """One exercise.

    ``solution`` are UCI moves: the answer, and how the lesson goes on. ``alternatives`` are
    other good answers and ``warnings`` bad ones, with the teacher's words. ``games`` came to
    the position, None where no library was asked. ``found`` says in how many games of how many
    the answer was played, where the library is what gives it.
    """

    position: Position
    solution: tuple[str, ...]
    comment: str = ""
    alternatives: tuple[LessonMove, ...] = ()
    warnings: tuple[LessonMove, ...] = ()
    games: int | None = None
    found: tuple[int, int] | None = None

    @property
    def key(self) -> int:
        """The position's key: no two exercises of a sheet have the same."""
        return self.position.key

    @cached_property
    def line(self) -> Position:
        """The position at the end of the solution."""
        line = self.position
        for uci in self.solution:
            line = line.after(uci)
        return line

    @property
    def sans(self) -> tuple[str, ...]:
        """The solution in SAN."""
        return self.line.sans[len(self.position.sans) :]

    @cached_property
    def facts(self) -> tuple[PlyFacts, ...]:
        """What the rules say after each move of the solution."""
        return line_facts(self.line)[len(self.position.ucis) :]

    @property
    def balance(self) -> int:
        """Material before the answer, White minus Black, in pawns."""
        return balance(self.position.board())


def lesson_exercises(lesson: Lesson) -> Iterator[Exercise]:
    """The positions in which the student must know the move, in the lesson's order.

    The start of the game is none: nothing has been played that could be answered.
    """
    for place in lesson.taught:
        if place.line and place.taught:
            yield Exercise(
                Position(place.fen, place.key, ucis=place.line, sans=place.sans),
                tuple(_solution(lesson, place)),
                place.taught.comment,
                tuple(place.alternatives),
                tuple(place.warnings),
            )


def _solution(lesson: Lesson, place: Place) -> Iterator[str]:
    """The taught move, then the first reply that has an answer, and so on."""
    line = Position(place.fen, place.key, ucis=place.line, sans=place.sans)
    moves = [place.taught.uci] if place.taught else []
    while moves:
        yield from moves
        for uci in moves:
            line = line.after(uci)
        plies = len(line.ucis) - len(place.line)
        settled = not {"x", "+"} & set(line.sans[-1])
        if plies >= LONGEST or (plies >= LONG and settled):
            return
        moves = _next_moves(lesson, line)


def _next_moves(lesson: Lesson, line: Position) -> list[str]:
    """A reply of the lesson and the answer to it; empty where it has none."""
    here = lesson.places.get(line.key)
    for reply in here.replies if here else ():
        there = lesson.places.get(line.after(reply.uci).key)
        if there and there.taught:
            return [reply.uci, there.taught.uci]
    return []
