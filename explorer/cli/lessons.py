"""`replybook lesson`: what to teach, what it answers, and what is missing."""

from __future__ import annotations

from functools import partial
from typing import Annotated, Any

import typer

from explorer.cli.complaints import Commands
from explorer.cli.options import (
    MOST,
    FormatChoice,
    Letters,
    Library,
    Names,
    NamesChoice,
    OutputFile,
    Separator,
    Side,
    filtered,
)
from explorer.cli.place import library_path
from explorer.cli.values import one_of, whole, words_of
from explorer.cli.write import outlet
from explorer.query.filters import Filters
from ingest.levels import parse_level

LAST_MOVE = 100
# Of a lesson the level is that of the opponents.
WITHOUT = ("player", "side", "opponents", "min_games", "top")
OPPONENTS = "the student's opponents"

group = typer.Typer(
    name="lesson",
    cls=Commands,
    rich_markup_mode=None,
    help="Check a lesson: PGN with variations. What does it answer, and what is missing?",
)

LessonFile = Annotated[
    str, typer.Argument(metavar="LESSON.pgn", help="", show_default=False, hidden=True)
]
StudentsSide = Annotated[
    Side,
    typer.Option(
        "--as",
        parser=one_of("--as", Side),
        metavar=words_of(Side),
        help="The student's colour.",
        show_default=False,
    ),
]
ToMove = Annotated[
    int,
    typer.Option(
        parser=whole("--to-move", 1, LAST_MOVE, 8),
        metavar="N",
        help="Look at the student's moves up to this one.",
    ),
]
StartLine = Annotated[
    str | None,
    typer.Option(metavar="LINE", help="Count only games that come to this line: 'e4 e5'."),
]
MinGames = Annotated[
    int,
    typer.Option(
        parser=whole("--min-games", 1, MOST, 30),
        metavar="N",
        help="Fewer games at a position of the opponent are too few to say.",
    ),
]


@partial(filtered, without=WITHOUT, level_of=OPPONENTS)
def check(
    filters: Filters,
    lesson: LessonFile,
    side: StudentsSide,
    to_move: ToMove = 8,
    start: StartLine = None,
    min_games: MinGames = 30,
    next_level: Annotated[
        str | None,
        typer.Option(metavar="LEVEL", help="What must be added against opponents of this level?"),
    ] = None,
    top: Annotated[
        int,
        typer.Option(
            parser=whole("--top", 1, MOST, 10),
            metavar="N",
            help="Show at most this many replies and lines of each kind.",
        ),
    ] = 10,
    names: NamesChoice = Names.INITIALS,
    format: FormatChoice = None,
    separator: Separator = ",",
    letters: Letters = None,
    output: OutputFile = None,
    library: Library = None,
) -> None:
    """Say what a lesson answers of what opponents play, and what is missing.

    LESSON.pgn has variations: moves of the student are taught, moves of the opponent are
    answered. --level is that of the opponents whom your students meet.
    For example: replybook lesson check italian.pgn --as white --level 800-1199
    """
    from explorer.positions.lesson import read_lesson
    from explorer.positions.typed import parse_position
    from explorer.query.lesson_check import lesson_check
    from explorer.query.library import open_library
    from explorer.report.lesson_json import lesson_json
    from explorer.report.lesson_tables import lesson_tables

    to = outlet(output, format, separator, page="lesson page")
    level = parse_level(next_level) if next_level else None
    asked = parse_position([start] if start else [], letters)
    read = read_lesson(lesson, side.value)
    limits: dict[str, Any] = {"to_move": to_move, "min_games": min_games, "top": top}
    with open_library(library_path(library)) as opened:
        found = lesson_check(opened, read, filters, asked, next_level=level, **limits)
    first, *more = lesson_tables(found, letters, names.value)
    to.write(first, lambda: lesson_json(found, names.value), more=more)


def register(app: typer.Typer) -> None:
    """Add this module's group of commands."""
    group.command()(check)
    app.add_typer(group)
