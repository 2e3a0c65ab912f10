"""`replybook class` and `replybook week`: pages about the members of a class."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from explorer.cli import console
from explorer.cli.class_file import Member, read_members
from explorer.cli.options import Letters, Library, Names, NamesChoice, Open, Side, is_page
from explorer.cli.pages import deliver_page, page_options
from explorer.cli.place import library_path, page_name
from explorer.query.filter_texts import parse_day
from ingest.errors import InputError, NothingFound, UsageError

if TYPE_CHECKING:
    from explorer.positions.lesson import Lesson
    from explorer.query.student_model import StudentAnswer
    from explorer.query.whole_class import Pupil
    from explorer.report.sheet import PageOptions

OVERVIEW = "overview.html"
PAGES = "student-*.html"
COMMAND = "class"

ClassFile = Annotated[Path, typer.Argument(metavar="CLASS.toml", hidden=True)]


def class_(
    file: ClassFile,
    folder: Annotated[
        Path | None,
        typer.Option(metavar="DIR", help="Where the pages go; a folder named like CLASS.toml."),
    ] = None,
    since: Annotated[
        str | None,
        typer.Option(metavar="DATE", help="Compare each student before and since this date."),
    ] = None,
    names: NamesChoice = Names.INITIALS,
    letters: Letters = None,
    open: Open = False,
    library: Library = None,
) -> None:
    """Make a page for each student of a class, and an overview.

    CLASS.toml has for each of them [[player]] and under it name = "Doe, Jane"; if wanted also,
    level, level_since, lesson and lesson_side. For example: replybook class class.toml
    """
    from explorer.query.library import open_library
    from explorer.query.student import StudentOptions
    from explorer.query.whole_class import whole_class

    day = parse_day(since, last=False) if since else None
    members = read_members(file)
    pupils = _pupils(file, members)
    target = folder or page_name(file.stem, ending="")
    _refuse_other_pages(target)
    found: dict[int, StudentAnswer] = {}
    with open_library(library_path(library)) as opened:
        for told in whole_class(opened, pupils, StudentOptions(since=day, habits=True)):
            if told.answer is None:
                console.say(f"{file}: {told.why_not}")
            else:
                found[told.number] = told.answer
    if not found:
        raise NothingFound(f"{file}: the library has games of nobody in it; check the names")
    made = _Class(members, names, page_options(names, Side.WHITE, letters))
    _write(target, made.pages(found))
    console.show(str(target / OVERVIEW))
    if open:
        console.open_page(target / OVERVIEW)


@dataclass(frozen=True)
class _Class:
    """Who is in the class, and how its pages are made."""

    members: Sequence[Member]
    names: Names
    options: PageOptions

    @property
    def labels(self) -> list[str]:
        """How each is called on pages."""
        return labels_of(self.members, self.names)

    @property
    def spellings(self) -> list[str]:
        """All names of all."""
        return [name for member in self.members for name in member.names]

    def page_of(self, number: int) -> str:
        """A file's name by place and initials: it may lie about, so no name is in it."""
        from explorer.report.privacy import initials

        letters = initials(self.members[number].names[0]).replace(" ", "").replace(".", "")
        return page_name(f"student-{number + 1:02}", letters).name

    def pages(self, found: dict[int, StudentAnswer]) -> dict[str, str]:
        """The text of each page by the name of its file, the overview last."""
        from explorer.report.overview_page import Entry, overview_page
        from explorer.report.student_page import student_page

        labels, every = self.labels, self.spellings
        pages, entries = {}, []
        for number, answer in found.items():
            page = self.page_of(number)
            entries.append(Entry(labels[number], page, answer))
            pages[page] = student_page(answer, self.options, every, label=labels[number])
        missing = [label for number, label in enumerate(labels) if number not in found]
        pages[OVERVIEW] = overview_page(entries, missing, self.options, every)
        return pages


def labels_of(members: Sequence[Member], names: Names) -> list[str]:
    """How each member is called on pages: initials, told apart, or the name."""
    from explorer.report.student_discreet import spoken, told_apart

    shown = [member.names[0] for member in members]
    return [*map(spoken, shown)] if names is Names.FULL else list(told_apart(shown))


def _pupils(file: Path, members: Sequence[Member]) -> list[Pupil]:
    """The members with their lessons, each file read once."""
    from explorer.positions.lesson import read_lesson
    from explorer.query.student_who import Who
    from explorer.query.whole_class import Pupil

    lessons: dict[tuple[Path, str], Lesson] = {}
    pupils = []
    for number, member in enumerate(members, start=1):
        lesson = None
        if member.lesson is not None:
            key = member.lesson, member.lesson_side
            try:
                lesson = lessons.get(key) or read_lesson(str(member.lesson), member.lesson_side)
            except InputError as error:
                raise InputError(f"{file}: player {number} ({member.names[0]}): {error}") from error
            lessons[key] = lesson
        pupils.append(Pupil(Who(member.names, member.level, member.level_since), lesson))
    return pupils


def _refuse_other_pages(target: Path) -> None:
    """UsageError when the folder holds pages of others that ours would replace."""
    from explorer.report.kept import kept_command

    for page in (target / OVERVIEW, *sorted(target.glob(PAGES))):
        if page.is_file() and kept_command(page) is None:
            raise UsageError(
                f"{page}: not a page of Replybook, and it would be lost; choose another --folder"
            )


def _write(target: Path, pages: dict[str, str]) -> None:
    """Each page beside its place and renamed; what is left from another time is named."""
    from explorer.report.files import write_text

    try:
        target.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise InputError(
            f"{target}: the folder cannot be made ({error.strerror}); choose another --folder"
        ) from error
    for name, text in pages.items():
        write_text(target / name, text)
    old = sorted(page.name for page in target.glob(PAGES) if page.name not in pages)
    if old:
        console.say(f"{target}: left from another time: {', '.join(old)}; delete what is old")


def week(
    file: ClassFile,
    since: Annotated[
        str,
        typer.Option(metavar="DATE", help="Games played from this date on.", show_default=False),
    ],
    output: Annotated[
        Path | None,
        typer.Option("-o", "--output", metavar="FILE.html", help="Write the page to this file."),
    ] = None,
    names: NamesChoice = Names.INITIALS,
    letters: Letters = None,
    open: Open = False,
    library: Library = None,
) -> None:
    """Make the Monday page: what a class played since a date.

    Who met the lesson, which answers were found and missed, listed mistakes made and punished,
    and three positions to show. For example: replybook week class.toml --since 2026-03-02
    """
    from explorer.query.library import open_library
    from explorer.query.week import week as ask
    from explorer.report.week_page import week_page

    if output is not None and not is_page(output):
        raise UsageError(f"{output}: this page ends in .html; write for example -o week.html")
    day = parse_day(since, last=False)
    members = read_members(file)
    pupils = _pupils(file, members)
    with open_library(library_path(library)) as opened:
        answer = ask(opened, pupils, day)
    for _, why in answer.not_found:
        console.say(f"{file}: {why}")
    options = page_options(names, Side.WHITE, letters)
    spellings = [name for member in members for name in member.names]
    page = week_page(answer, labels_of(members, names), options, spellings)
    deliver_page(page, output or page_name("week", file.stem, str(day)), open)


def register(app: typer.Typer) -> None:
    """Add this module's commands."""
    app.command(COMMAND)(class_)
    app.command()(week)
