"""What goes on paper and slides beside pages: a diagram, a worksheet."""

from __future__ import annotations

from contextlib import nullcontext
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from explorer.cli import console
from explorer.cli.lessons import OPPONENTS, WITHOUT
from explorer.cli.options import (
    Large,
    Letters,
    Library,
    Names,
    NamesChoice,
    Open,
    Position,
    Side,
    ViewChoice,
    filtered,
    is_page,
)
from explorer.cli.pages import deliver_page, page_options
from explorer.cli.place import library_path, page_name
from explorer.cli.values import one_of, whole, words_of
from explorer.cli.write import checked_pgn
from explorer.query.filters import Filters
from ingest.errors import UsageError

if TYPE_CHECKING:
    from explorer.positions.lesson import Lesson
    from explorer.query.exercises import Worksheet

MOST_EXERCISES = 200
HIGHEST_SEED = 999_999_999


def diagram(
    position: Position = None,
    output: Annotated[
        Path | None,
        typer.Option("-o", "--output", metavar="FILE.svg", help="Write the drawing to this file."),
    ] = None,
    view: ViewChoice = Side.WHITE,
    arrow: Annotated[
        list[str] | None,
        typer.Option(metavar="MOVE", help="Draw an arrow, such as h5f7; may be repeated."),
    ] = None,
    mark: Annotated[
        list[str] | None,
        typer.Option(metavar="SQUARE", help="Ring a square, such as f7; may be repeated."),
    ] = None,
    letters: Letters = None,
    large: Large = False,
    open: Open = False,
) -> None:
    """Draw a position as an SVG file, for slides.

    POSITION is moves (e4 e5 Nf3), a FEN, an opening's name or a PGN file; left
    out, it is the start. For example: replybook diagram e4 e5 Nf3 f6 --mark f6
    """
    if output is not None and output.suffix.lower() != ".svg":
        raise UsageError(f"{output}: a diagram ends in .svg; write for example -o lesson.svg")
    from explorer.positions.typed import parse_position
    from explorer.report.diagram import parse_marks
    from explorer.report.files import write_text
    from explorer.report.slide import slide

    words = position or []
    marks = parse_marks(arrow or (), mark or ())
    asked = parse_position(words, letters)
    target = output or page_name("diagram", *words, ending=".svg")
    write_text(target, slide(asked, view.value, marks, letters, large))
    console.show(str(target))
    if open:
        console.open_page(target)


def _on_a_page(value: object) -> int:
    """How many diagrams: four, six or eight."""
    if (text := str(value).strip()) in ("4", "6", "8"):
        return int(text)
    raise UsageError(f"--a-page {text}: no such choice; write 4, 6 or 8")


@partial(filtered, without=WITHOUT, level_of=OPPONENTS)
def worksheet(
    filters: Filters,
    side: Annotated[
        Side,
        typer.Option(
            "--as",
            parser=one_of("--as", Side),
            metavar=words_of(Side),
            help="The student's colour.",
        ),
    ],
    lesson: Annotated[
        Path | None, typer.Argument(metavar="LESSON.pgn", help="", show_default=False, hidden=True)
    ] = None,
    mistakes: Annotated[
        bool,
        typer.Option("--mistakes", help="Add mistakes that opponents make: punish this."),
    ] = False,
    exercises: Annotated[
        int,
        typer.Option(
            parser=whole("--exercises", 1, MOST_EXERCISES, 12), metavar="N", help="How many."
        ),
    ] = 12,
    a_page: Annotated[
        int | None,
        typer.Option(
            parser=_on_a_page,
            metavar="4|6|8",
            help="Diagrams a page: 6 if left out, 4 with --large.",
        ),
    ] = None,
    seed: Annotated[
        int | None,
        typer.Option(
            parser=whole("--seed", 0, HIGHEST_SEED, 7),
            metavar="N",
            help="Draw them; another number is another draw.",
        ),
    ] = None,
    pgn: Annotated[
        Path | None,
        typer.Option("--pgn", metavar="FILE", help="Write the exercises to this PGN file too."),
    ] = None,
    names: NamesChoice = Names.INITIALS,
    letters: Letters = None,
    large: Large = False,
    output: Annotated[
        Path | None,
        typer.Option("-o", "--output", metavar="FILE.html", help="Write the page to this file."),
    ] = None,
    open: Open = False,
    library: Library = None,
) -> None:
    """Make a worksheet of exercises "your move", with answers.

    LESSON.pgn is a PGN file with variations: what it teaches is asked, first what games of
    the library come to most. --mistakes asks for the mistakes of opponents at --level.
    For example: replybook worksheet lesson.pgn --as white --level 800-1199
    """
    from explorer.positions.lesson import read_lesson
    from explorer.query.exercises import Wanted
    from explorer.query.exercises import worksheet as ask
    from explorer.query.library import open_library
    from explorer.report.worksheet_page import LARGE, USUAL, worksheet_page

    if lesson is None and not mistakes:
        raise UsageError("worksheet: nothing to draw from; name a LESSON.pgn, or add --mistakes")
    if output is not None and not is_page(output):
        raise UsageError(f"{output}: a worksheet ends in .html; for PGN, add --pgn FILE")
    pgn = pgn and checked_pgn(pgn)
    taught = read_lesson(str(lesson), side.value) if lesson else None
    path = library_path(library)
    asked = library is not None or mistakes or filters != Filters() or path.is_file()
    with open_library(path) if asked else nullcontext() as opened:
        wanted = Wanted(side.value, exercises, seed, mistakes)
        found = ask(taught, wanted, filters, opened)
    _talk(found, taught, wanted.mistakes, exercises)
    if pgn is not None:
        from explorer.report.exercise_pgn import worksheet_pgn

        console.deliver(worksheet_pgn(found, found.title), pgn)
    options = page_options(names, side, letters, large)
    page = worksheet_page(found, options, a_page or (LARGE if large else USUAL))
    target = output or page_name("worksheet", lesson.stem if lesson else f"mistakes-{side.value}")
    deliver_page(page, target, open)


def _talk(found: Worksheet, lesson: Lesson | None, mistakes: bool, wanted: int) -> None:
    """What a teacher should know of the sheet that is not on it."""
    if lesson and lesson.looks_like_the_other_side:
        console.say(f"{lesson.name}: it looks like a lesson for the other side; is --as right?")
    if mistakes and not found.of_mistakes:
        console.say("No mistake of this level that costs material lies on the lesson's lines.")
    if (shown := len(found.exercises)) < wanted:
        console.say(f"{shown} of {wanted} exercises: there is no other position to ask about.")


def register(app: typer.Typer) -> None:
    """Add this module's commands."""
    for command in (diagram, worksheet):
        app.command()(command)
