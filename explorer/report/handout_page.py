"""The handout: what a student takes home, on one sheet of paper.

Key positions with the move to play, room for three things to remember, and what opponents
will play.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import accumulate
from math import ceil
from textwrap import shorten

import chess

from explorer.positions.lesson import Lesson, LessonMove, Place
from explorer.query.lesson_met import LessonMet, Replies
from explorer.report import book_words, handout_words, lesson_words
from explorer.report.diagram import Marks, diagram
from explorer.report.grids import grids
from explorer.report.key_positions import by_meeting, key_positions
from explorer.report.lesson_page import held, title_of
from explorer.report.privacy import Veil
from explorer.report.sheet import PageOptions, sheet
from explorer.report.tables import Cell, Column, Few, Table
from ingest.poskey import key_of

TO_REMEMBER = 3
LONGEST_TITLE = 80
MOST_ROWS = 16


@dataclass(frozen=True, slots=True)
class Room:
    """What one sheet of paper holds: diagrams, lines of the table, letters of a line's cell."""

    pictures: int
    lines: int
    letters: int


USUAL, LARGE = Room(6, 24, 44), Room(4, 10, 25)


@dataclass(frozen=True, slots=True)
class Key:
    """A position to know: the drawing, how it came about, the move, the teacher's words."""

    drawing: str
    line: str
    move: str
    why: str


def handout_page(
    lesson: Lesson, met: LessonMet | None, options: PageOptions, why_not: str = ""
) -> str:
    """HTML of a handout; without ``met`` it says no numbers, and ``why_not``.

    It prints on two pages at most. No name is ever on it. The bytes depend on the
    arguments alone.
    """
    options = replace(options, names="initials")
    veil = Veil.over(met.answer, options.names) if met else Veil(options.names)
    in_100 = met.in_100 if met else {}
    room = LARGE if options.large else USUAL
    keys = key_positions(lesson, in_100, room.pictures, apart=False)
    table = _table(lesson, met, room, options.letters)
    return sheet(
        "handout.html.j2",
        met.answer if met else None,
        options,
        chosen=lesson_words.opponents(met.answer, veil) if met else "",
        title=shorten(veil.text(title_of(lesson)), LONGEST_TITLE, placeholder=" …"),
        name=handout_words.side(lesson.side),
        notes=[*handout_words.notes(met, why_not, options.letters)],
        reached=[],
        keys=tuple(_key(place, options, veil) for place in keys),
        says=tuple(handout_words.expect(met, options.letters)),
        table=held(grids(table)),
        more=table.notes,
        lines=range(1, TO_REMEMBER + 1),
    )


def _key(place: Place, options: PageOptions, veil: Veil) -> Key:
    board = _board(place)
    why = book_words.comment(_taught(place).comment, options.letters)
    line, marks = handout_words.way(place.sans, options.letters), Marks(board.peek())
    return Key(
        drawing=diagram(board, options.view, marks, standalone=False, large=options.large),
        line=line,
        move=_answer(place, board, options.letters),
        why=veil.text(why) if len(line) + len(why) <= handout_words.SHORT else "",
    )


def _board(place: Place) -> chess.Board:
    """The position with the moves that lead to it."""
    board = chess.Board()
    for uci in place.line:
        board.push_uci(uci)
    return board


def _taught(place: Place) -> LessonMove:
    assert place.taught is not None
    return place.taught


def _answer(place: Place, board: chess.Board, letters: str | None) -> str:
    """The taught move with its number."""
    return book_words.move(board, chess.Move.from_uci(_taught(place).uci), letters)


def _table(lesson: Lesson, met: LessonMet | None, room: Room, letters: str | None) -> Table:
    """A row for each reply that the lesson answers, those met most, then earliest, first.

    Where games are counted from a start on, the replies before it are left out.
    """
    start = met.answer.start if met else ""
    later = [place for place in lesson.taught if not start.startswith(place.numbered)]
    places = by_meeting(later if start else lesson.taught, met.in_100 if met else {})
    rows = [tuple(_row(place, met, letters)) for place in places]
    lines = accumulate(ceil(len(str(row[0])) / room.letters) for row in rows)
    shown = [row for row, used in zip(rows, lines, strict=True) if used <= room.lines][:MOST_ROWS]
    counted = [Column("Of 100 games", "in 100"), Column("Seen there")] if met else []
    return Table(
        title="What they will play",
        columns=(Column("After", "moves"), Column("They play"), *counted, Column("You play")),
        rows=tuple(shown),
        notes=tuple(handout_words.left_out(len(rows) - len(shown))),
    )


def _row(place: Place, met: LessonMet | None, letters: str | None) -> Iterator[Cell]:
    board = _board(place)
    answer = _answer(place, board, letters)
    last = board.pop()
    yield handout_words.way(place.sans[:-1], letters) or handout_words.START
    yield book_words.move(board, last, letters)
    if met is not None:
        yield from _counts(place, met, met.replies.get(key_of(board)))
    yield answer


def _counts(place: Place, met: LessonMet, there: Replies | None) -> Iterator[Cell]:
    """In how many of 100 games, and the games behind that."""
    in_100 = met.in_100.get(place.key)
    share = None if in_100 is None else in_100 / 100
    yield Few(share) if there is None or there.few else share
    yield handout_words.seen(there, place.line[-1])
