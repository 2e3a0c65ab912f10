"""`replybook browse`: the library in the browser, on this computer only."""

from __future__ import annotations

import threading
from pathlib import Path
from typing import Annotated

import typer

from explorer.cli import console
from explorer.cli.exits import Exit
from explorer.cli.options import Library, Position
from explorer.cli.place import library_path
from explorer.cli.values import whole
from ingest.errors import InputError, LibraryBusy

PORT = 8765
FIRST_PORT, LAST_PORT = 1024, 65_535


def browse(
    position: Position = None,
    port: Annotated[
        int,
        typer.Option(
            parser=whole("--port", FIRST_PORT, LAST_PORT, PORT),
            metavar="N",
            help="The port; the next free one if it is taken.",
        ),
    ] = PORT,
    no_open: Annotated[bool, typer.Option("--no-open", help="Do not open the browser.")] = False,
    lessons: Annotated[
        Path | None,
        typer.Option(metavar="FOLDER", help="The folder of your lessons (PGN files)."),
    ] = None,
    library: Library = None,
) -> None:
    """Look around the library in your browser, and show it in class.

    It runs on this computer only, until you press Ctrl-C. POSITION is where it begins.
    For example: replybook browse e4 e5 Nf3 --lessons my-lessons
    """
    import webbrowser

    from explorer.positions.typed import parse_position
    from explorer.web.app import make_app
    from explorer.web.asked import address, where
    from explorer.web.serving import listening, serve

    asked = parse_position(position or [])
    path = library_path(library)
    _refuse_what_cannot_be_read(path, lessons)
    app = make_app(path, lessons, ("--library", str(library)) if library else ())
    with listening(port) as place:
        found = place.getsockname()[1]
        if found != port:
            console.say(f"Port {port} is taken; using {found}.")
        there = f"http://127.0.0.1:{found}{address('/position', where(asked))}"
        console.show(there)
        console.say("Ctrl-C stops it.")
        if not no_open:
            # Some browsers keep whoever starts them waiting.
            threading.Thread(target=webbrowser.open, args=(there,), daemon=True).start()
        try:
            serve(app, place)
        except KeyboardInterrupt:
            raise typer.Exit(Exit.INTERRUPTED) from None
        finally:
            console.say("Stopped.")


def _refuse_what_cannot_be_read(path: Path, lessons: Path | None) -> None:
    """A library that is being added to is no hindrance: pages wait for it."""
    from explorer.query.library import open_library

    if lessons is not None and not lessons.is_dir():
        raise InputError(f"{lessons}: there is no such folder; make it, or leave --lessons out")
    try:
        open_library(path).let_go()
    except LibraryBusy:
        console.say(f"{path}: games are being added; pages come when that has ended.")


def register(app: typer.Typer) -> None:
    """Add this module's command."""
    app.command()(browse)
