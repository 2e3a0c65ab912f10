"""Datasets: a library as Parquet files, for other engines and other machines."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from explorer.cli import console
from explorer.cli.options import Library
from explorer.cli.place import library_path
from ingest.errors import UsageError

if TYPE_CHECKING:
    from explorer.cli.options import Engine
    from ingest.pipeline import AddOptions, AddReport

group = typer.Typer(name="export", help="Write the library in another form, for other programs.")


@group.callback()
def export() -> None:
    """Write the library in another form, for other programs."""


@group.command()
def parquet(
    folder: Annotated[
        Path, typer.Argument(metavar="FOLDER", help="A new folder.", show_default=False)
    ],
    library: Library = None,
) -> None:
    """Write the library as a dataset of Parquet files.

    It can be asked like a library with --dataset FOLDER. Its file _secret.json is only
    needed to make a library of it again: add --from-parquet FOLDER. For example:
    replybook export parquet club-parquet
    """
    from explorer.report.moved import exported_text
    from ingest.parquet import export_parquet

    console.show(exported_text(export_parquet(library_path(library), folder), folder))


def make_library(address: str, library: Path | None) -> None:
    """A new library made of a dataset."""
    from explorer.report.moved import made_text
    from ingest.parquet import library_from

    target = library_path(library)
    console.show(made_text(library_from(address, target), target))


def new_dataset(
    folder: Path | None, engine: Engine | None, library: Path | None, options: AddOptions
) -> Path:
    """Where Spark is to make a dataset; UsageError when the options do not go together."""
    if folder is None:
        raise UsageError("--engine spark: it makes a dataset; name one with --to-parquet FOLDER")
    if engine is None:
        raise UsageError(
            "--to-parquet: Spark makes it; add --engine spark, "
            "or write a library as one with: replybook export parquet FOLDER"
        )
    if library is not None:
        raise UsageError("--to-parquet: it stands in for a library; leave --library out")
    if options.remember:
        raise UsageError("--remember: a new dataset has forgotten no name; leave it out")
    return folder


def make_dataset(
    folder: Path, paths: list[str], collection: str, options: AddOptions, master: str | None
) -> tuple[AddReport, str]:
    """A dataset made by Spark, and what it holds as text."""
    from explorer.query.spark_session import check_spark

    check_spark()  # what is imported next needs it
    from explorer.query.spark_adding import add_with_spark
    from explorer.report.moved import exported_text

    report, moved = add_with_spark(folder, paths, collection, options, master=master)
    return report, exported_text(moved, folder) if moved else ""


def register(app: typer.Typer) -> None:
    """Add this module's group of commands."""
    app.add_typer(group)
