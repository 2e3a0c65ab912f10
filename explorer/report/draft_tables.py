"""The answer of `lesson draft` as plain tables: the curve, what is learnt, what has no answer."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict, replace

from explorer.query.draft_model import DraftAnswer, DraftStep
from explorer.report import draft_words as said
from explorer.report import sentences, words
from explorer.report.fields import Field, cells, columns
from explorer.report.json_of import dumped, filters_of
from explorer.report.privacy import Veil
from explorer.report.tables import Cell, Column, Table

MOST_SKIPPED = 10


_FROM = "Players who choose it"
_CHOSEN = (
    Field("Share", "share", "share", file_head="Share", few=said.few),
    Field("Games", "count", "games"),
    Field("of", "count", "of", file_head="Games there"),
    Field("Players", "count", "players"),
)


def draft_tables(
    answer: DraftAnswer, letters: str | None = None, names: str = "initials"
) -> tuple[Table, ...]:
    """The curve, the positions in order, those without an answer; footnotes below the last."""
    veil = Veil.over(answer, names)
    tables = [curve_table(answer, letters, veil), steps_table(answer, letters)]
    if answer.skipped:
        tables.append(skipped_table(answer, letters))
    notes = (*said.notes(answer, letters), *sentences.origin(answer.source, veil))
    return (*tables[:-1], replace(tables[-1], notes=(*tables[-1].notes, *notes)))


def curve_table(answer: DraftAnswer, letters: str | None, veil: Veil) -> Table:
    """The answered share at each move, after some numbers of positions."""
    return Table(
        title=said.title(answer, letters),
        lead=(
            said.opponents(answer, veil),
            said.headline(answer),
            said.on_average(answer),
            said.stopped(answer),
        ),
        columns=(Column("Positions", "count"), *_curve_columns(answer, letters)),
        rows=tuple(
            (number, *answer.steps[number - 1].answered) for number in said.milestones(answer)
        ),
    )


def _curve_columns(answer: DraftAnswer, letters: str | None) -> Iterator[Column]:
    group = f"Of 100 {said.games(answer, letters)}, the student has an answer at move"
    for move in answer.moves:
        yield Column(str(move), "in 100", group, file_head=f"Answered at move {move}")


def steps_table(answer: DraftAnswer, letters: str | None = None) -> Table:
    """Every position learnt, in the order in which it is worth learning."""
    return Table(
        title="What is learnt, in this order",
        columns=(
            Column("No.", "count"),
            Column("Answer"),
            Column("After", "moves"),
            Column("In 100 games", "in 100"),
            *columns({_FROM: _CHOSEN}),
            Column("Chosen by", group=_FROM),
        ),
        rows=tuple(
            (number, *_step_cells(step, letters))
            for number, step in enumerate(answer.steps, start=1)
        ),
    )


def _step_cells(step: DraftStep, letters: str | None) -> Iterator[Cell]:
    yield said.answered(step, letters)
    yield words.spelled(step.line, letters)
    yield step.reached
    yield from cells({_FROM: _CHOSEN}, step)
    yield said.chosen_by(step)


def draft_file(answer: DraftAnswer, letters: str | None = None) -> Table:
    """One table for a spreadsheet: every position with the whole curve."""
    table = steps_table(answer, letters)
    return replace(
        table,
        columns=(*table.columns, *_curve_columns(answer, letters)),
        rows=tuple(
            (*row, *step.answered) for row, step in zip(table.rows, answer.steps, strict=True)
        ),
    )


def skipped_table(answer: DraftAnswer, letters: str | None = None) -> Table:
    """The positions that no answer is given for, those met most often first."""
    rest = len(answer.skipped) - MOST_SKIPPED
    return Table(
        title="Met, but without an answer: yours to choose",
        columns=(Column("After", "moves"), Column("In 100 games", "in 100"), Column("Why")),
        rows=tuple(
            (words.spelled(one.line, letters), one.in_100 / 100, said.why(one, letters))
            for one in answer.skipped[:MOST_SKIPPED]
        ),
        notes=(f"{words.count(rest, 'more position')}, met less often.",) if rest > 0 else (),
    )


def draft_json(answer: DraftAnswer, names: str = "initials") -> str:
    """The draft as JSON: the field names of its dataclasses; levels as they are typed."""
    fields = asdict(answer)
    del fields["source"]  # it can hold names
    return dumped({**fields, "filters": filters_of(answer.filters, Veil.over(answer, names))})
