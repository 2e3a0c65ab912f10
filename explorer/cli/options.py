"""The options that several commands share, and the filters they become."""

from __future__ import annotations

import functools
import inspect
from collections.abc import Callable, Sequence
from enum import StrEnum
from pathlib import Path
from typing import Annotated, Any

import typer

from explorer.cli.values import one_of, whole, words_of
from explorer.query.filter_texts import parse_day as parse_day
from explorer.query.filters import Filters
from ingest.errors import UsageError
from ingest.levels import DEFAULT_CUTS, parse_bands, parse_level


class Format(StrEnum):
    """How an answer is written."""

    TABLE = "table"
    CSV = "csv"
    JSON = "json"
    MARKDOWN = "markdown"


class Columns(StrEnum):
    """Which columns a table has."""

    MAIN = "main"
    ALL = "all"


class Side(StrEnum):
    """A colour."""

    WHITE = "white"
    BLACK = "black"


class Names(StrEnum):
    """Whose names a page or file shows."""

    INITIALS = "initials"
    FULL = "full"


class Engine(StrEnum):
    """What asks a dataset in place of DuckDB."""

    SPARK = "spark"


class By(StrEnum):
    """What replies are broken down by."""

    LEVEL = "level"
    YEAR = "year"
    SEASON = "season"
    PACE = "pace"
    COLLECTION = "collection"
    OPPONENTS = "opponents"


MOST = 1_000_000
ENDINGS = {".csv": Format.CSV, ".json": Format.JSON, ".md": Format.MARKDOWN, ".txt": Format.TABLE}

Library = Annotated[
    Path | None,
    typer.Option("--library", metavar="FILE", help="The library.", show_default=False),
]
Dataset = Annotated[
    str | None,
    typer.Option("--dataset", metavar="FOLDER", help="Ask this dataset, not a library."),
]
EngineChoice = Annotated[
    Engine | None,
    typer.Option(
        "--engine",
        parser=one_of("--engine", Engine),
        metavar=words_of(Engine),
        help="Ask the dataset through Spark.",
    ),
]
Master = Annotated[
    str | None,
    typer.Option("--master", metavar="URL", help="Where Spark runs: local[2], or a cluster's URL."),
]
# The commands say themselves what a POSITION is: typer would call it a list of str.
Position = Annotated[list[str] | None, typer.Argument(metavar="POSITION", hidden=True)]
OutputFile = Annotated[
    Path | None,
    typer.Option("-o", "--output", metavar="FILE", help="Write to this file; its ending says how."),
]
FormatChoice = Annotated[
    Format | None,
    typer.Option(
        "--format",
        parser=one_of("--format", Format),
        metavar=words_of(Format),
        help="How to write the answer; a table if left out.",
    ),
]
ByChoice = Annotated[
    By,
    typer.Option(
        "--by",
        parser=one_of("--by", By),
        metavar="WHAT",
        help="Break shares down by level, year, season, pace, collection or opponents.",
    ),
]
ColumnsChoice = Annotated[
    Columns,
    typer.Option(
        "--columns",
        parser=one_of("--columns", Columns),
        metavar=words_of(Columns),
        help="The main columns, or all.",
    ),
]
Separator = Annotated[
    str, typer.Option("--separator", metavar="SIGN", help="Between the cells of a CSV.")
]
NamesChoice = Annotated[
    Names,
    typer.Option(
        "--names",
        parser=one_of("--names", Names),
        metavar=words_of(Names),
        help="A student's initials and no other names, or full names.",
    ),
]
ViewChoice = Annotated[
    Side,
    typer.Option(
        "--view",
        parser=one_of("--view", Side),
        metavar=words_of(Side),
        help="The side at the bottom of the diagrams.",
    ),
]
Large = Annotated[
    bool,
    typer.Option("--large", help="Bigger diagrams and letters, for young or weak eyes."),
]
Open = Annotated[bool, typer.Option("--open", help="Open the page in the browser.")]
Letters = Annotated[
    str | None,
    typer.Option("--letters", metavar="LANGUAGE", help="Piece letters: de, fr, es, nl ..."),
]


PAGES = {".html", ".htm"}


def is_page(target: Path | None) -> bool:
    """Whether a file's ending says that it is a page."""
    return target is not None and target.suffix.lower() in PAGES


def chosen_format(choice: Format | None, target: Path | None, page: str = "report") -> Format:
    """The format that was asked for, else the one of the file's ending, else a table.

    ``page`` is the command that makes a page of the same.
    """
    if choice is not None:
        return choice
    if target is None:
        return Format.TABLE
    if is_page(target):
        raise UsageError(f"{target}: for a page, use the command {page} instead of this one")
    if target.suffix.lower() == ".pgn":
        raise UsageError(f"{target}: for a PGN file, use: replybook games --pgn FILE")
    try:
        return ENDINGS[target.suffix.lower()]
    except KeyError:
        known = ", ".join(ENDINGS)
        raise UsageError(
            f"{target}: the ending says no format; use one of {known}, or add --format"
        ) from None


def one_separator(text: str) -> str:
    """The character between the cells of a CSV."""
    text = {"\\t": "\t", "tab": "\t"}.get(text, text)
    if len(text) != 1 or text in '"\r\n' or text.isalnum():
        raise UsageError(f"--separator {text!r}: not one character; write , or ; or tab")
    return text


def _level(whose: str) -> Any:
    """The option --level, of a command that means that player's."""
    text = f"Level of {whose}: 800-1199, under-800, 2000+ or unrated."
    return typer.Option(metavar="LEVEL", help=text)


def make_filters(
    level: Annotated[list[str] | None, _level("the player to move")] = None,
    opponents: Annotated[
        list[str] | None, typer.Option(metavar="LEVEL", help="Level of that player's opponent.")
    ] = None,
    bands: Annotated[
        str | None,
        typer.Option(metavar="RATINGS", help="Other bounds between levels: 900,1300,1700."),
    ] = None,
    pace: Annotated[
        list[str] | None,
        typer.Option(metavar="PACE", help="standard, rapid, blitz, correspondence or unknown."),
    ] = None,
    since: Annotated[
        str | None, typer.Option(metavar="DATE", help="Games from this date on.")
    ] = None,
    until: Annotated[
        str | None, typer.Option(metavar="DATE", help="Games up to this date.")
    ] = None,
    collection: Annotated[
        list[str] | None, typer.Option(metavar="NAME", help="Games of this collection only.")
    ] = None,
    player: Annotated[
        str | None, typer.Option(metavar="NAME", help="Games of this player only.")
    ] = None,
    side: Annotated[
        Side | None,
        typer.Option(
            "--as",
            parser=one_of("--as", Side),
            metavar=words_of(Side),
            help="The colour that --player had.",
        ),
    ] = None,
    min_games: Annotated[
        int,
        typer.Option(
            parser=whole("--min-games", 1, MOST, 10),
            metavar="N",
            help="Leave out what was played in fewer games.",
        ),
    ] = 1,
    top: Annotated[
        int | None,
        typer.Option(
            parser=whole("--top", 1, MOST, 10), metavar="N", help="Show at most this many."
        ),
    ] = None,
) -> Filters:
    """The filters that the options say. UsageError when one cannot be read."""
    if side is not None and player is None:
        raise UsageError("--as: this is the colour of a player; add --player NAME")
    first = parse_day(since, last=False) if since else None
    last = parse_day(until, last=True) if until else None
    if first and last and first > last:
        raise UsageError(f"--since {since}: later than --until {until}; swap the two")
    return Filters(
        levels=tuple(parse_level(text) for text in level or ()),
        opponents=tuple(parse_level(text) for text in opponents or ()),
        cuts=parse_bands(bands) if bands else DEFAULT_CUTS,
        pace=tuple(_known_pace(text) for text in pace or ()),
        since=first,
        until=last,
        collections=tuple(collection or ()),
        player=player,
        side=side.value if side else None,
        min_games=min_games,
        top=top,
    )


def _known_pace(text: str) -> str:
    from ingest.tags import pace_named

    return pace_named(text).word


def filtered(
    command: Callable[..., None], without: Sequence[str] = (), level_of: str = ""
) -> Callable[..., None]:
    """Give a command the filter options but for some; it gets their value as ``filters``.

    ``level_of`` is whose level --level is, if not that of the player to move.
    """
    options = dict(inspect.signature(make_filters, eval_str=True).parameters)
    if level_of:
        options["level"] = options["level"].replace(
            annotation=Annotated[list[str] | None, _level(level_of)]
        )
    for name in without:
        del options[name]
    own = [
        parameter
        for name, parameter in inspect.signature(command, eval_str=True).parameters.items()
        if name != "filters"
    ]

    @functools.wraps(command)
    def with_filters(**values: Any) -> None:
        chosen = {name: values.pop(name) for name in options}
        command(**values, filters=make_filters(**chosen))

    parameters = [p.replace(kind=inspect.Parameter.KEYWORD_ONLY) for p in (*own, *options.values())]
    with_filters.__signature__ = inspect.Signature(parameters)  # type: ignore[attr-defined]
    with_filters.__annotations__ = {p.name: p.annotation for p in parameters}
    del with_filters.__wrapped__
    return with_filters
