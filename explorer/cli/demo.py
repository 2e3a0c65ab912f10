"""`replybook demo`: a library from the sample games, a table, a page, and what to try next."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Annotated

import typer

from explorer.cli import console
from explorer.cli.command_line import quoted
from explorer.cli.place import sample_games
from explorer.query.filters import Filters
from ingest.errors import LibraryError

FOLDER = Path("replybook-demo")
COLLECTIONS = {
    "club season": "club_season.pgn.gz",
    "junior cup": "junior_cup.pgn.gz",
    "student": "student.pgn.gz",
}
LESSON = "lesson_italian.pgn"
LINE = ["e4", "e5", "Nf3"]


def demo(
    folder: Annotated[
        Path,
        typer.Option("--folder", metavar="FOLDER", help="Where to put the library and the page."),
    ] = FOLDER,
) -> None:
    """Try it on invented games.

    Builds a library, asks it a question, and makes a page; a lesson to check lies beside it.
    """
    from explorer.cli.reporting import make_page
    from explorer.positions.typed import parse_position
    from explorer.query.library import open_library
    from explorer.query.replies import replies
    from explorer.report.files import write_text
    from explorer.report.formats import to_text
    from explorer.report.sheet import PageOptions
    from explorer.report.tables import replies_table

    library = folder / "library.duckdb"
    page = folder / "replies-e4-e5-Nf3.html"
    lesson = folder / LESSON
    _build(library)
    if not lesson.exists():  # a teacher may have changed it
        write_text(lesson, (sample_games() / LESSON).read_text("utf-8"))
    with open_library(library) as opened:
        answer = replies(opened, parse_position(LINE), Filters())
    console.show(to_text(replies_table(answer)))
    there = quoted("--library", str(library))
    words = ("report", *LINE, "--library", str(library), "-o", str(page))
    options = PageOptions(quoted("replybook", *words), date.today(), words=words)
    make_page(library, LINE, Filters(), page, options)
    console.show(
        f"\nThe library:  {library}\nThe page:     {page} (open it in a browser)\n"
        f"A lesson:     {lesson}\n\nTry next:\n"
        f"  replybook replies e4 e5 Nf3 Nc6 Bc4 --level 800-1199 {there}\n"
        f"  replybook orders e4 e5 Nf3 Nc6 Bc4 Bc5 {there}\n"
        f"  replybook games e4 e5 Nf3 f6 Nxe5 --at-most-moves 15 {there}\n"
        f"  replybook lesson check {quoted(str(lesson))} --as white --level 800-1199 {there}"
    )


def _build(library: Path) -> None:
    from ingest.pipeline import AddOptions, add_collection

    try:
        library.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise LibraryError(
            f"{library.parent}: the folder cannot be made ({error.strerror}); "
            "choose another with --folder"
        ) from error
    for collection, name in COLLECTIONS.items():
        games = str(sample_games() / name)
        report = add_collection(library, [games], collection, AddOptions())
        there = all(file.already_in for file in report.files)
        done = "already in" if there else f"{report.totals.added:,} games added"
        console.say(f"{collection}: {done}")


def register(app: typer.Typer) -> None:
    """Add this module's command."""
    app.command()(demo)
