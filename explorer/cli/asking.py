"""Commands that ask the library: replies, orders, games."""

from __future__ import annotations

from dataclasses import replace
from enum import StrEnum
from functools import partial
from pathlib import Path
from typing import Annotated

import typer

from explorer.cli.console import deliver, say
from explorer.cli.opening import opened
from explorer.cli.options import (
    By,
    ByChoice,
    Columns,
    ColumnsChoice,
    Dataset,
    EngineChoice,
    FormatChoice,
    Letters,
    Library,
    Master,
    Names,
    NamesChoice,
    OutputFile,
    Position,
    Separator,
    filtered,
)
from explorer.cli.values import one_of, whole, words_of
from explorer.cli.write import checked_pgn, outlet
from explorer.query.filters import Filters

LONGEST = 1000  # moves


class Sort(StrEnum):
    """How games are put in order."""

    RATING = "rating"
    DATE = "date"
    LENGTH = "length"


@filtered
def replies(
    filters: Filters,
    position: Position = None,
    by: ByChoice = By.LEVEL,
    format: FormatChoice = None,
    columns: ColumnsChoice = Columns.MAIN,
    separator: Separator = ",",
    letters: Letters = None,
    output: OutputFile = None,
    library: Library = None,
    dataset: Dataset = None,
    engine: EngineChoice = None,
    master: Master = None,
) -> None:
    """Show what players play in a position.

    How often, by whom, how it ends, and how common at each level (or --by something else).

    POSITION is moves (e4 e5 Nf3), a FEN, an opening's name or a PGN file; left
    out, it is the start. For example: replybook replies e4 e5 --level under-800
    """
    from explorer.positions.typed import parse_position
    from explorer.query.replies import replies as ask
    from explorer.report.json_of import replies_json
    from explorer.report.tables import replies_table

    to = outlet(output, format, separator)
    asked = parse_position(position or [], letters)
    with opened(library, dataset, engine, master) as asked_of:
        answer = ask(asked_of, asked, replace(filters, by=by.value))
    table = replies_table(answer, columns=columns.value, letters=letters)
    to.write(table, lambda: replies_json(answer))


@filtered
def orders(
    filters: Filters,
    position: Position = None,
    format: FormatChoice = None,
    separator: Separator = ",",
    letters: Letters = None,
    output: OutputFile = None,
    library: Library = None,
    dataset: Dataset = None,
) -> None:
    """Show the move orders to a position.

    POSITION is moves (e4 e5 Nf3), a FEN, an opening's name or a PGN file. For
    example: replybook orders "italian game" --top 5
    """
    from explorer.positions.typed import parse_position
    from explorer.query.orders import orders as ask
    from explorer.report.json_of import orders_json
    from explorer.report.tables import orders_table

    to = outlet(output, format, separator)
    asked = parse_position(position or [], letters)
    with opened(library, dataset) as asked_of:
        answer = ask(asked_of, asked, filters)
    table = orders_table(answer, letters=letters)
    to.write(table, lambda: orders_json(answer))


@partial(filtered, without=("min_games",))
def games(
    filters: Filters,
    position: Position = None,
    sort: Annotated[
        Sort,
        typer.Option(
            parser=one_of("--sort", Sort),
            metavar=words_of(Sort),
            help="Which come first: the highest rated, newest, shortest.",
        ),
    ] = Sort.RATING,
    at_most_moves: Annotated[
        int | None,
        typer.Option(
            parser=whole("--at-most-moves", 1, LONGEST, 15),
            metavar="N",
            help="Only decisive games of at most this many moves.",
        ),
    ] = None,
    pgn: Annotated[
        Path | None, typer.Option("--pgn", metavar="FILE", help="Write the games to this PGN file.")
    ] = None,
    names: NamesChoice = Names.INITIALS,
    format: FormatChoice = None,
    separator: Separator = ",",
    letters: Letters = None,
    output: OutputFile = None,
    library: Library = None,
    dataset: Dataset = None,
) -> None:
    """List the games that reached a position, or write them as PGN.

    POSITION is moves (e4 e5 Nf3), a FEN, an opening's name or a PGN file; left
    out, it is the start. For example: replybook games f3 e5 g4 --pgn mates.pgn
    """
    from explorer.positions.typed import parse_position
    from explorer.query.games import games as ask
    from explorer.report.games_table import games_table
    from explorer.report.json_of import games_json
    from explorer.report.pgn import games_pgn

    to = outlet(output, format, separator)
    asked = parse_position(position or [], letters)
    pgn = pgn and checked_pgn(pgn)
    with opened(library, dataset) as asked_of:
        answer = ask(asked_of, asked, filters, sort=sort.value, at_most_moves=at_most_moves)
    if pgn is not None:
        deliver(games_pgn(answer, names=names.value), pgn)
        say(f"{len(answer.rows):,} of {answer.games:,} games; --top N takes more or fewer.")
        if format is None and output is None:
            return
    table = games_table(answer, names.value, letters, sort.value, at_most_moves)
    to.write(table, lambda: games_json(answer, names=names.value))


def register(app: typer.Typer) -> None:
    """Add this module's commands."""
    for command in (replies, orders, games):
        app.command()(command)
