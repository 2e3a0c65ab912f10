"""What goes on paper and slides beside pages: a diagram, a worksheet."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from explorer.cli import console
from explorer.cli.options import Large, Letters, Open, Position, Side, ViewChoice
from explorer.cli.place import page_name
from ingest.errors import UsageError


def diagram(
    position: Position = None,
    output: Annotated[
        Path | None,
        typer.Option("-o", "--output", metavar="FILE.svg", help="Write the drawing to this file."),
    ] = None,
    view: ViewChoice = Side.WHITE,
    arrow: Annotated[
        list[str] | None,
        typer.Option(metavar="MOVE", help="Draw an arrow, such as h5f7; may be repeated."),
    ] = None,
    mark: Annotated[
        list[str] | None,
        typer.Option(metavar="SQUARE", help="Ring a square, such as f7; may be repeated."),
    ] = None,
    letters: Letters = None,
    large: Large = False,
    open: Open = False,
) -> None:
    """Draw a position as an SVG file, for slides.

    POSITION is moves (e4 e5 Nf3), a FEN, an opening's name or a PGN file; left
    out, it is the start. For example: replybook diagram e4 e5 Nf3 f6 --mark f6
    """
    if output is not None and output.suffix.lower() != ".svg":
        raise UsageError(f"{output}: a diagram ends in .svg; write for example -o lesson.svg")
    from explorer.positions.typed import parse_position
    from explorer.report.diagram import parse_marks
    from explorer.report.files import write_text
    from explorer.report.slide import slide

    words = position or []
    marks = parse_marks(arrow or (), mark or ())
    asked = parse_position(words, letters)
    target = output or page_name("diagram", *words, ending=".svg")
    write_text(target, slide(asked, view.value, marks, letters, large))
    console.show(str(target))
    if open:
        console.open_page(target)


def register(app: typer.Typer) -> None:
    """Add this module's commands."""
    app.command()(diagram)
