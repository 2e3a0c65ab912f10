"""The answer of `lesson check` as plain tables, one below the other."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from explorer.query.lesson_model import LessonAnswer, States, StatesAt, Unanswered
from explorer.query.model import FEW_GAMES
from explorer.report import lesson_words as said
from explorer.report import sentences, words
from explorer.report.fields import Field, Groups, cells, columns
from explorer.report.privacy import Veil
from explorer.report.tables import Cell, Column, Few, Span, Table

_STATES = (
    Field("Has an answer or has won", "in 100", "answered", file_head="Answered"),
    Field("Answered between", "in 100", "low", "high"),
    Field("Has won", "in 100", "won"),
    Field("No answer", "in 100", "unanswered"),
    Field("Ended", "in 100", "ended"),
    Field("Too few", "in 100", "too_few"),
)


def _few(row: Unanswered) -> bool:
    return row.few


def _score_few(row: Unanswered) -> bool:
    return row.score_few


_THERE = (
    Field("Share", "share", "share", file_head="Share", few=_few),
    Field("Games", "count", "games"),
    Field("of", "count", "of", file_head="Games there"),
    Field("Players", "count", "players"),
    Field("Their score", "score", "score", few=_score_few),
    Field("in", "count", "score_games", file_head="Games with their score"),
)
_FAVOURED = (
    Field("Share", "share", "share", file_head="Share of the favoured move"),
    Field("Games", "count", "games", file_head="Games with the favoured move"),
    Field("Against expectation", "signed", "over_expected", file_head="Against expectation"),
)


def lesson_tables(
    answer: LessonAnswer, letters: str | None = None, names: str = "initials"
) -> tuple[Table, ...]:
    """The states by move, what has no answer, what scores badly, what hardly arises, what the
    next level adds; the footnotes below the last."""
    veil = Veil.over(answer, names)
    answer = said.veiled(answer, veil)
    tables = [states_table(answer, letters, names)]
    if answer.unanswered:
        tables.append(unanswered_table(answer, letters))
    if answer.outscored:
        tables.append(outscored_table(answer, letters))
    if answer.rare:
        tables.append(rare_table(answer, letters))
    if answer.next:
        tables.append(added_table(answer, letters))
    notes = (*_notes(answer, letters), *sentences.origin(answer.source, veil))
    return (*tables[:-1], replace(tables[-1], notes=(*tables[-1].notes, *notes)))


def states_table(
    answer: LessonAnswer, letters: str | None = None, names: str = "initials"
) -> Table:
    """A row for each of the student's moves; then the answered share at each level."""
    groups = _groups(answer, letters)
    by_level = _levels(answer)
    rows = []
    for turn, states in enumerate(answer.whole.states):
        shares = (cell for level in by_level for cell in _share(level, level.states[turn]))
        answered, *others = cells(groups, states)
        if answer.whole.games < FEW_GAMES:
            answered = Few(states.answered)
        rows.append((states.move, answered, *others, *shares))
    before = sum(map(len, groups.values()))
    counts = (cell for level in by_level for cell in (level.games, ""))
    title = "Has an answer or has won, by level of the opponents"
    return Table(
        title=said.title(answer, letters),
        lead=(
            f"{said.opponents(answer, Veil.over(answer, names))} "
            f"{words.count(answer.whole.games, 'game')}.",
            *said.summary(answer, letters),
        ),
        columns=(
            Column("At move", "count"),
            *columns(groups),
            *(column for level in by_level for column in _level_columns(level, title)),
        ),
        rows=tuple(rows),
        foot=(("games", *[""] * before, *counts),) if by_level else (),
    )


def _groups(answer: LessonAnswer, letters: str | None) -> Groups:
    return {f"Of 100 {said.games(answer, letters)}": _STATES}


def _levels(answer: LessonAnswer) -> list[StatesAt]:
    """The levels side by side: those chosen, and the next one."""
    return [*answer.levels[:-1], *([answer.next] if answer.next else [])]


def _level_columns(level: StatesAt, title: str) -> Iterator[Column]:
    yield Column(level.label, "in 100", title, file_head=f"Answered: {level.label}")
    head = f"{level.label} between"
    yield Column(head, "in 100", title, data_only=True, file_head=f"Answered: {head}")


def _share(level: StatesAt, states: States) -> Iterator[Cell]:
    yield Few(states.answered) if level.games < FEW_GAMES else states.answered
    yield Span(states.low, states.high)


def unanswered_table(answer: LessonAnswer, letters: str | None = None) -> Table:
    """The replies without an answer, those met most often first."""
    level = next((row.answer.level for row in answer.unanswered if row.answer), "")
    return Table(
        title="Replies without an answer",
        columns=(*_reply_columns(), *_more_columns(level)),
        rows=tuple(
            (
                *_reply_cells(row, letters),
                *_in_100(row),
                *_more_cells(row, letters),
            )
            for row in answer.unanswered
        ),
        notes=tuple(filter(None, [said.left_out(answer)])),
    )


def _in_100(row: Unanswered) -> tuple[Cell, Cell]:
    """How often the reply is met, and its interval."""
    share = _share_of(row.in_100)
    return Few(share) if row.few else share, Span(_share_of(row.low), _share_of(row.high))


def _share_of(in_100: float | None) -> float | None:
    return None if in_100 is None else in_100 / 100


def _reply_columns() -> Iterator[Column]:
    yield Column("Reply")
    yield Column("Line", "moves")
    yield Column("Opening", data_only=True)
    yield Column("In 100 games", "in 100")
    yield Column("In 100 between", "in 100")


def _reply_cells(row: Unanswered, letters: str | None) -> Iterator[Cell]:
    yield said.label(row, letters)
    yield said.whole_line(row, letters)
    yield words.clean(row.name or "")


def _more_columns(level: str) -> Iterator[Column]:
    yield from columns({"At that position": _THERE})
    yield Column("Borrowed", group="At that position")
    title = said.favoured(level) if level else "The answer that the numbers favour"
    yield Column("Answer", group=title)
    yield from columns({title: _FAVOURED})


def _more_cells(row: Unanswered, letters: str | None) -> Iterator[Cell]:
    yield from cells({"": _THERE}, row)
    yield "yes" if row.borrowed else ""
    yield said.answered(row, letters)
    yield from cells({"": _FAVOURED}, row.answer)


def outscored_table(answer: LessonAnswer, letters: str | None = None) -> Table:
    """Taught moves that do worse than another popular one."""
    return Table(
        title="Taught moves that score below another popular one",
        columns=(
            Column("Taught"),
            Column("After", "moves"),
            Column("Other"),
            Column("In 100 games", "in 100"),
            Column("Beside it", "signed"),
            Column("Beside it between", "signed"),
            Column("Games", "count"),
            Column("of the other", "count", file_head="Games of the other"),
        ),
        rows=tuple(
            (
                said.taught(row, letters),
                words.spelled(row.line, letters),
                words.spelled(row.other, letters),
                row.in_100 / 100,
                row.difference.value,
                Span(row.difference.low, row.difference.high),
                row.difference.games,
                row.difference.other_games,
            )
            for row in answer.outscored
        ),
        notes=(said.OUTSCORED_NOTE,),
    )


def rare_table(answer: LessonAnswer, letters: str | None = None) -> Table:
    """Lines that hardly ever arise."""
    return Table(
        title="Lines that hardly ever arise",
        columns=(
            Column("Line", "moves"),
            Column("Moves", "count"),
            Column("In 100 games", "in 100"),
        ),
        rows=tuple(
            (words.spelled(row.line, letters), row.moves, row.in_100 / 100) for row in answer.rare
        ),
        notes=(said.rare_note(),),
    )


def added_table(answer: LessonAnswer, letters: str | None = None) -> Table:
    """What must be added when the class moves up."""
    level = next((row.reply.answer.level for row in answer.added if row.reply.answer), "")
    return Table(
        title=f"When the class moves up to {answer.next_level}",
        lead=(said.outgrown(answer),),
        columns=(*_reply_columns(), Column("Now", "in 100"), *_more_columns(level)),
        rows=tuple(
            (
                *_reply_cells(row.reply, letters),
                *_in_100(row.reply),
                row.now / 100,
                *_more_cells(row.reply, letters),
            )
            for row in answer.added
        ),
    )


def _notes(answer: LessonAnswer, letters: str | None) -> Iterator[str]:
    rows = [*answer.unanswered, *(one.reply for one in answer.added)]
    levels = (*_levels(answer), answer.whole)
    few = any(row.few or row.score_few for row in rows)
    if few or any(one.games < FEW_GAMES for one in levels):
        yield said.FEW_NOTE
    yield from said.notes(answer, letters)
    if rows:
        yield said.FAVOURED_NOTE
    yield sentences.expectation(answer.source)
