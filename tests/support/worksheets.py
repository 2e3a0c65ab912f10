"""Worksheets made by hand from a small lesson. The lesson is invented."""

from __future__ import annotations

import io
from dataclasses import replace
from pathlib import Path

import chess.pgn

from explorer.positions.exercise import Exercise, lesson_exercises
from explorer.positions.lesson import lesson_of, read_lesson
from explorer.positions.typed import parse_position
from explorer.query.exercises import Origin, Worksheet
from explorer.query.filters import Filters
from ingest.levels import parse_level
from tests.support.answers import make_source

LESSON = """[Event "Lesson: \\"first\\" replies"]

1. e4 e5 (1... c5 2. Nf3) 2. Nf3 { [%cal Gf3e5] Attacks {e5. }
( 2. Bc4 { Also sound. } ) ( 2. Qh5 $2 { Too early. } ) 2... Nc6
( 2... f6 3. Nxe5 fxe5 4. Qh5+ { Only two replies. } g6 5. Qxe5+ Qe7 6. Qxh8 ) 3. Bc4 *
"""
SAMPLE = Path(__file__).parents[2] / "sample_games" / "lesson_italian.pgn"


def exercises() -> list[Exercise]:
    """After 1... e5, 2... Nc6, 2... f6, 3... fxe5, 4... g6, 5... Qe7 and at last 1... c5."""
    game = chess.pgn.read_game(io.StringIO(LESSON))
    assert game is not None
    return list(lesson_exercises(lesson_of([game], "lesson.pgn", "white")))


def mate() -> Exercise:
    """A mistake that is mated, found in 5 of 12 games."""
    position = parse_position("e4 e5 Bc4 Nc6 Qh5 Nf6")
    return Exercise(position, ("h5f7",), games=12, found=(5, 12))


def make_worksheet(**changes: object) -> Worksheet:
    """A sheet without a library, in the lesson's order."""
    found = exercises()
    sheet = Worksheet(
        side="white",
        title='Lesson: "first" replies',
        exercises=tuple(found),
        of=len(found),
        of_mistakes=0,
        seed=None,
        weighed=False,
        origin=None,
    )
    return replace(sheet, **changes)  # type: ignore[arg-type]


def weighed_worksheet(**changes: object) -> Worksheet:
    """A sheet with a mistake, chosen by a library's games."""
    level = Filters(levels=(parse_level("800-1199"),))
    few = tuple(replace(one, games=9) for one in exercises()[:2])
    sheet = make_worksheet(
        exercises=(*few, mate()),
        of=7,
        of_mistakes=1,
        weighed=True,
        origin=Origin(level, make_source()),
    )
    return replace(sheet, **changes)  # type: ignore[arg-type]


def long_worksheet(count: int) -> Worksheet:
    """The first exercises of the sample lesson."""
    lesson = read_lesson(str(SAMPLE), "white")
    found = tuple(lesson_exercises(lesson))[:count]
    return make_worksheet(title=lesson.title, exercises=found, of=50)
