"""Commands that change the library or show its ledger."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from explorer.cli import console
from explorer.cli.datasets import make_dataset, make_library, new_dataset
from explorer.cli.exits import Exit
from explorer.cli.options import Engine, FormatChoice, Library, Master, OutputFile, Separator
from explorer.cli.place import library_path
from explorer.cli.values import one_of, whole, words_of
from explorer.cli.write import outlet
from ingest.errors import UsageError
from ingest.levels import HIGHEST_RATING, parse_level

DEFAULT_MOVES = 20
MOST_GAMES = 1_000_000_000 - 1
MOST_MOVES = 100


class Summary(StrEnum):
    """How an `add` says what it did."""

    TEXT = "text"
    JSON = "json"


def add(
    paths: Annotated[list[str] | None, typer.Argument(metavar="PATH", hidden=True)] = None,
    collection: Annotated[
        str | None,
        typer.Option("--collection", metavar="NAME", help="The group these games belong to."),
    ] = None,
    from_parquet: Annotated[
        str | None,
        typer.Option(
            metavar="FOLDER", help="Make a new library of a dataset, in place of PGN files."
        ),
    ] = None,
    to_parquet: Annotated[
        Path | None,
        typer.Option(
            metavar="FOLDER",
            help="With --engine spark: make a new dataset of the files, no library.",
        ),
    ] = None,
    engine: Annotated[
        Engine | None,
        typer.Option(
            parser=one_of("--engine", Engine),
            metavar=words_of(Engine),
            help="Let Spark read the files, several at a time; one machine settles duplicates.",
        ),
    ] = None,
    master: Master = None,
    moves: Annotated[
        int | None,
        typer.Option(
            parser=whole("--moves", 1, MOST_MOVES, DEFAULT_MOVES),
            metavar="N",
            help=f"Keep positions up to this move ({DEFAULT_MOVES} in a new library).",
            show_default=False,
        ),
    ] = None,
    pace: Annotated[
        str | None,
        typer.Option(
            metavar="PACE",
            help="Pace of games that do not say: standard, rapid, blitz or correspondence.",
        ),
    ] = None,
    unrated_as: Annotated[
        int | None,
        typer.Option(
            parser=whole("--unrated-as", 1, HIGHEST_RATING, 800),
            metavar="RATING",
            help="Rating to give players without one.",
        ),
    ] = None,
    rating_scale: Annotated[
        str | None,
        typer.Option(metavar="NAME", help="Whose ratings these are, such as club or national."),
    ] = None,
    strict: Annotated[
        bool, typer.Option("--strict", help="Reject games with an unreadable move whole.")
    ] = False,
    only_level: Annotated[
        str | None,
        typer.Option(
            metavar="LOW-HIGH", help="Add only games in which both players are of this level."
        ),
    ] = None,
    only_pace: Annotated[
        list[str] | None,
        typer.Option(metavar="PACE", help="Add only games of this pace; may be repeated."),
    ] = None,
    sample: Annotated[
        str | None,
        typer.Option(
            metavar="FRACTION",
            help="Add only this part of the games, such as 0.1; always the same ones.",
        ),
    ] = None,
    limit: Annotated[
        int | None,
        typer.Option(
            parser=whole("--limit", 1, MOST_GAMES, 10_000),
            metavar="N",
            help="Add at most N games of each file, the first that fit.",
        ),
    ] = None,
    any_size: Annotated[
        bool, typer.Option("--any-size", help="Lift the limits on what a packed file unpacks to.")
    ] = False,
    remember: Annotated[
        list[str] | None,
        typer.Option(
            metavar="NAME",
            help="Know this forgotten name again, here and from now on; may be repeated.",
        ),
    ] = None,
    format: Annotated[
        Summary,
        typer.Option(
            parser=one_of("--format", Summary),
            metavar=words_of(Summary),
            help="How to write the summary.",
        ),
    ] = Summary.TEXT,
    library: Library = None,
) -> None:
    """Add games from PGN files.

    PATH is a file, a folder, or - for a pipe; .gz, .bz2, .xz, .zst and .zip are
    unpacked. Every game found is added, or counted as a duplicate, as rejected (with
    the reason) or as left out. For example: replybook add games.pgn --collection "club 2026"
    """
    from explorer.cli.progress import watch
    from explorer.report.ledger import add_json, add_summary, library_text
    from ingest import fastread
    from ingest.door import Door, parse_sample
    from ingest.pipeline import AddOptions, add_collection
    from ingest.tags import pace_named

    options = AddOptions(
        plies=moves * 2 if moves else None,
        pace=pace_named(pace) if pace else None,
        unrated_as=unrated_as,
        rating_scale=rating_scale,
        strict=strict,
        any_size=any_size,
        door=Door(
            level=parse_level(only_level) if only_level is not None else None,
            paces=tuple(pace_named(text) for text in only_pace or ()),
            sample=parse_sample(sample) if sample is not None else None,
            limit=limit,
        ),
        remember=tuple(remember or ()),
    )
    if from_parquet is not None:
        other = (collection, to_parquet, engine, master)
        if paths or any(word is not None for word in other) or options != AddOptions():
            raise UsageError(
                "--from-parquet: a dataset is taken as it is; leave PATH and other options out"
            )
        make_library(from_parquet, library)
        return
    if not paths or collection is None:
        missing = "--collection NAME" if paths else "PATH"
        raise UsageError(
            f"replybook add: {missing} is missing; replybook add --help says what belongs there"
        )
    if not fastread.FAST_READER:
        console.say(
            "The fast reader is not installed: python-chess reads the games, which is slower."
        )
    if to_parquet is None and engine is None and master is None:
        target = library_path(library)
        with watch() as progress:
            report = add_collection(target, paths, collection, options, progress)
        held = library_text(target, report)
    else:
        folder = new_dataset(to_parquet, engine, library, options)
        report, held = make_dataset(folder, paths, collection, options, master)
    console.show(add_json(report) if format is Summary.JSON else add_summary(report, held))
    if any(file.error for file in report.files):
        for file in report.files:
            if file.error:
                console.say(file.error)
        raise typer.Exit(Exit.BAD_INPUT)


def collections(
    format: FormatChoice = None,
    output: OutputFile = None,
    separator: Separator = ",",
    library: Library = None,
) -> None:
    """List the collections."""
    from explorer.report.ledger import collections_table
    from ingest.ledger import collections as listed

    to = outlet(output, format, separator)
    to.write(collections_table(listed(library_path(library))))


def rejects(
    collection: Annotated[
        str | None, typer.Option("--collection", metavar="NAME", help="Of this collection only.")
    ] = None,
    format: FormatChoice = None,
    output: OutputFile = None,
    separator: Separator = ",",
    library: Library = None,
) -> None:
    """List games that were rejected, cut short or found twice."""
    from explorer.report.ledger import rejects_table, rejects_text
    from ingest.ledger import rejects as listed

    to = outlet(output, format, separator)
    found = listed(library_path(library), collection)
    to.write(rejects_table(found), as_text=lambda: rejects_text(found))


def remove(
    name: Annotated[str, typer.Argument(metavar="NAME", hidden=True)],
    yes: Annotated[bool, typer.Option("--yes", help="Do not ask.")] = False,
    library: Library = None,
) -> None:
    """Remove a collection, after asking.

    NAME is the collection's name. Games that are in another collection too stay
    in the library.
    """
    from explorer.report.ledger import removal_question, removal_text
    from ingest.ledger import collections as listed
    from ingest.removal import remove_collection

    target = library_path(library)
    if not yes:
        found = next((entry for entry in listed(target) if entry.name == name), None)
        if found is not None and not console.confirmed(removal_question(found)):
            console.say("Nothing removed.")
            return
    console.show(removal_text(name, remove_collection(target, name)))


def forget(
    name: Annotated[str, typer.Argument(metavar="NAME", hidden=True)],
    also: Annotated[
        list[str] | None,
        typer.Option(metavar="NAME", help="Another spelling of the name; may be repeated."),
    ] = None,
    yes: Annotated[bool, typer.Option("--yes", help="Do not ask.")] = False,
    library: Library = None,
) -> None:
    """Take a player's name out of the library, after asking.

    The games stay, as those of "a player". The name goes from events, names of files
    and collections, and the ledger too, and later adds leave it out, unless add
    --remember NAME brings it back. For example: replybook forget "Doe, Jane"
    """
    from explorer.report.forgotten import forget_question, forgotten_text
    from ingest.forgetting import forget as forget_names
    from ingest.forgetting import what_to_forget

    target, names = library_path(library), (name, *(also or ()))
    if not yes and not console.confirmed(forget_question(what_to_forget(target, names))):
        console.say("Nothing forgotten.")
        return
    console.show(forgotten_text(forget_names(target, names)))


def verify(library: Library = None) -> None:
    """Check that the library is sound.

    Counts add up, rows lie in order, and a sample of the games replays to what is stored.
    """
    from explorer.report.ledger import verify_text
    from ingest.verify import verify as check

    report = check(library_path(library))
    console.show(verify_text(report))
    if report.problems:
        raise typer.Exit(Exit.LIBRARY_TROUBLE)


def register(app: typer.Typer) -> None:
    """Add this module's commands."""
    for command in (add, collections, rejects, remove, forget, verify):
        app.command()(command)
