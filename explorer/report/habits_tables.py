"""The answer of `habits` as a table: how often, at each level, results, a player beside others."""

from __future__ import annotations

from collections.abc import Iterator

from explorer.query.habits_model import Habit, HabitLevel, HabitsAnswer, Own
from explorer.report import habits_words as said
from explorer.report import words
from explorer.report.privacy import Veil
from explorer.report.sentences import levels_of
from explorer.report.tables import Cell, Column, Few, InKind, LevelShare, Span, Table

OFTEN = "How often, of the games that last so long"
BY_LEVEL = "At each level, in 100 games of that level"
RESULTS = "Score against expectation, with the habit less without it"


def veil_over(answer: HabitsAnswer, names: str) -> Veil:
    """The veil for an answer: its student is the player looked at."""
    return Veil(names, answer.player, answer.source.people)


def habits_table(answer: HabitsAnswer, names: str = "initials") -> Table:
    """A row for each habit."""
    veil = veil_over(answer, names)
    return Table(
        title=said.title(answer, veil),
        lead=(words.filter_sentence(answer.filters, veil), *said.lead(answer, veil)),
        columns=(
            Column("Habit", "moves"),
            *_own_columns(answer, veil),
            *_often_columns(),
            *_level_columns(answer),
            *_result_columns(),
        ),
        rows=tuple(tuple(_cells(habit)) for habit in answer.habits),
        notes=tuple(said.notes(answer, veil)),
    )


def shown_levels(answer: HabitsAnswer) -> tuple[int, ...]:
    """The numbers of the levels that somebody is in."""
    return tuple(i for i, level in enumerate(answer.levels) if level.games)


def _own_columns(answer: HabitsAnswer, veil: Veil) -> Iterator[Column]:
    if answer.player is None:
        return
    name = said.who(answer, veil)
    group = f"{name[:1].upper()}{name[1:]} beside the others of level {answer.player_level}"
    yield Column("Own share", "share", group, file_head="Own share")
    yield Column("Own games", "count", group, file_head="Own games")
    yield Column("Others", "share", group, file_head="Share of the others")
    yield Column("Games", "count", group, file_head="Games of the others")
    yield Column("Differs by", "points", group, file_head="Own share less the others'")
    yield Column("Differs between", "points", group, file_head="Own less the others' between")


def _often_columns() -> Iterator[Column]:
    yield Column("Share", "share", OFTEN, file_head="Share")
    yield Column("Share between", "share", OFTEN, file_head="Share between")
    yield Column("Times", "count", OFTEN)
    yield Column("Games", "count", OFTEN)
    yield Column("Players", "count", OFTEN)
    yield Column("Told apart: mated", "count", OFTEN, data_only=True)


def _level_columns(answer: HabitsAnswer) -> Iterator[Column]:
    met = shown_levels(answer)
    for number, level in enumerate(levels_of(answer.filters)):
        yield Column(level.label, "share", BY_LEVEL, data_only=number not in met)
    for level in levels_of(answer.filters):
        yield Column(f"{level.label}: games", "count", BY_LEVEL, data_only=True)


def _result_columns() -> Iterator[Column]:
    yield Column("Differs by", "signed", RESULTS, file_head="Score with less without")
    yield Column("Differs between", "signed", RESULTS, file_head="Score with less without between")
    yield Column("Games with", "count", RESULTS, file_head="Rated games with")
    yield Column("without", "count", RESULTS, file_head="Rated games without")


def _cells(habit: Habit) -> Iterator[Cell]:
    whole = habit.whole
    yield words.sentence(habit.words)[:-1]
    if habit.own:
        yield from _own_cells(habit.own)
    yield _amount(whole)
    yield _between(whole)
    yield whole.rate.cases if whole.rate else None
    yield whole.found.games
    yield whole.found.players
    yield whole.mated
    *levels, _ = habit.levels
    yield from map(_at_level, levels)
    for level in levels:
        yield level.of
    score = habit.score
    yield Few(score.value) if score.few else score.value
    yield Span(score.low, score.high)
    yield score.games
    yield score.other_games


def _amount(told: HabitLevel | Own) -> Cell:
    """A share, or the mean number of pieces."""
    if told.mean is not None:
        value = told.mean.value
        return InKind("pieces", Few(value) if told.few else value)
    share = told.rate.share if told.rate else None
    return Few(share) if told.few else share


def _between(level: HabitLevel) -> Cell:
    found = level.found
    span = Span(found.low, found.high)
    return span if level.mean is None else InKind("pieces", span)


def _at_level(level: HabitLevel) -> Cell:
    if level.rate is None:
        return _amount(level)
    rate = level.rate
    unseen = rate.high if rate.games and not rate.cases else None
    return LevelShare(rate.share, unseen, bool(rate.games) and rate.muted)


def _own_cells(own: Own) -> Iterator[Cell]:
    found = own.difference
    value, span = Few(found.value) if own.few else found.value, Span(found.low, found.high)
    pieces = own.mean is not None
    yield _amount(own)
    yield found.games
    yield _amount(own.others)
    yield found.other_games
    yield InKind("signed pieces", value) if pieces else value
    yield InKind("signed pieces", span) if pieces else span
