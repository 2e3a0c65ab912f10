"""The pages of the library itself: its collections and files, and the ledger."""

from __future__ import annotations

from collections.abc import Sequence

from explorer.query.shelves import Rejected, Shelves
from explorer.report import words
from explorer.report.bar import Link
from explorer.report.cards import Grid
from explorer.report.grids import grids
from explorer.report.ledger import collections_table
from explorer.report.plain_page import plain_page
from explorer.report.privacy import Veil
from explorer.report.sheet import PageOptions
from explorer.report.tables import plain_table


def library_page(shelves: Shelves, options: PageOptions, links: Sequence[Link]) -> str:
    """HTML of the collections and files. ``links`` lead on from there."""
    veil = Veil(options.names, people=shelves.people)
    table = collections_table(shelves.collections)
    heads = ("File", "Collection", "Found", "Added", "Twice", "Rejected", "Left out", "Cut short")
    rows = [
        (
            words.clean(veil.text(file.name)),
            words.clean(veil.text(file.collection)),
            *(file.found, file.added, file.duplicates),
            *(file.rejected, file.left_out, file.cut_short),
        )
        for file in shelves.files
    ]
    games = sum(one.games for one in shelves.collections)
    says = [
        f"{words.count(games, 'game')} in {words.count(len(shelves.collections), 'collection')}."
    ]
    if shelves.more_files:
        says.append(f"The first {len(rows)} files are listed.")
    return plain_page(
        "The library",
        says if shelves.collections else table.notes,
        options,
        grids=(*_veiled(grids(table), veil), *grids(plain_table("Files", heads, rows))),
        onward=links,
        again="The collections",
        veil=veil,
    )


def rejects_page(
    rejected: Rejected, options: PageOptions, collection: str | None, links: Sequence[Link]
) -> str:
    """HTML of the ledger's lines; the games' text, which has names in it, only where names are
    shown in full."""
    veil, full = Veil(options.names, people=rejected.people), options.names == "full"
    heads = ("File", "Game", "Line", "What", "Reason", *(("Begins",) if full else ()))
    rows = [
        (
            words.clean(veil.text(one.file)),
            one.game_number,
            one.line,
            one.kind,
            words.clean(veil.text(one.reason)),
            *((words.clean(one.excerpt),) if full else ()),
        )
        for one in rejected.lines
    ]
    if rows:
        first = rejected.skip + 1
        says = f"Lines {first:,} to {rejected.skip + len(rows):,}."
    else:
        says = "Nothing more was rejected, cut short or found twice."
    of = f' of "{words.clean(veil.text(collection))}"' if collection else ""
    table = plain_table("Games", heads, rows)
    title = f"Rejected, cut short, found twice or noted{of}"
    again = "All the lines"
    return plain_page(
        title, [says], options, grids=grids(table), onward=links, again=again, veil=veil
    )


def _veiled(tables: Sequence[Grid], veil: Veil) -> tuple[Grid, ...]:
    """Collections are named after students now and then."""
    return tuple(
        Grid(
            table.caption,
            table.heads,
            tuple((veil.text(row[0]), *row[1:]) for row in table.rows),
            table.worded,
        )
        for table in tables
    )
