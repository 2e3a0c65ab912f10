"""Plain pages of the local page: a few words, links, tables, perhaps a diagram."""

from __future__ import annotations

from collections.abc import Sequence

import chess

from explorer.report.bar import Link
from explorer.report.cards import Grid
from explorer.report.diagram import Marks, diagram
from explorer.report.privacy import Veil
from explorer.report.sheet import PageOptions, sheet
from explorer.report.words import clean


def plain_page(
    title: str,
    says: Sequence[str],
    options: PageOptions,
    *,
    board: chess.Board | None = None,
    offered: Sequence[Link] = (),
    grids: Sequence[Grid] = (),
    onward: Sequence[Link] = (),
    again: str = "",
    veil: Veil | None = None,
) -> str:
    """HTML of a page without numbers of its own.

    ``says`` are its sentences, ``board`` a position to show (its last move is marked),
    ``offered`` links to choose from, ``onward`` those to more of the same. ``again`` says what
    the command makes; the page ends with it if there is any. ``veil`` is the one over it.
    """
    last = board.peek() if board and board.move_stack else None
    drawing = diagram(board, options.view, Marks(last), standalone=False) if board else ""
    return sheet(
        "plain.html.j2",
        None,
        options,
        title=clean(title),
        name=None,
        notes=(),
        reached=(),
        drawing=drawing,
        says=[clean(line) for line in says],
        offered=offered,
        grids=grids,
        onward=onward,
        again=again,
        veil=veil,
    )
