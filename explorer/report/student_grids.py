"""The tables of a student's page, cell for cell the values of the answer."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from operator import attrgetter

from explorer.query.model import FEW_GAMES
from explorer.query.student_model import AgainstLesson, Better, Listed, OwnMistake, StudentAnswer
from explorer.query.student_parts import OwnMean, OwnRate, Results
from explorer.report import words
from explorer.report.cards import Grid
from explorer.report.fields import Field, Groups, cells, columns
from explorer.report.grids import grids
from explorer.report.habits_tables import habits_table
from explorer.report.student_cells import WHICH, rate_cells, rate_columns
from explorer.report.student_sentences import MEASURES, numbered
from explorer.report.tables import Cell, Column, Few, InKind, Span, Table

COUNTS = (
    Field("Games", "count", "games"),
    Field("Won", "count", "wins"),
    Field("Drawn", "count", "draws"),
    Field("Lost", "count", "losses"),
)


def _mean(head: str, kind: str, at: str) -> tuple[Field, Field]:
    """A mean of a row, muted where few games make it, and its interval."""
    few = attrgetter(f"{at}.few")
    return (
        Field(head, kind, f"{at}.value", few=few),
        Field("Between" if head != "Score" else "Score between", kind, f"{at}.low", f"{at}.high"),
    )


SCORE = _mean("Score", "score", "score")
AGAINST = _mean("Differs by", "signed", "over_expected")
RATED = Field("Rated games", "count", "over_expected.games")
OF_SIDE = ("all", "white", "black")


def results(answer: StudentAnswer) -> tuple[Grid, ...]:
    """How the games went; of few games only the counts."""
    rows = [one for one in answer.short.results if one.of in OF_SIDE and one.games]
    return _results("How your games went", rows, answer.few)


def _results(title: str, rows: Sequence[Results], few: bool) -> tuple[Grid, ...]:
    groups: Groups = {"": COUNTS if few else (*COUNTS, *SCORE)}
    if not few and any(row.over_expected.games for row in rows):
        groups = {**groups, "Score against expectation": (*AGAINST, RATED)}
    return grids(
        Table(
            title=title,
            columns=(Column("Games", "moves"), *columns(groups)),
            rows=tuple((WHICH[row.of], *cells(groups, row)) for row in rows),
        )
    )


def lesson(told: AgainstLesson, few: bool) -> tuple[Grid, ...]:
    """Move by move how often the taught move was played, and results in and out of the lesson."""
    rows = [one for one in told.results if one.games]
    return (*_at_moves(told), *_results("How these games went", rows, few))


def _at_moves(told: AgainstLesson) -> tuple[Grid, ...]:
    rows = tuple((str(one.move), *rate_cells(one.kept)) for one in told.at_moves)
    heads = (Column("At move"), *rate_columns("Taught move", "Games that were in it"))
    return grids(Table("How far you keep to it", heads, rows))


def listed(told: Listed, letters: str | None) -> tuple[Grid, ...]:
    """The listed mistakes that came up: made, and punished."""
    made = [(_name(one, letters), one) for one in told.made]
    punished = [(_name(one, letters), one) for one in told.punished]
    return (
        *_mistakes("Mistakes of your level", "You played it", made),
        *_mistakes("Chances to punish them", "You punished it", punished),
    )


def _name(one: OwnMistake, letters: str | None) -> str:
    """``2... f6 after 1. e4 e5 2. Nf3``, or what punishes it."""
    san = one.costly.san if one.what == "made" else one.answer or ""
    line = f" after {words.spelled(one.line, letters)}" if one.line else ""
    return f"{numbered(one.line, san, letters)}{line}"


def _mistakes(title: str, what: str, rows: Iterable[tuple[str, OwnMistake]]) -> tuple[Grid, ...]:
    heads = (
        Column("Move", "moves"),
        Column(what, "count"),
        Column("Chances", "count"),
        Column("Others", "share"),
        Column("Their chances", "count"),
    )
    return grids(Table(title, heads, tuple((name, *_mistake(one)) for name, one in rows)))


def _mistake(one: OwnMistake) -> tuple[Cell, ...]:
    crowd = one.others
    share = Few(crowd.share) if crowd.few and crowd.games else crowd.share
    return one.own.cases, one.own.games, share, crowd.games


def before_after(better: Better) -> tuple[Grid, ...]:
    """The measures before and after the day, and the difference."""
    if better.since is None or not better.changes:
        return ()
    heads = (
        Column("Measure", "moves"),
        Column("Before", "share"),
        Column("of", "count"),
        Column("After", "share"),
        Column("of ", "count"),
        Column("Change", "points"),
        Column("Change between", "points"),
    )
    title = f"Before and since {words.day(better.since)}"
    return grids(Table(title, heads, tuple(_changes(better))))


def _changes(better: Better) -> Iterator[tuple[Cell, ...]]:
    for change in better.changes:
        told = change.difference
        before, after = (
            getattr(period, change.measure) for period in (better.before, better.after)
        )
        kind = {"over_expected": "signed", "left_at": "pieces"}.get(change.measure, "share")
        change_kind = {"share": "points", "signed": "signed", "pieces": "signed pieces"}[kind]
        value = Few(told.value) if change.few and told.value is not None else told.value
        yield (
            MEASURES[change.measure],
            InKind(kind, _value(before)),
            before.games,
            InKind(kind, _value(after)),
            after.games,
            InKind(change_kind, value),
            InKind(change_kind, Span(told.low, told.high)),
        )


def _value(found: OwnRate | OwnMean) -> float | Few | None:
    value = found.share if isinstance(found, OwnRate) else found.value
    return Few(value) if value is not None and found.games < FEW_GAMES else value


def habits(answer: StudentAnswer, names: str) -> tuple[Grid, ...]:
    """The student's habits beside those of the others: the first block of the habits' table."""
    return grids(habits_table(answer.habits, names))[:1] if answer.habits else ()
