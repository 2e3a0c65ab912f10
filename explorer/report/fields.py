"""Columns of a table whose cells are fields of one value a row."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from operator import attrgetter
from typing import Any, NamedTuple, TypeAlias

from explorer.report.tables import Cell, Column, Few, Span


class Field(NamedTuple):
    """A column and where its cells come from: one field, ``rate.share``, or the two ends of an
    interval. ``file_head`` is the column's head in table files, ``few`` says of a row whether
    the number rests on too little."""

    head: str
    kind: str
    at: str
    to: str = ""
    file_head: str = ""
    few: Callable[[Any], bool] | None = None


# Groups of columns under their titles.
Groups: TypeAlias = Mapping[str, Sequence[Field]]


def columns(groups: Groups) -> Iterator[Column]:
    """The columns of all groups."""
    for title, fields in groups.items():
        for field in fields:
            yield Column(field.head, field.kind, title, file_head=field.file_head)


def cells(groups: Groups, row: object) -> Iterator[Cell]:
    """The cells of one row, taken from a value; empty ones from None."""
    for fields in groups.values():
        for field in fields:
            yield None if row is None else _cell(field, row)


def _cell(field: Field, row: object) -> Cell:
    value = attrgetter(field.at)(row)
    if field.to:
        return Span(value, attrgetter(field.to)(row))
    cell: Cell = Few(value) if field.few and field.few(row) else value
    return cell
