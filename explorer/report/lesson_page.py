"""The page of a lesson: set as a book would set it, and what it answers at the class's level."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import PurePath

from explorer.positions.lesson import Lesson
from explorer.query.lesson_met import LessonMet
from explorer.query.lesson_model import LessonAnswer, StatesAt, Unanswered
from explorer.report import lesson_words as said
from explorer.report import sentences, words
from explorer.report.book import Part, parts
from explorer.report.book_words import BORROWED_NOTE, BORROWED_SIGN, prose
from explorer.report.cards import Grid, Look
from explorer.report.grids import grids
from explorer.report.lesson_tables import outscored_table, rare_table, states_table
from explorer.report.privacy import Veil
from explorer.report.sentences import FEW_SIGN
from explorer.report.sheet import PageOptions, moves_read, sheet
from explorer.report.states_chart import legend, patterns, states_chart
from explorer.report.tables import Cell, Column, Few, Span, Table


@dataclass(frozen=True, slots=True)
class Chart:
    """Where games stand against opponents of one level."""

    title: str
    drawing: str


@dataclass(frozen=True, slots=True)
class Section:
    """A heading, sentences, tables, and remarks below them."""

    ident: str
    heading: str
    says: tuple[str, ...]
    grids: tuple[Grid, ...]
    remarks: tuple[str, ...] = ()


def lesson_page(lesson: Lesson, met: LessonMet, options: PageOptions) -> str:
    """HTML of a lesson. The bytes depend on the arguments alone."""
    answer, look = met.answer, Look(options.view, options.letters)
    veil = Veil.over(answer, options.names)
    levels = [answer.whole, *([answer.next] if answer.next else [])]
    book = parts(lesson, met, look, veil, options.large)
    games = words.count(answer.whole.games, "game")
    return sheet(
        "lesson.html.j2",
        answer,
        options,
        chosen=said.opponents(answer, veil),
        title=veil.text(title_of(lesson)),
        name=f"For {words.side(lesson.side)}",
        notes=[*_notes(answer, met, look.letters), *sentences.origin(answer.source, veil)],
        reached=[(_began(answer, look.letters), f"{games}, {moves_read(answer.source)}")],
        opponents=said.opponents(answer, veil),
        says=tuple(said.summary(answer, look.letters)),
        book=book,
        book_hint=_hint(answer, book),
        patterns=patterns(),
        charts=tuple(_chart(level, answer, look.letters) for level in levels),
        legend=tuple(legend([states for level in levels for states in level.states])),
        states=grids(states_table(answer, look.letters, options.names)),
        sections=tuple(_sections(answer, look.letters)),
        warnings=tuple(veil.text(prose(warning, look.letters)) for warning in answer.warnings),
    )


def title_of(lesson: Lesson) -> str:
    """What the lesson is called: its title, else its file's name."""
    return words.clean(lesson.title) or words.clean(PurePath(lesson.name).stem)


def _began(answer: LessonAnswer, letters: str | None) -> str:
    return f"Came to {words.spelled(answer.start, letters)}" if answer.start else "Chosen"


def _hint(answer: LessonAnswer, book: Sequence[Part]) -> str:
    """What the small numbers in the text are."""
    who = words.players(answer.filters.levels)
    hint = f"Behind a reply: the share of {who} who choose it, and of how many games."
    runs = [run for part in book for block in part.blocks for run in block.runs]
    if any(run.text.endswith(BORROWED_SIGN) for run in runs):
        hint += f" {BORROWED_NOTE}"
    if any(run.kind == "few" for run in runs):
        hint += f" {FEW_SIGN} Too few to say."
    return hint


def _chart(level: StatesAt, answer: LessonAnswer, letters: str | None) -> Chart:
    name = f"Opponents: {level.label}"
    return Chart(
        f"{name}, {words.count(level.games, 'game')}",
        states_chart(level.states, f"{said.games(answer, letters)}, {name}"),
    )


def _sections(answer: LessonAnswer, letters: str | None) -> Iterator[Section]:
    """What is missing, what scores badly, what hardly arises, what the next level adds."""
    if answer.unanswered:
        rows = tuple(_row(row, letters) for row in answer.unanswered)
        table = Table("The most frequent first", _COLUMNS, rows)
        left_out = tuple(filter(None, [said.left_out(answer)]))
        yield Section("unanswered", "Replies without an answer", (), held(grids(table)), left_out)
    if answer.outscored:
        table = outscored_table(answer, letters)
        captioned = replace(table, title="Beside the most common of the better ones")
        yield Section("outscored", table.title, (), grids(captioned), table.notes)
    if answer.rare:
        table = rare_table(answer, letters)
        captioned = replace(table, title="What they cost to learn")
        yield Section("rare", table.title, (), grids(captioned), table.notes)
    if answer.next:
        yield _moving_up(answer, letters)


_COLUMNS = (
    Column("Line with the reply", "moves"),
    Column("In 100 games", "in 100"),
    Column("Between", "in 100"),
    Column("Share there"),
    Column("Favoured answer"),
    Column("its games", "count"),
)


def _row(row: Unanswered, letters: str | None) -> tuple[Cell, ...]:
    in_100 = row.in_100 / 100
    return (
        said.whole_line(row, letters),
        Few(in_100) if row.few else in_100,
        Span(_part(row.low), _part(row.high)),
        share_there(row),
        said.answered(row, letters),
        row.answer.games if row.answer else None,
    )


def _part(in_100: float | None) -> float | None:
    return None if in_100 is None else in_100 / 100


def share_there(row: Unanswered) -> str:
    """The reply's share of the games at its position: ``12 % of 2,692``."""
    signs = f"{FEW_SIGN if row.few else ''}{BORROWED_SIGN if row.borrowed else ''}"
    return f"{words.percent(row.share)} of {row.of:,}{signs}"


def _moving_up(answer: LessonAnswer, letters: str | None) -> Section:
    """The next level: what must be added, with what it was before."""
    heading = f"When the class moves up to {answer.next_level}"
    columns = (*_COLUMNS[:2], Column("Now", "in 100"), *_COLUMNS[2:])
    rows = []
    for one in answer.added:
        line, in_100, *rest = _row(one.reply, letters)
        rows.append((line, in_100, one.now / 100, *rest))
    table = Table("To be added", columns, tuple(rows))
    return Section("next-level", heading, (said.outgrown(answer),), held(grids(table)))


def held(tables: Sequence[Grid]) -> tuple[Grid, ...]:
    """The tables with all cells but lines kept on one line."""
    return tuple(
        replace(
            table,
            rows=tuple(
                (first, *(cell.replace(" ", words.NO_BREAK) for cell in rest))
                for first, *rest in table.rows
            ),
        )
        for table in tables
    )


def _notes(answer: LessonAnswer, met: LessonMet, letters: str | None) -> Iterator[str]:
    rows = [*answer.unanswered, *(one.reply for one in answer.added)]
    if any(row.few for row in rows):
        yield said.FEW_NOTE
    for note in said.notes(answer):
        if note not in answer.warnings:
            yield note
    if rows:
        yield said.FAVOURED_NOTE
    yield sentences.expectation(answer.source)
