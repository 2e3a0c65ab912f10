"""`replybook lesson draft`: a first draft of a lesson, as PGN."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import Annotated

import typer

from explorer.cli import console
from explorer.cli.command_line import quoted, typed
from explorer.cli.lessons import OPPONENTS, WITHOUT, StartLine, StudentsSide, ToMove, group
from explorer.cli.options import (
    Format,
    FormatChoice,
    Letters,
    Library,
    Names,
    NamesChoice,
    Separator,
    filtered,
)
from explorer.cli.place import library_path, page_name
from explorer.cli.values import whole
from explorer.cli.write import outlet
from explorer.query.filters import Filters
from ingest.errors import UsageError
from ingest.levels import Level, parse_level

MOST_POSITIONS = 500
# Options that `lesson check` has not, or is better asked without; whether they have a value.
NOT_CHECKED = {
    "-o": True,
    "--output": True,
    "--replace": False,
    "--positions": True,
    "--worth": True,
    "--prefer": True,
    "--model-level": True,
    "--never": True,
    "--allow-fading": False,
    "--format": True,
    "--separator": True,
}


def _worth(value: object) -> float:
    """A part of the games, in per cent."""
    text = str(value).strip().removesuffix("%").strip().replace(",", ".")
    try:
        number = float(text)
    except ValueError:
        number = -1.0
    if 0 <= number <= 100:
        return number
    raise UsageError(f"--worth {value}: not a number from 0 to 100; write for example --worth 0.5")


@partial(filtered, without=WITHOUT, level_of=OPPONENTS)
def draft(
    filters: Filters,
    side: StudentsSide,
    start: StartLine = None,
    positions: Annotated[
        int,
        typer.Option(
            parser=whole("--positions", 1, MOST_POSITIONS, 25),
            metavar="N",
            help="Learn at most this many positions.",
        ),
    ] = 25,
    to_move: ToMove = 8,
    worth: Annotated[
        float,
        typer.Option(
            parser=_worth,
            metavar="NUMBER",
            help="Stop when the next position is met in fewer of 100 games.",
        ),
    ] = 0.5,
    prefer: Annotated[
        Path | None,
        typer.Option(metavar="FILE.pgn", help="Take the moves of this lesson first."),
    ] = None,
    model_level: Annotated[
        str | None,
        typer.Option(
            metavar="LEVEL", help="Whose moves to teach; the band above --level if left out."
        ),
    ] = None,
    never: Annotated[
        list[str] | None,
        typer.Option(metavar="LINE", help="Never teach its last move; may be repeated."),
    ] = None,
    allow_fading: Annotated[
        bool,
        typer.Option("--allow-fading", help="Also teach moves that stronger players give up."),
    ] = False,
    output: Annotated[
        Path | None,
        typer.Option("-o", "--output", metavar="LESSON.pgn", help="Write the lesson to this file."),
    ] = None,
    replace: Annotated[
        bool, typer.Option("--replace", help="Write over a file that is there.")
    ] = False,
    names: NamesChoice = Names.INITIALS,
    format: FormatChoice = None,
    separator: Separator = ",",
    letters: Letters = None,
    library: Library = None,
) -> None:
    """Make a first draft of a lesson: answer what is met most often.

    The lesson is a PGN file with variations, for any editor. --level is that of the
    opponents whom your students meet. --start is a line to begin with.
    For example: replybook lesson draft --as white --start "e4 e5 Nf3" --level 800-1199
    """
    from explorer.positions.lesson import read_lesson
    from explorer.positions.typed import parse_position
    from explorer.query.draft import Wish
    from explorer.query.draft import draft as ask
    from explorer.query.library import open_library
    from explorer.report.draft_tables import draft_file, draft_json, draft_tables
    from explorer.report.lesson_pgn import draft_pgn

    to = outlet(None, format, separator)
    target = _target(output, replace, side.value, start, filters.levels)
    wish = Wish(
        side=side.value,
        start=parse_position(start or [], letters),
        positions=positions,
        to_move=to_move,
        worth=worth,
        prefer=read_lesson(str(prefer), side.value) if prefer else None,
        model=_model(model_level),
        never=tuple(parse_position(line, letters) for line in never or ()),
        allow_fading=allow_fading,
    )
    with open_library(library_path(library)) as opened:
        answer = ask(opened, filters, wish)
    console.deliver(draft_pgn(answer), target)
    first, *more = draft_tables(answer, letters, names.value)
    table = draft_file(answer, letters) if to.format is Format.CSV else first
    to.write(table, lambda: draft_json(answer, names.value), more=more)
    console.say(f"Next: {_check(target)}")


def _target(
    output: Path | None,
    replace: bool,
    side: str,
    start: str | None,
    levels: tuple[Level, ...],
) -> Path:
    """The lesson's file. UsageError when it is there: somebody may have worked on it."""
    typed = [level.typed for level in levels]
    target = output or page_name("lesson", side, start or "", *typed, ending=".pgn")
    if target.suffix.lower() != ".pgn":
        raise UsageError(f"{target}: a lesson ends in .pgn; write for example -o lesson.pgn")
    if target.exists() and not replace:
        raise UsageError(
            f"{target}: there is such a file, and you may have worked on it; choose another "
            "-o FILE.pgn, or add --replace"
        )
    return target


def _model(text: str | None) -> tuple[Level, ...] | None:
    """The level to learn from."""
    if text is None:
        return None
    try:
        return (parse_level(text),)
    except UsageError as error:
        raise UsageError(f"--model-level: {error}") from error


def _check(target: Path) -> str:
    """The command that says what the lesson leaves unanswered, from the running one."""
    kept, words = [], iter(typed()[2:])
    for word in words:
        option, _, value = word.partition("=")
        if option in NOT_CHECKED:
            if NOT_CHECKED[option] and not value:
                next(words, None)
        elif not word.startswith("-o"):
            kept.append(word)
    return quoted("replybook", "lesson", "check", str(target), *kept)


def register(app: typer.Typer) -> None:
    """Add this module's command to the group of lessons."""
    group.command()(draft)
