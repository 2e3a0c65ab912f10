"""The answer about a student as plain tables, one below the other."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from explorer.query.student_model import Practise, ShortGame, StudentAnswer
from explorer.report import student_sentences as said
from explorer.report import words
from explorer.report.habits_tables import habits_table
from explorer.report.student_better_tables import better_tables
from explorer.report.student_cells import Tables, after, results_table
from explorer.report.student_discreet import Discreet
from explorer.report.student_found_tables import costs_tables, lesson_tables
from explorer.report.student_play_tables import plays_tables
from explorer.report.student_tree import stands_out
from explorer.report.student_words import notes
from explorer.report.tables import Column, Table

TASKS = {
    "mistake": "instead of the mistake",
    "cost": "it scores better",
    "punish": "punishes a mistake",
    "lesson": "the lesson teaches it",
}


def student_tables(
    answer: StudentAnswer, letters: str | None = None, names: str = "initials"
) -> tuple[Table, ...]:
    """Results, what is played, the lesson, what costs, whether it got better, what to practise,
    short games; the footnotes below the last. Of few games nothing is compared."""
    discreet = Discreet.over(answer, names)
    tables = [_short(answer, discreet, letters)]
    tables += plays_tables(answer, letters)
    if answer.lesson and answer.lesson.games:
        tables += lesson_tables(answer.lesson, discreet, letters)
    if not answer.few:
        tables += [*costs_tables(answer, letters), *better_tables(answer.better, answer, letters)]
        tables += _practise(answer.practise, letters)
    tables += _games([*answer.won, *answer.lost], letters)
    if answer.habits and not answer.few:
        told = habits_table(answer.habits, names)
        tables.append(replace(told, columns=_first_block(told.columns), notes=()))
    *before, last = tables
    return (*before, replace(last, notes=(*last.notes, *notes(answer, discreet.veil))))


def _first_block(columns: Sequence[Column]) -> tuple[Column, ...]:
    """For a reader only the student beside the others."""
    own = columns[1].group
    return tuple(
        column if not column.group or column.group == own else replace(column, data_only=True)
        for column in columns
    )


def _short(answer: StudentAnswer, discreet: Discreet, letters: str | None) -> Table:
    title = f"The games of {discreet.name}"
    lead = [
        _which(answer, discreet),
        *said.in_short(answer),
        *map(said.doubt, answer.doubts),
    ]
    if not answer.few:
        lead += stands_out(answer, letters)
    return results_table(title, answer.short.results, lead)


def _which(answer: StudentAnswer, discreet: Discreet) -> str:
    """Which games: ``Games: rapid, until March 2026.``"""
    chosen = replace(answer.filters, levels=(), player=None)
    told = words.filter_sentence(chosen, discreet.veil)
    return told.replace("Players of every level, ", "Games: ", 1)


def _practise(items: Sequence[Practise], letters: str | None) -> Tables:
    yield Table(
        title="What to practise next",
        notes=() if items else (said.NOTHING_TO_PRACTISE,),
        columns=(
            Column("After", "moves"),
            Column("Find"),
            Column("because", "moves"),
            Column("You played"),
            Column("Not found", "count"),
            Column("of", "count", file_head="Of"),
            Column("Last on"),
        ),
        rows=tuple(
            (
                after(item.line, letters),
                said.numbered(item.line, item.answer, letters),
                TASKS[item.kind],
                words.spelled(item.played, letters) if item.played else None,
                item.own.cases,
                item.own.games,
                item.last.isoformat() if item.last else None,
            )
            for item in items
        ),
    )


def _games(games: Sequence[ShortGame], letters: str | None) -> Tables:
    if not games:
        return
    yield Table(
        title="Your shortest games, and the move at which each turned",
        columns=(
            Column("Date"),
            Column("Side"),
            Column("Result"),
            Column("Moves", "count"),
            Column("It turned with", "moves"),
            Column("Swing", "pawns"),
        ),
        rows=tuple(
            (
                game.row.date,
                words.side(game.side),
                "won" if game.won else "lost",
                game.row.moves,
                said.numbered(game.line, game.turn, letters),
                game.swing,
            )
            for game in games
        ),
    )
