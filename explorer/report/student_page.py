"""The page about one student's games: what to hand to the student or to show a parent.

It carries initials unless full names are asked for, and never tells of anybody else.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from explorer.query.model import FEW_GAMES
from explorer.query.student_model import StudentAnswer
from explorer.report import (
    habits_words,
    months_chart,
    student_cards,
    student_grids,
    student_tree,
    words,
)
from explorer.report import student_sentences as said
from explorer.report.cards import Grid
from explorer.report.sheet import PageOptions, moves_read, sheet
from explorer.report.student_discreet import Discreet
from explorer.report.student_words import notes

HINT = (
    "Each dot is a month; the line through it shows how sure that is. Hollow: too few games to "
    "say. Each chart has its own scale."
)


@dataclass(frozen=True, slots=True)
class Section:
    """Sentences, drawings with words, and tables."""

    heading: str = ""
    says: tuple[str, ...] = ()
    told: tuple[student_cards.Told, ...] = ()
    grids: tuple[Grid, ...] = ()
    drawing: str = ""


def student_page(
    answer: StudentAnswer,
    options: PageOptions,
    others: Sequence[str] = (),
    worksheet: str = "",
    label: str = "",
) -> str:
    """HTML about one student's games. The bytes depend on the arguments alone.

    ``others`` are people whose names must not stand on it even where the teacher wrote them: the
    rest of a class, in which ``label`` tells alike initials apart. ``worksheet`` is the address,
    from this page, of the exercises as a sheet.
    """
    discreet = Discreet.over(answer, options.names, others)
    letters = options.letters
    few = answer.few
    return sheet(
        "student.html.j2",
        None,
        discreet.options(options),
        title=f"The games of {label or discreet.name}",
        name=None,
        notes=list(notes(answer, discreet.veil)),
        reached=list(_reached(answer, discreet)),
        veil=discreet.veil,
        period=_period(answer),
        says=tuple(said.in_short(answer)),
        doubts=tuple(map(said.doubt, answer.doubts)),
        results=student_grids.results(answer),
        differences=[] if few else student_tree.differences(answer, letters),
        stands_out=[] if few else list(student_tree.stands_out(answer, letters)),
        colours=tuple(student_tree.colours(answer, letters)),
        others="" if few else said.others(answer),
        rare=student_tree.rarely_met(answer, letters),
        lesson=_lesson(answer, discreet, letters),
        costs=None if few else _costs(answer, letters),
        better=None if few else _better(answer, letters),
        charts=() if few else tuple(months_chart.panels(answer.better)),
        hint=HINT,
        tasks=tuple(student_cards.tasks(answer.practise, letters)),
        worksheet=worksheet if discreet.text(worksheet) == worksheet else "",
        nothing_to_practise=said.NOTHING_TO_PRACTISE,
        few=few,
        turns=(
            *student_cards.turns(answer.won, letters),
            *student_cards.turns(answer.lost, letters),
        ),
        habits=_habits(answer, discreet),
    )


def _period(answer: StudentAnswer) -> str:
    short = answer.short
    games = words.count(short.games, "game")
    if short.first is None or short.last is None:
        return f"{games}."
    first, last = (f"{words.MONTHS[day.month - 1]} {day.year}" for day in (short.first, short.last))
    return f"{games}, {first}." if first == last else f"{games}, {first} to {last}."


def _lesson(answer: StudentAnswer, discreet: Discreet, letters: str | None) -> Section | None:
    told = answer.lesson
    if told is None:
        return None
    return Section(
        heading=discreet.text(told.title),
        says=tuple(said.lesson(told, letters)),
        grids=student_grids.lesson(told, answer.few) if told.games else (),
        drawing=student_cards.left(told),
    )


def _costs(answer: StudentAnswer, letters: str | None) -> Section:
    cards = tuple(student_cards.costs(answer, letters))
    return Section(
        says=() if cards else (said.NOTHING_COSTS,),
        told=cards,
        grids=student_grids.listed(answer.mistakes, letters),
    )


def _better(answer: StudentAnswer, letters: str | None) -> Section:
    return Section(
        says=tuple(said.better(answer.better, answer.mistakes.made, letters)),
        grids=student_grids.before_after(answer.better),
    )


def _habits(answer: StudentAnswer, discreet: Discreet) -> Section | None:
    """Beside the others; nothing where there are few games."""
    told = answer.habits
    if told is None or told.player_games < FEW_GAMES:
        return None
    # The first sentence says how many games there are.
    return Section(
        says=tuple(habits_words.beside(told, discreet.veil))[1:],
        grids=student_grids.habits(answer, discreet.veil.names),
    )


def _reached(answer: StudentAnswer, discreet: Discreet) -> Iterator[tuple[str, str]]:
    """Which games the page is about, for the foot."""
    yield "Collections", discreet.collections(answer)
    yield "Games", f"{words.count(answer.short.games, 'game')} of {discreet.name}"
    yield "Positions", f"{moves_read(answer.source)}"
    if not answer.few:
        yield "The others", said.others(answer)
