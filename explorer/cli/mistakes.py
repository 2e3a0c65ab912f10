"""`replybook mistake`: how often one is made, whether it is punished, what it costs."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from explorer.cli import console
from explorer.cli.opening import opened
from explorer.cli.options import (
    Dataset,
    Engine,
    FormatChoice,
    Letters,
    Library,
    Master,
    Names,
    NamesChoice,
    Open,
    OutputFile,
    Separator,
    Side,
    ViewChoice,
    filtered,
)
from explorer.cli.pages import deliver_page, page_options, page_target
from explorer.cli.values import whole
from explorer.cli.write import checked_pgn, outlet
from explorer.query.filter_texts import parse_day
from explorer.query.filters import Filters
from ingest.errors import InputError, UsageError

if TYPE_CHECKING:
    from explorer.positions.engine import Opinion
    from explorer.positions.position import Position as Line
    from explorer.query.mistake_model import BeforeAfter
    from explorer.query.model import GamesAnswer

DEEPEST = 60


@partial(filtered, without=("min_games", "top"))
def mistake(
    filters: Filters,
    line: Annotated[list[str] | None, typer.Argument(metavar="LINE", hidden=True)] = None,
    punish: Annotated[
        str | None,
        typer.Option(metavar="LINE", help="The moves that punish it: 'Nxe5 fxe5 Qh5+'."),
    ] = None,
    square: Annotated[
        str | None,
        typer.Option(metavar="SQUARE", help="Say what bears on a square, such as d4."),
    ] = None,
    engine: Annotated[
        str | None,
        typer.Option(
            metavar="PATH|spark",
            help="A UCI engine to ask for its opinion; spark: ask the dataset through Spark.",
        ),
    ] = None,
    engine_depth: Annotated[
        int,
        typer.Option(
            parser=whole("--engine-depth", 1, DEEPEST, 14),
            metavar="N",
            help="How deep the engine looks.",
        ),
    ] = 14,
    pgn: Annotated[
        Path | None,
        typer.Option("--pgn", metavar="FILE", help="Write example games to this PGN file."),
    ] = None,
    before_after: Annotated[
        str | None,
        typer.Option(metavar="DATE", help="Did it help? The class before and after this date."),
    ] = None,
    players: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="The class: a TOML file with [[player]] name = ..."),
    ] = None,
    names: NamesChoice = Names.INITIALS,
    view: ViewChoice = Side.WHITE,
    format: FormatChoice = None,
    separator: Separator = ",",
    letters: Letters = None,
    output: OutputFile = None,
    open: Open = False,
    library: Library = None,
    dataset: Dataset = None,
    master: Master = None,
) -> None:
    """Show how often a mistake is made, and whether it is punished.

    LINE is moves, a FEN with moves or a PGN file; its last move is the mistake. --level is
    that of the player who makes it. With -o FILE.html it is a page.
    For example: replybook mistake e4 e5 Nf3 f6 --punish "Nxe5 fxe5 Qh5+"
    """
    from explorer.positions.facts import line_facts
    from explorer.positions.typed import parse_position
    from explorer.query.examples import examples
    from explorer.query.mistake import mistake as ask
    from explorer.report.mistake_case import Case, with_punishment

    page = page_target(output, format, open, "mistake", *(line or []))
    to = None if page else outlet(output, format, separator)
    pgn = pgn and checked_pgn(pgn)
    asked = parse_position(line or [], letters)
    line_facts(asked, square)  # a word that is no square is refused before anything is asked
    turn = _turn(before_after, players)
    through = Engine.SPARK if engine == Engine.SPARK else None
    with opened(library, dataset, through, master) as asked_of:
        answer = ask(asked_of, asked, filters, _punishing(asked, punish, letters), turn)
        games = examples(asked_of, asked, filters)
    for member in answer.helped[0].not_found if answer.helped else ():
        console.say(f"{players}: {member}: no such name in the library")
    opinion = _opinion(engine, asked, engine_depth) if engine and not through else None
    case = Case(answer, with_punishment(asked, answer), square, opinion, games)
    if pgn is not None:
        _export(games, pgn, names.value)
    if page is not None:
        from explorer.report.mistake_page import mistake_page

        deliver_page(mistake_page(case, page_options(names, view, letters)), page, open)
    elif to is not None:
        from explorer.report.mistake_json import mistake_json
        from explorer.report.mistake_tables import mistake_tables

        first, *more = mistake_tables(case, letters, names.value)
        to.write(first, lambda: mistake_json(case, names.value), more=more)


def _turn(day: str | None, players: Path | None) -> BeforeAfter | None:
    """The class and the day of the lesson."""
    from explorer.cli.class_file import read_class
    from explorer.query.mistake_model import BeforeAfter

    if day is None and players is None:
        return None
    if day is None or players is None:
        missing = "--before-after DATE" if day is None else "--players FILE"
        raise UsageError(f"{missing}: it is missing; a class is compared before and after a date")
    return BeforeAfter(parse_day(day, last=False), read_class(players))


def _punishing(asked: Line, punish: str | None, letters: str | None) -> list[str] | None:
    """The punishing moves as they are typed, or in UCI where the letters of a language are."""
    if punish is None or letters is None:
        return punish.split() if punish is not None else None
    from explorer.positions.moves import play

    board = asked.board()
    play(board, punish, letters)
    return [move.uci() for move in board.move_stack[len(asked.ucis) :]]


def _opinion(engine: str, asked: Line, depth: int) -> Opinion | None:
    """An engine's opinion before and after the mistake; its trouble is one line, no more."""
    from explorer.positions.engine import opinion

    after = asked.board()
    before = after.copy()
    before.pop()
    try:
        return opinion(engine, (before, after), depth)
    except InputError as error:
        console.say(str(error))
        return None


def _export(games: GamesAnswer | None, pgn: Path, names: str) -> None:
    """The example games as PGN."""
    from explorer.report.pgn import games_pgn

    if games is None:
        console.say(f"{pgn}: not written; no decisive game shows the mistake")
    else:
        console.deliver(games_pgn(games, names), pgn)


def register(app: typer.Typer) -> None:
    """Add this module's command."""
    app.command()(mistake)
