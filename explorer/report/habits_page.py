"""The page of habits: in plain words, as a table, and level by level."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from explorer.query.habits_model import HabitLevel, HabitsAnswer
from explorer.report import habits_words as said
from explorer.report import words
from explorer.report.grids import grids
from explorer.report.habits_tables import habits_table, shown_levels, veil_over
from explorer.report.sentences import levels_of
from explorer.report.sheet import PageOptions, sheet
from explorer.report.strip import panel


@dataclass(frozen=True, slots=True)
class Shares:
    """The share of a habit, over all levels and at each."""

    share: float | None
    levels: Sequence[HabitLevel]


@dataclass(frozen=True, slots=True)
class Drawn:
    """A habit with its share, its level strip, and how it goes with strength."""

    name: str
    share: str
    panel: str
    trend: str


def habits_page(answer: HabitsAnswer, options: PageOptions) -> str:
    """HTML of the habits. The bytes depend on the arguments alone."""
    veil = veil_over(answer, options.names)
    games = f"{words.count(answer.games, 'game')} by {words.count(answer.players, 'player')}"
    return sheet(
        "habits.html.j2",
        answer,
        options,
        title=said.title(answer, veil),
        name=None,
        notes=list(said.notes(answer, veil)),
        reached=[("From the normal start", games)],
        veil=veil,
        says=tuple(said.lead(answer, veil)),
        grids=grids(habits_table(answer, options.names)),
        caution=said.CAUTION,
        strips=tuple(_strips(answer)),
        hint=said.HINT,
    )


def _strips(answer: HabitsAnswer) -> Iterator[Drawn]:
    """A strip for each habit, over the levels that somebody is in."""
    met, levels = shown_levels(answer), levels_of(answer.filters)
    for habit in answer.habits:
        *each, whole = habit.levels
        drawn = panel(Shares(whole.share, each), levels, habit.words, met)
        name = words.sentence(habit.words)[:-1]
        yield Drawn(name, said.amount(whole), drawn, said.trend(habit))
