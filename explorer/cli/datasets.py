"""Datasets: a library as Parquet files, for other engines and other machines."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from explorer.cli import console
from explorer.cli.options import Library
from explorer.cli.place import library_path

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


def register(app: typer.Typer) -> None:
    """Add this module's group of commands."""
    app.add_typer(group)
