"""`replybook costly`: which replies cost most, and what the next level no longer gets wrong."""

from __future__ import annotations

import re
from functools import partial
from typing import Annotated, Any

import typer

from explorer.cli.opening import opened
from explorer.cli.options import (
    MOST,
    Dataset,
    EngineChoice,
    FormatChoice,
    Letters,
    Library,
    Master,
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
from explorer.cli.values import one_of, whole, words_of
from explorer.cli.write import outlet
from explorer.query.filters import Filters
from ingest.errors import UsageError
from ingest.levels import parse_level

LAST_MOVE = 100


def _per_cent(value: object) -> float:
    """A number of per cent between 0 and 50, both left out."""
    text = str(value).strip().removesuffix("%").strip()
    if re.fullmatch(r"[0-9]{1,2}(\.[0-9]{1,4})?", text) and 0 < float(text) < 50:
        return float(text)
    raise UsageError(
        f"--false-alarms {value}: not a number of per cent above 0 and under 50; "
        "write for example --false-alarms 5"
    )


def _points(value: object) -> float:
    """A number of points in 100 games, from 0 to 100."""
    text = str(value).strip()
    if re.fullmatch(r"[0-9]{1,3}(\.[0-9]{1,4})?", text) and float(text) <= 100:
        return float(text)
    raise UsageError(
        f"--at-least {value}: not a number of points from 0 to 100; write for example --at-least 2"
    )


@partial(filtered, without=("player", "side", "min_games"))
def costly(
    filters: Filters,
    position: Position = None,
    side: Annotated[
        Side | None,
        typer.Option(
            "--as",
            parser=one_of("--as", Side),
            metavar=words_of(Side),
            help="Whose replies: White's or Black's; both if left out.",
        ),
    ] = None,
    to_move: Annotated[
        int,
        typer.Option(
            parser=whole("--to-move", 1, LAST_MOVE, 8),
            metavar="N",
            help="Look at the moves up to this one.",
        ),
    ] = 8,
    min_games: Annotated[
        int,
        typer.Option(
            parser=whole("--min-games", 1, MOST, 50),
            metavar="N",
            help="Look only at replies played in this many games.",
        ),
    ] = 50,
    false_alarms: Annotated[
        float,
        typer.Option(
            parser=_per_cent,
            metavar="PERCENT",
            help="How many of the findings may be chance.",
        ),
    ] = 5.0,
    at_least: Annotated[
        float,
        typer.Option(
            parser=_points,
            metavar="POINTS",
            help="List what costs this many points in 100 games with it (or half a pawn); 0: all.",
        ),
    ] = 2.0,
    compare: Annotated[
        tuple[str, str] | None,
        typer.Option(metavar="LEVEL LEVEL", help="What the second level no longer gets wrong."),
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
    engine: EngineChoice = None,
    master: Master = None,
) -> None:
    """Find the replies that cost most: what is worth a lesson.

    POSITION is where to look from; left out, it is the start. --level is that of the
    player who makes the move. With -o FILE.html it is a page.
    For example: replybook costly --level 800-1199 --as black
    """
    from explorer.positions.typed import parse_position
    from explorer.query.costly import compare as ask_compare
    from explorer.query.costly import costly as ask

    words = position or []
    page = page_target(output, format, open, "costly", *words)
    to = None if page else outlet(output, format, separator)
    asked = parse_position(words, letters)
    limits: dict[str, Any] = {
        "side": side.value if side else None,
        "to_move": to_move,
        "min_games": min_games,
        "false_alarms": false_alarms,
        "at_least": at_least,
    }
    if filters.top is not None:
        limits["top"] = filters.top
    if compare and filters.levels:
        raise UsageError("--level: --compare names its own two levels; leave --level out")
    with opened(library, dataset, engine, master) as asked_of:
        if compare:
            lower, higher = map(parse_level, compare)
            found: Any = ask_compare(asked_of, asked, filters, lower, higher, **limits)
        else:
            found = ask(asked_of, asked, filters, **limits)
    if page is not None:
        from explorer.report.costly_page import compare_page, costly_page

        make = compare_page if compare else costly_page
        deliver_page(make(found, page_options(names, view, letters)), page, open)
    elif to is not None:
        from explorer.report.costly_tables import compare_table, costly_table
        from explorer.report.mistake_json import compare_json, costly_json

        tabled, as_json = (compare_table, compare_json) if compare else (costly_table, costly_json)
        to.write(tabled(found, letters, names.value), lambda: as_json(found, names.value))


def register(app: typer.Typer) -> None:
    """Add this module's command."""
    app.command()(costly)
