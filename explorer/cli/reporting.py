"""`replybook report`: the replies as a page for paper and projector."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from explorer.cli import console
from explorer.cli.options import (
    By,
    ByChoice,
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
from explorer.cli.pages import page_options
from explorer.cli.place import library_path, page_name
from explorer.cli.values import whole
from explorer.query.filters import Filters
from ingest.errors import NothingFound, UsageError

if TYPE_CHECKING:
    from explorer.positions.position import Position as Asked
    from explorer.query.library import Library as Opened
    from explorer.query.plans_model import PlansAnswer
    from explorer.report.sheet import PageOptions

MOST_FOLLOWED = 6
EXAMPLE_GAMES = 4
EXAMPLE_MOVES = 20
DRAWN_PLANS = 8  # of each side


@filtered
def report(
    filters: Filters,
    position: Position = None,
    by: ByChoice = By.LEVEL,
    output: Annotated[
        Path | None,
        typer.Option("-o", "--output", metavar="FILE", help="Write the page to this file."),
    ] = None,
    follow_moves: Annotated[
        int,
        typer.Option(
            parser=whole("--follow-moves", 0, MOST_FOLLOWED, 2),
            metavar="N",
            help="Follow the most common replies this many moves on.",
        ),
    ] = 0,
    view: ViewChoice = Side.WHITE,
    arrow: Annotated[
        list[str] | None,
        typer.Option(metavar="MOVE", help="Draw an arrow on the first diagram, such as h5f7."),
    ] = None,
    mark: Annotated[
        list[str] | None,
        typer.Option(metavar="SQUARE", help="Ring a square of the first diagram, such as f7."),
    ] = None,
    names: NamesChoice = Names.INITIALS,
    letters: Letters = None,
    open: Open = False,
    library: Library = None,
) -> None:
    """Make a page of the replies, to print or to show.

    POSITION is moves (e4 e5 Nf3), a FEN, an opening's name or a PGN file; left
    out, it is the start. For example: replybook report e4 e5 Nf3 --open
    """
    if output is not None and not is_page(output):
        raise UsageError(f"{output}: a page ends in .html; for a table, use the command replies")
    from explorer.report.diagram import parse_marks

    words = position or []
    filters = replace(filters, by=by.value)
    told = [] if by is By.LEVEL else [f"by-{by.value}"]
    told += [level.label for level in filters.levels]
    target = output or page_name("replies", *words, *told)
    marks = parse_marks(arrow or (), mark or ())
    options = replace(page_options(names, view, letters), marks=marks)
    make_page(library_path(library), words, filters, target, options, follow_moves)
    console.show(str(target))
    if open:
        console.open_page(target)


def make_page(
    library: Path,
    words: Sequence[str],
    filters: Filters,
    target: Path,
    options: PageOptions,
    follow_moves: int = 0,
) -> None:
    """Ask the library and write the page: the position, and the replies below it if wanted."""
    from explorer.positions.typed import parse_position
    from explorer.query.follow import follow
    from explorer.query.games import games
    from explorer.query.library import open_library
    from explorer.query.orders import orders
    from explorer.report.files import write_text
    from explorer.report.page import replies_page

    asked = parse_position(words, options.letters)
    examples = replace(filters, top=EXAMPLE_GAMES)
    with open_library(library) as opened:
        answers = follow(opened, asked, filters, follow_moves)
        ways = orders(opened, asked, filters)
        short = games(opened, asked, examples, sort="rating", at_most_moves=EXAMPLE_MOVES)
        coming = _plans(opened, asked, filters)
    write_text(target, replies_page(answers, options, ways, short, coming))


def _plans(library: Opened, asked: Asked, filters: Filters) -> PlansAnswer | None:
    """What both sides do next; None at the start, which is no opening yet, and where no game
    went on for long enough."""
    from explorer.query.plans import plans

    if asked.from_normal_start and not asked.ucis:
        return None
    try:
        return plans(library, asked, replace(filters, min_games=1, top=DRAWN_PLANS))
    except NothingFound:
        return None


def register(app: typer.Typer) -> None:
    """Add this module's command."""
    app.command()(report)
