"""`replybook lesson page` and `replybook handout`: a lesson on paper."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from explorer.cli import console
from explorer.cli.lessons import (
    OPPONENTS,
    WITHOUT,
    LessonFile,
    MinGames,
    StartLine,
    StudentsSide,
    ToMove,
    group,
)
from explorer.cli.options import (
    MOST,
    Large,
    Letters,
    Library,
    Names,
    NamesChoice,
    Open,
    Side,
    filtered,
    is_page,
)
from explorer.cli.pages import deliver_page, page_options
from explorer.cli.place import library_path, page_name
from explorer.cli.values import one_of, whole, words_of
from explorer.query.filters import Filters
from ingest.errors import NothingFound, UsageError
from ingest.levels import parse_level

if TYPE_CHECKING:
    from explorer.positions.lesson import Lesson
    from explorer.query.lesson_met import LessonMet

StudentsView = Annotated[
    Side | None,
    typer.Option(
        "--view",
        parser=one_of("--view", Side),
        metavar=words_of(Side),
        help="The side at the bottom of the diagrams; the student's if left out.",
    ),
]
PageFile = Annotated[
    Path | None,
    typer.Option("-o", "--output", metavar="FILE.html", help="Write the page to this file."),
]


@partial(filtered, without=WITHOUT, level_of=OPPONENTS)
def page(
    filters: Filters,
    lesson: LessonFile,
    side: StudentsSide,
    to_move: ToMove = 8,
    start: StartLine = None,
    min_games: MinGames = 30,
    next_level: Annotated[
        str | None,
        typer.Option(metavar="LEVEL", help="Set opponents of this level beside the others."),
    ] = None,
    top: Annotated[
        int,
        typer.Option(
            parser=whole("--top", 1, MOST, 10),
            metavar="N",
            help="Show at most this many replies and lines of each kind.",
        ),
    ] = 10,
    view: StudentsView = None,
    names: NamesChoice = Names.INITIALS,
    letters: Letters = None,
    large: Large = False,
    output: PageFile = None,
    open: Open = False,
    library: Library = None,
) -> None:
    """Set a lesson as a book does, with how often each reply comes.

    LESSON.pgn has variations. --level is that of the opponents whom your students meet.
    For example: replybook lesson page italian.pgn --as white --level 800-1199
    """
    from explorer.positions.lesson import read_lesson
    from explorer.positions.typed import parse_position
    from explorer.query.lesson_met import lesson_met
    from explorer.query.library import open_library
    from explorer.report.lesson_page import lesson_page

    _checked(output, "a lesson's page", "for a table, use: replybook lesson check")
    level = parse_level(next_level) if next_level else None
    asked = parse_position([start] if start else [], letters)
    read = read_lesson(lesson, side.value)
    limits: dict[str, Any] = {"to_move": to_move, "min_games": min_games, "top": top}
    with open_library(library_path(library)) as opened:
        met = lesson_met(opened, read, filters, asked, next_level=level, **limits)
    options = page_options(names, view or side, letters, large)
    target = output or page_name("lesson", Path(lesson).stem)
    deliver_page(lesson_page(read, met, options), target, open)


@partial(filtered, without=WITHOUT, level_of=OPPONENTS)
def handout(
    filters: Filters,
    lesson: LessonFile,
    side: StudentsSide,
    to_move: ToMove = 8,
    start: StartLine = None,
    min_games: MinGames = 30,
    view: StudentsView = None,
    letters: Letters = None,
    large: Large = False,
    output: PageFile = None,
    open: Open = False,
    library: Library = None,
) -> None:
    """Make a sheet for each student: positions to know, what they will play.

    LESSON.pgn has variations. One sheet of paper, printed on both sides; without a library
    it has the moves alone. No names are on it.
    For example: replybook handout italian.pgn --as white --level 800-1199
    """
    from explorer.positions.lesson import read_lesson
    from explorer.report.handout_page import handout_page

    _checked(output, "a handout", "name it for example -o handout.html")
    read = read_lesson(lesson, side.value)
    limits: dict[str, Any] = {"to_move": to_move, "min_games": min_games}
    if read.looks_like_the_other_side:
        console.say(f"{lesson}: it looks like a lesson for the other side; is --as right?")
    met, why_not = None, "No library was asked."
    path = library_path(library)
    if library is not None or filters != Filters() or start or path.is_file():
        met, why_not = _met_if_any(path, read, filters, start, letters, limits)
    options = page_options(Names.INITIALS, view or side, letters, large)
    target = output or page_name("handout", Path(lesson).stem)
    deliver_page(handout_page(read, met, options, why_not), target, open)


def _met_if_any(
    path: Path,
    lesson: Lesson,
    filters: Filters,
    start: str | None,
    letters: str | None,
    limits: dict[str, Any],
) -> tuple[LessonMet | None, str]:
    """How often the lesson is met; without games nothing, and why."""
    from explorer.positions.typed import parse_position
    from explorer.query.lesson_met import lesson_met
    from explorer.query.library import open_library

    asked = parse_position([start] if start else [], letters)
    with open_library(path) as opened:
        try:
            return lesson_met(opened, lesson, filters, asked, **limits), ""
        except NothingFound as error:
            console.say(f"The handout has no numbers: {error}")
            return None, "The library has no games to count."


def _checked(output: Path | None, what: str, instead: str) -> None:
    """UsageError for a file that is no page."""
    if output is not None and not is_page(output):
        raise UsageError(f"{output}: {what} ends in .html; {instead}")


def register(app: typer.Typer) -> None:
    """Add the page to the commands on lessons, and the handout to all."""
    group.command()(page)
    app.command()(handout)
