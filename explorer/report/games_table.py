"""The games that reached a position as a table."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from explorer.query.model import GameRow, GamesAnswer
from explorer.report import sentences, words
from explorer.report.privacy import Veil
from explorer.report.tables import Cell, Column, Table, position_title

RESULTS = {"1-0": "White won", "0-1": "Black won", "1/2-1/2": "draw", "*": "unknown"}
SORTED = {"rating": "highest rated", "date": "newest", "length": "shortest"}


def games_table(
    answer: GamesAnswer,
    names: str = "initials",
    letters: str | None = None,
    sort: str = "rating",
    at_most_moves: int | None = None,
) -> Table:
    """The games with names as the veil lets them through.

    ``sort`` and ``at_most_moves`` are what was asked of the query, to be told.
    """
    veil = Veil.over(answer, names)
    heads = (("Date", "text"), ("White", "moves"), ("White rating", "rating"))
    more = (
        ("Black", "moves"),
        ("Black rating", "rating"),
        ("Result", "moves"),
        ("Moves", "count"),
        ("Reply", "text"),
    )
    columns = (
        *(Column(head, kind) for head, kind in (*heads, *more)),
        Column("Event", "moves"),
        Column("Round", data_only=True),
        Column("Pace"),
    )
    rows = tuple(_game_cells(row, veil, letters) for row in answer.rows)
    kind = f" of at most {words.count(at_most_moves, 'move')}" if at_most_moves else ""
    games = words.count(answer.games, "decisive game" if kind else "game") + kind
    first = f", {SORTED[sort]} first" if len(answer.rows) > 1 else ""
    shown = f"{len(answer.rows):,} of {games} shown{first}."
    return Table(
        title=position_title(answer.position.line, answer.position.name, letters),
        lead=(shown, words.filter_sentence(answer.filters, veil)),
        columns=tuple(_without_empty(columns, rows)),
        rows=rows,
        notes=tuple(sentences.origin(answer.source, veil)),
    )


def _without_empty(columns: Sequence[Column], rows: Sequence[tuple[Cell, ...]]) -> Iterator[Column]:
    """The columns; one without a value in any row, such as a hidden name, is for files only."""
    for index, column in enumerate(columns):
        empty = all(row[index] is None for row in rows)
        yield replace(column, data_only=True) if empty else column


def _game_cells(row: GameRow, veil: Veil, letters: str | None) -> tuple[Cell, ...]:
    return (
        row.date,
        veil.person(row.white),
        row.white_rating,
        veil.person(row.black),
        row.black_rating,
        RESULTS[row.result] + (" by mate" if row.ended_by_mate else ""),
        row.moves,
        words.spelled(row.reply, letters) if row.reply else None,
        veil.tag(row.event, row),
        veil.tag(row.round, row),
        row.pace,
    )
