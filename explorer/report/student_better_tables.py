"""Whether a student gets better, month by month and before and since a day, as tables."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from explorer.query.student_model import Better, Change, Period, StudentAnswer
from explorer.query.student_parts import OwnMean, OwnRate
from explorer.report import student_sentences as said
from explorer.report import words
from explorer.report.student_cells import Tables, mean
from explorer.report.tables import Cell, Column, Few, InKind, Span, Table

MONTHS = 12  # for a reader; JSON has all


def better_tables(better: Better, answer: StudentAnswer, letters: str | None) -> Tables:
    """Months, and before and since a day; of measures only those that ever had a chance."""
    measures = [measure for measure in _MEASURED if _ever(better.months, measure)]
    if better.months:
        left_out = len(better.months[:-MONTHS])
        yield Table(
            title="Month by month",
            lead=tuple(said.better(better, answer.mistakes.made, letters)),
            columns=(
                *_MONTH,
                *(column for measure in measures for column in _MEASURED[measure]),
            ),
            rows=tuple(
                tuple(_period_cells(period, measures)) for period in better.months[-MONTHS:]
            ),
            notes=tuple(filter(None, [_earlier(left_out)])),
        )
    if better.since and better.before and better.after and better.changes:
        yield Table(
            title=f"Before and since {words.day(better.since)}",
            columns=(
                Column("Measure", "moves"),
                Column("Before", "share"),
                Column("of", "count", file_head="Before: of"),
                Column("Since", "share"),
                Column("of", "count", file_head="Since: of"),
                Column("Change", "points"),
                Column("Change between", "points"),
            ),
            rows=tuple(
                tuple(_change_cells(change, better.before, better.after))
                for change in better.changes
            ),
        )


_MONTH = (
    Column("Month"),
    Column("Games", "count"),
    Column("Against expectation", "signed"),
    Column("Against between", "signed"),
)
_MEASURED = {
    "mistakes": (Column("Mistakes", "count"), Column("Chances for them", "count")),
    "punished": (Column("Punished", "count"), Column("Chances to punish", "count")),
    "kept": (Column("Taught moves", "count"), Column("of", "count", file_head="Taught asked")),
    "left_at": (Column("Left it at move", "pieces"),),
}


def _ever(months: Sequence[Period], measure: str) -> bool:
    """Whether there was a chance in any month."""
    found = [getattr(period, measure) for period in months]
    return any(one is not None and one.games for one in found)


def _earlier(months: int) -> str:
    if not months:
        return ""
    many = words.count(months, "earlier month")
    return f"{many} {'is' if months == 1 else 'are'} not shown; JSON has them."


def _period_cells(period: Period, measures: Sequence[str]) -> Iterator[Cell]:
    yield period.label
    yield period.games
    yield from mean(period.over_expected)
    for measure in measures:
        found: OwnRate | OwnMean = getattr(period, measure)
        if isinstance(found, OwnRate):
            yield found.cases
            yield found.games
        else:
            yield next(mean(found))


_KINDS = {"over_expected": ("signed", "signed"), "left_at": ("pieces", "signed pieces")}


def _change_cells(change: Change, before: Period, after: Period) -> Iterator[Cell]:
    kind, difference = _KINDS.get(change.measure, ("share", "points"))
    yield said.MEASURES[change.measure]
    for period in (before, after):
        found: OwnRate | OwnMean = getattr(period, change.measure)
        value = found.share if isinstance(found, OwnRate) else found.value
        yield InKind(kind, Few(value) if found.few and value is not None else value)
        yield found.games
    told = change.difference
    few = change.few and told.value is not None
    yield InKind(difference, Few(told.value) if few else told.value)
    yield InKind(difference, Span(told.low, told.high))
