"""The worksheet: exercises as a chess book prints them, and the answers on a page of their own."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from explorer.positions.exercise import Exercise
from explorer.query.exercises import Worksheet
from explorer.report import exercise_words as said
from explorer.report import words
from explorer.report.diagram import Marks, diagram
from explorer.report.privacy import Veil
from explorer.report.sheet import PageOptions, sheet

ON_A_PAGE = {4: "four", 6: "six", 8: "eight"}
USUAL, LARGE = 6, 4


@dataclass(frozen=True, slots=True)
class Asked:
    """One exercise on the sheet: texts and a drawing; ``white`` is to move."""

    number: int
    drawing: str
    turn: str
    white: bool
    played: str


@dataclass(frozen=True, slots=True)
class PageOf:
    """The exercises of one printed page."""

    heading: str
    exercises: tuple[Asked, ...]


@dataclass(frozen=True, slots=True)
class Solved:
    """One entry of the answers."""

    number: int
    move: str
    line: str
    reason: str
    comment: str
    asides: tuple[str, ...]


def worksheet_page(found: Worksheet, options: PageOptions, a_page: int = USUAL) -> str:
    """HTML of a worksheet, ``a_page`` (4, 6 or 8) diagrams a printed page.

    The bytes depend on the arguments alone.
    """
    names = options.names
    veil = Veil.over(found.origin, names) if found.origin else Veil(names)
    return sheet(
        "worksheet.html.j2",
        found.origin,
        options,
        chosen=words.opponents_sentence(found.origin.filters, veil) if found.origin else "",
        title=said.TITLE,
        name=veil.text(found.title),
        notes=[*said.notes(found)],
        reached=[],
        size=ON_A_PAGE[a_page],
        pages=tuple(_pages(found, options, a_page)),
        answers=tuple(
            _solved(number, one, options.letters)
            for number, one in enumerate(found.exercises, start=1)
        ),
    )


def _pages(found: Worksheet, options: PageOptions, a_page: int) -> Iterator[PageOf]:
    for first in range(0, len(found.exercises), a_page):
        part = found.exercises[first : first + a_page]
        asked = tuple(_asked(first + i, one, options) for i, one in enumerate(part, start=1))
        yield PageOf(said.numbers(first + 1, part), asked)


def _asked(number: int, exercise: Exercise, options: PageOptions) -> Asked:
    board = exercise.position.board()
    marks = Marks(board.peek())
    return Asked(
        number=number,
        drawing=diagram(board, options.view, marks, standalone=False, large=options.large),
        turn=said.turn(exercise),
        white=board.turn,
        played=said.just_played(exercise, options.letters),
    )


def _solved(number: int, exercise: Exercise, letters: str | None) -> Solved:
    move, line = said.answer(exercise, letters)
    return Solved(
        number=number,
        move=move,
        line=line,
        reason=said.reason(exercise, letters),
        comment=said.comment(exercise.comment),
        asides=tuple(said.asides(exercise, letters)),
    )
