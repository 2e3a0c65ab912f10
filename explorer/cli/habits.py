"""`replybook habits`: whether players castle, bring pieces out and look after them."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

import typer

from explorer.cli.opening import opened
from explorer.cli.options import (
    Dataset,
    FormatChoice,
    Library,
    Names,
    NamesChoice,
    Open,
    OutputFile,
    Separator,
    Side,
    filtered,
)
from explorer.cli.pages import deliver_page, page_options, page_target
from explorer.cli.write import outlet
from explorer.query.filters import Filters


@partial(
    filtered,
    without=("min_games", "top"),
    level_of="the player whose habits they are",
)
def habits(
    filters: Filters,
    names: NamesChoice = Names.INITIALS,
    format: FormatChoice = None,
    separator: Separator = ",",
    output: OutputFile = None,
    open: Open = False,
    library: Library = None,
    dataset: Dataset = None,
) -> None:
    """Show opening habits by level: castling, development, pieces left to be taken.

    --level is that of the player whose habits they are. --player sets one player beside
    the others of the level; --as narrows it to games with one colour.
    For example: replybook habits --level 800-1199
    """
    from explorer.query.habits import habits as ask

    page = page_target(output, format, open, "habits")
    to = None if page else outlet(output, format, separator)
    # The player is set beside the others: the games are not only theirs.
    chosen = replace(filters, player=None)
    with opened(library, dataset) as asked_of:
        answer = ask(asked_of, chosen, filters.player)
    if page is not None:
        from explorer.report.habits_page import habits_page

        deliver_page(habits_page(answer, page_options(names, Side.WHITE, None)), page, open)
    elif to is not None:
        from explorer.report.habits_json import habits_json
        from explorer.report.habits_tables import habits_table

        to.write(habits_table(answer, names.value), lambda: habits_json(answer, names.value))


def register(app: typer.Typer) -> None:
    """Add this module's command."""
    app.command()(habits)
