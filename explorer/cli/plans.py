"""`replybook plans`: what both sides do next, at a level and beside a model level."""

from __future__ import annotations

from functools import partial
from typing import Annotated

import typer

from explorer.cli.opening import opened
from explorer.cli.options import (
    Dataset,
    Format,
    FormatChoice,
    Letters,
    Library,
    Names,
    NamesChoice,
    Open,
    OutputFile,
    Position,
    Separator,
    Side,
    ViewChoice,
    filtered,
)
from explorer.cli.pages import deliver_page, page_options, page_target
from explorer.cli.values import whole
from explorer.cli.write import outlet
from explorer.query.filters import Filters
from ingest.errors import UsageError
from ingest.levels import Level, parse_level

MOST_MOVES = 40


def _model(text: str | None) -> Level | None:
    """The model level."""
    if text is None:
        return None
    try:
        return parse_level(text)
    except UsageError as error:
        raise UsageError(f"--model-level: {error}") from error


@partial(filtered, level_of="the player whose plan it is")
def plans(
    filters: Filters,
    position: Position = None,
    model_level: Annotated[
        str | None,
        typer.Option(metavar="LEVEL", help="A level to learn from, shown beside: 1600-1999."),
    ] = None,
    within_moves: Annotated[
        int,
        typer.Option(
            parser=whole("--within-moves", 1, MOST_MOVES, 8),
            metavar="N",
            help="How many moves of each side to look at.",
        ),
    ] = 8,
    names: NamesChoice = Names.INITIALS,
    view: ViewChoice = Side.WHITE,
    format: FormatChoice = None,
    separator: Separator = ",",
    letters: Letters = None,
    output: OutputFile = None,
    open: Open = False,
    library: Library = None,
    dataset: Dataset = None,
) -> None:
    """Show what White and Black do next: castling, pieces, breaks, exchanges.

    POSITION is moves (e4 e5 Nf3), a FEN, an opening's name or a PGN file. --level is that
    of the player whose plan it is. With -o FILE.html it is a page.
    For example: replybook plans italian game --model-level 1600-1999
    """
    from explorer.positions.typed import parse_position
    from explorer.query.plans import plans as ask

    words = position or []
    page = page_target(output, format, open, "plans", *words)
    to = None if page else outlet(output, format, separator)
    model = _model(model_level)
    asked = parse_position(words, letters)
    with opened(library, dataset) as asked_of:
        answer = ask(asked_of, asked, filters, model, within_moves)
    if page is not None:
        from explorer.report.plans_page import plans_page

        deliver_page(plans_page(answer, page_options(names, view, letters)), page, open)
    elif to is not None:
        from explorer.report.plans_json import plans_json
        from explorer.report.plans_tables import plans_file, plans_tables

        first, *more = plans_tables(answer, letters, names.value)
        table = plans_file(answer) if to.format is Format.CSV else first
        to.write(table, lambda: plans_json(answer, names.value), more=more)


def register(app: typer.Typer) -> None:
    """Add this module's command."""
    app.command()(plans)
