"""`replybook student`: one student's own games."""

from __future__ import annotations

import os
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated
from urllib.parse import quote

import typer

from explorer.cli import console
from explorer.cli.class_file import Member, read_members
from explorer.cli.options import (
    Format,
    FormatChoice,
    Letters,
    Library,
    Names,
    NamesChoice,
    Open,
    OutputFile,
    Separator,
    Side,
    filtered,
    is_page,
)
from explorer.cli.pages import deliver_page, page_options, page_target
from explorer.cli.place import library_path
from explorer.cli.values import one_of, words_of
from explorer.cli.write import outlet
from explorer.query.filter_texts import parse_day
from explorer.query.filters import Filters
from ingest.errors import UsageError
from ingest.tags import same_name

if TYPE_CHECKING:
    from explorer.positions.lesson import Lesson
    from explorer.query.student_model import StudentAnswer


@partial(
    filtered,
    without=("since", "opponents", "player", "side", "min_games", "top"),
    level_of="the others",
)
def student(
    filters: Filters,
    name: Annotated[str, typer.Argument(metavar="NAME", hidden=True)],
    also: Annotated[
        list[str] | None,
        typer.Option(metavar="NAME", help="Another spelling of the name; may be repeated."),
    ] = None,
    students: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="The class: other names, level and lesson."),
    ] = None,
    lesson: Annotated[
        Path | None, typer.Option(metavar="LESSON.pgn", help="Set the games beside this lesson.")
    ] = None,
    side: Annotated[
        Side | None,
        typer.Option(
            "--as",
            parser=one_of("--as", Side),
            metavar=words_of(Side),
            help="The colour that the lesson teaches.",
        ),
    ] = None,
    since: Annotated[
        str | None, typer.Option(metavar="DATE", help="Compare before and since this date.")
    ] = None,
    habits: Annotated[
        bool, typer.Option("--habits", help="Add habits in the opening; takes longer.")
    ] = False,
    worksheet: Annotated[
        Path | None,
        typer.Option(metavar="FILE.html", help="Write what to practise as a worksheet."),
    ] = None,
    names: NamesChoice = Names.INITIALS,
    format: FormatChoice = None,
    separator: Separator = ",",
    letters: Letters = None,
    output: OutputFile = None,
    open: Open = False,
    library: Library = None,
) -> None:
    """Show one student's own games: what is played, what costs, what to practise.

    NAME is the student's, in any spelling. --level is that of the others beside whom the
    student is set; left out, it is the student's own. With -o FILE.html it is a page to hand out.
    For example: replybook student "Doe, Jane" --lesson italian.pgn --as white
    """
    from explorer.query.library import open_library
    from explorer.query.student import StudentOptions
    from explorer.query.student import student as ask
    from explorer.query.student_who import Who

    page = page_target(output, format, open, "student", initials_of(name))
    to = None if page else outlet(output, format, separator)
    if worksheet is not None and not is_page(worksheet):
        raise UsageError(f"--worksheet {worksheet}: a worksheet ends in .html")
    if worksheet is not None and page is not None and worksheet.resolve() == page.resolve():
        raise UsageError(f"--worksheet {worksheet}: that is the page; give the worksheet a name")
    member = _member(name, also or [], students)
    options = StudentOptions(
        filters,
        _lesson(member, lesson, side),
        parse_day(since, last=False) if since else None,
        habits,
    )
    with open_library(library_path(library)) as opened:
        answer = ask(opened, Who(member.names, member.level, member.level_since), options)
    for missing in answer.not_found:
        console.say(f"{missing}: no such name in the library; left out")
    if worksheet is not None:
        _write_worksheet(answer, worksheet, names, letters)
    if page is not None:
        from explorer.report.student_page import student_page

        link = _address(worksheet, page) if worksheet and answer.practise else ""
        text = student_page(answer, page_options(names, Side.WHITE, letters), worksheet=link)
        deliver_page(text, page, open)
    elif to is not None:
        from explorer.report.student_json import student_json
        from explorer.report.student_play_tables import moves_table
        from explorer.report.student_tables import student_tables

        first, *more = student_tables(answer, letters, names.value)
        if to.format is Format.CSV:
            first = moves_table(answer, letters)
        to.write(first, lambda: student_json(answer, names.value), more=more)


def initials_of(name: str) -> str:
    """For a file's name: pages must not give a name away by theirs."""
    from explorer.report.privacy import initials

    return initials(name)


def _member(name: str, also: list[str], students: Path | None) -> Member:
    """The student as the command line and the class file say. UsageError if the file does not."""
    spelt = (name, *also)
    if students is None:
        return Member(spelt)
    asked = set(map(same_name, spelt))
    for member in read_members(students):
        if asked & set(map(same_name, member.names)):
            more = [other for other in spelt if same_name(other) not in _same(member)]
            return replace(member, names=(*member.names, *more))
    raise UsageError(f"{name}: not in {students}; add them there, or leave --students out")


def _same(member: Member) -> set[str]:
    return set(map(same_name, member.names))


def _lesson(member: Member, path: Path | None, side: Side | None) -> Lesson | None:
    """The lesson of the command line, else of the class file."""
    from explorer.positions.lesson import read_lesson

    if path is None and side is not None and member.lesson is None:
        raise UsageError("--as: this is the colour that a lesson teaches; add --lesson FILE.pgn")
    if path is not None:
        if side is None:
            raise UsageError(f"--lesson {path}: which side does it teach? Add --as white or black")
        return read_lesson(str(path), side.value)
    if member.lesson is None:
        return None
    return read_lesson(str(member.lesson), side.value if side else member.lesson_side)


def _address(worksheet: Path, page: Path) -> str:
    """Where the worksheet lies, from the page."""
    try:
        near = os.path.relpath(worksheet, page.parent)
    except ValueError:  # another drive of Windows
        return worksheet.resolve().as_uri()
    return quote(Path(near).as_posix())


def _write_worksheet(
    answer: StudentAnswer, target: Path, names: Names, letters: str | None
) -> None:
    """What to practise as exercises; where there is nothing, it says so."""
    from explorer.query.student_practise import practice_sheet
    from explorer.report.worksheet_page import worksheet_page

    sheet = practice_sheet(answer)
    if not sheet.exercises:
        console.say(f"{target}: not written; there is nothing to practise yet")
        return
    options = page_options(names, Side(sheet.side), letters)
    deliver_page(worksheet_page(sheet, options), target, open=False)


def register(app: typer.Typer) -> None:
    """Add this module's command."""
    app.command()(student)
