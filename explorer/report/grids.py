"""Tables for pages, cell for cell those of the terminal."""

from __future__ import annotations

from explorer.report import words
from explorer.report.cards import Grid
from explorer.report.formats import cell_text, foot_of, groups
from explorer.report.tables import Cell, Column, Table


def grids(table: Table) -> tuple[Grid, ...]:
    """A table for a page, one grid for each group of columns; none without rows."""
    if not table.rows:
        return ()
    return tuple(_grid(table, title or table.title, picked) for title, picked in groups(table))


def _grid(table: Table, caption: str, picked: list[int]) -> Grid:
    columns = [table.columns[i] for i in picked]
    return Grid(
        caption=caption,
        heads=tuple(column.head for column in columns),
        rows=tuple(
            tuple(_text(row[i], column) for i, column in zip(picked, columns, strict=True))
            for row in (*table.rows, *foot_of(table, picked))
        ),
        worded=tuple(i for i, column in enumerate(columns) if column.kind in ("text", "moves")),
    )


def _text(cell: Cell, column: Column) -> str:
    """A cell's text; an interval stays on one line."""
    text = cell_text(cell, column)
    return text.replace(" ", words.NO_BREAK) if column.spans else text
