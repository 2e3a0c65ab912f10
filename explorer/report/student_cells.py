"""Cells and columns that the tables of a student have in common."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from explorer.query.student_parts import OwnMean, OwnRate, Results
from explorer.report import words
from explorer.report.tables import Cell, Column, Few, Span, Table

WHICH = {
    "all": "All games",
    "white": "With White",
    "black": "With Black",
    "kept": "You did not leave it first",
    "left": "You left it first",
    "not entered": "Not entered",
}

Tables = Iterator[Table]

SCORE = (
    Column("Won", "count"),
    Column("Drawn", "count"),
    Column("Lost", "count"),
    Column("Score", "score"),
    Column("Score between", "score"),
    Column("Against expectation", "signed"),
    Column("Against expectation between", "signed"),
    Column("Rated games", "count"),
)


def mean(told: OwnMean) -> Iterator[Cell]:
    """A mean, muted where few games make it, and its interval."""
    yield Few(told.value) if told.few and told.value is not None else told.value
    yield Span(told.low, told.high)


def results_cells(told: Results) -> Iterator[Cell]:
    """The cells below SCORE."""
    yield from (told.wins, told.draws, told.losses)
    yield from mean(told.score)
    yield from mean(told.over_expected)
    yield told.over_expected.games


def results_table(title: str, rows: Iterable[Results], lead: Sequence[str] = ()) -> Table:
    """How games went, a row for each kind of which there are any."""
    return Table(
        title=title,
        lead=tuple(lead),
        columns=(Column("Games", "moves"), Column("Number", "count"), *SCORE),
        rows=tuple((WHICH[row.of], row.games, *results_cells(row)) for row in rows if row.games),
    )


def rate_cells(told: OwnRate) -> Iterator[Cell]:
    """The cells below `rate_columns`."""
    yield told.cases
    yield told.games
    yield Few(told.share) if told.few and told.share is not None else told.share
    yield Span(told.low, told.high)


def rate_columns(what: str, of: str) -> tuple[Column, ...]:
    """``what`` times ``of`` how many, and the share with its interval."""
    return (
        Column(what, "count"),
        Column(of, "count"),
        Column("Share", "share"),
        Column("Share between", "share"),
    )


def left_out(number: int, thing: str) -> str:
    """A note that so many rarer ones are not shown; empty for none."""
    if not number:
        return ""
    more = words.count(number, f"rarer {thing}")
    return f"{more} {'is' if number == 1 else 'are'} not shown; JSON has all."


def after(line: str, letters: str | None) -> str:
    """The moves before a reply; "the start" where there are none."""
    return words.spelled(line, letters) or "the start"
