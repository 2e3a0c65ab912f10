"""A student beside the lesson, and what costs most, as tables."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from explorer.query.student_model import AgainstLesson, Cost, Leaving, OwnMistake, StudentAnswer
from explorer.report import student_sentences as said
from explorer.report import words
from explorer.report.student_cells import (
    Tables,
    after,
    left_out,
    mean,
    rate_cells,
    rate_columns,
    results_table,
)
from explorer.report.student_discreet import Discreet
from explorer.report.tables import Cell, Column, Few, Span, Table

MISSED = 6  # rows of a list; a table file or JSON has all


def lesson_tables(told: AgainstLesson, discreet: Discreet, letters: str | None) -> Tables:
    """Results in and out of the lesson, how far it is kept to, and where it was left."""
    name = discreet.text(told.title) or "the lesson"
    yield replace(
        results_table(
            f"Beside {name}", told.results, [*said.lesson(told, letters), *told.warnings]
        ),
    )
    yield Table(
        title="How far you keep to it",
        columns=(Column("At move", "count"), *rate_columns("Taught move", "Games in it")),
        rows=tuple((one.move, *rate_cells(one.kept)) for one in told.at_moves),
    )
    for title, ways in (
        ("Where you left it", told.by_student),
        ("Where opponents left it", told.by_opponent),
    ):
        if ways:
            yield _leavings(title, ways, letters)


def _leavings(title: str, ways: Sequence[Leaving], letters: str | None) -> Table:
    return Table(
        title=title,
        columns=(
            Column("After", "moves"),
            Column("Played"),
            Column("The lesson", "moves"),
            Column("Times", "count"),
            Column("Last on"),
            Column("Against expectation", "signed"),
        ),
        rows=tuple(
            (
                after(one.line, letters),
                said.numbered(one.line, one.san, letters),
                f"{words.spelled(', '.join(one.instead), letters)}"
                + (f" (knows it: {one.kind})" if one.kind else ""),
                one.games,
                one.last.isoformat() if one.last else None,
                next(mean(one.results.over_expected)),
            )
            for one in ways[:MISSED]
        ),
        notes=tuple(filter(None, [left_out(len(ways[MISSED:]), "way")])),
    )


def costs_tables(answer: StudentAnswer, letters: str | None) -> Tables:
    """What costs most, and the listed mistakes made and punished."""
    found = answer.costs.found
    yield Table(
        title="What costs most",
        columns=(
            Column("After", "moves"),
            Column("Move"),
            *rate_columns("Times", "of")[:2],
            Column("Better"),
            Column("Scores less by", "signed"),
            Column("Less between", "signed"),
            Column("Points lost in 100", "score"),
            Column("Lost between", "score"),
            Column("Last on"),
        ),
        rows=tuple(tuple(_cost_cells(one, letters)) for one in found),
        notes=tuple(_stopped(one, letters) for one in found if one.over)
        if found
        else (said.NOTHING_COSTS,),
    )
    listed = answer.mistakes
    for title, what, rows in (
        ("Mistakes of your level", "You played it", listed.made),
        ("Chances to punish them", "You punished it", listed.punished),
    ):
        if rows:
            yield _mistakes(title, what, rows, letters)


def _stopped(one: Cost, letters: str | None) -> str:
    move = said.numbered(one.line, one.san, letters)
    return f"{move}: {said.over_now(one.last, one.since_then)}"


def _cost_cells(one: Cost, letters: str | None) -> Iterator[Cell]:
    yield after(one.line, letters)
    yield said.numbered(one.line, one.san, letters)
    yield one.own.cases
    yield one.own.games
    yield said.numbered(one.line, one.favoured.san, letters)
    yield one.difference.value
    yield Span(one.difference.low, one.difference.high)
    yield one.lost
    yield Span(one.lost_low, one.lost_high)
    yield one.last.isoformat() if one.last else None


def _mistakes(title: str, what: str, rows: Sequence[OwnMistake], letters: str | None) -> Table:
    def cells(one: OwnMistake) -> Iterator[Cell]:
        san = one.costly.san if one.what == "made" else one.answer or ""
        yield after(one.line, letters)
        yield said.numbered(one.line, san, letters)
        yield from rate_cells(one.own)
        crowd = one.others
        yield Few(crowd.share) if crowd.few and crowd.games else crowd.share
        yield crowd.games
        yield one.last.isoformat() if one.last else None

    wrong = "Last on" if rows[0].what == "made" else "Last missed"
    return Table(
        title=title,
        columns=(
            Column("After", "moves"),
            Column("Move"),
            *rate_columns(what, "Chances"),
            Column("Others", "share"),
            Column("Their chances", "count"),
            Column(wrong),
        ),
        rows=tuple(tuple(cells(one)) for one in rows),
    )
