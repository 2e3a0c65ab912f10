"""Chances and finds as tables: who punishes a mistake, and how the other side answers."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from explorer.query.mistake_model import ChancesLevel, MistakeAnswer, Punishment, Step
from explorer.report import mistake_words as said
from explorer.report import punishment_words as punished
from explorer.report import words
from explorer.report.fields import Field, Groups, cells, columns
from explorer.report.tables import Cell, Column, Table

KNOWS = "Who would know the whole line?"
GAINS = "What its first move gains beside the others, against expectation"
SCORES = "What it gains in plain score"


def _found(step: Step) -> bool:
    return step.found.muted


def _any_step(level: ChancesLevel) -> bool:
    return any(map(_found, level.steps))


def _gain(level: ChancesLevel) -> bool:
    return level.gain.few or level.steps[0].found.one_player


def _score_gain(level: ChancesLevel) -> bool:
    return level.score_gain.few or level.steps[0].found.one_player


_FOUND = (
    Field("Found", "share", "found.share", few=_found),
    Field("Found between", "share", "found.low", "found.high"),
    Field("Times", "count", "found.cases"),
    Field("Chances", "count", "found.games"),
    Field("Players", "count", "found.players"),
)
_ESCAPED = Field("Escaped before", "count", "escaped")
_KNOWS = (
    Field("Would know it", "share", "would_know", "", "Would know it", _any_step),
    Field(
        "Would know it between",
        "share",
        "would_know_low",
        "would_know_high",
        "Would know it between",
    ),
)
_GAINS = (
    Field("Gain", "signed", "gain.value", few=_gain),
    Field("Gain between", "signed", "gain.low", "gain.high"),
    Field("Rated games", "count", "gain.games", file_head="Gain: rated games"),
    Field("of the others", "count", "gain.other_games", file_head="Gain: games of the others"),
)
_SCORES = (
    Field("Gain", "signed", "score_gain.value", "", "Score gain", _score_gain),
    Field("Gain between", "signed", "score_gain.low", "score_gain.high", "Score gain between"),
    Field("Games", "count", "score_gain.games", file_head="Score gain: games"),
    Field(
        "of the others",
        "count",
        "score_gain.other_games",
        file_head="Score gain: games of the others",
    ),
)


def punishment_tables(answer: MistakeAnswer, letters: str | None = None) -> Iterator[Table]:
    """Chances and finds by level of the one who may punish, and the answers in between."""
    errs, punishes = said.sides(answer)
    punishment = answer.punishment
    if punishment is None:
        return
    yield chances_table(punishment, punishes, letters)
    if any(step.between for step in punishment.levels[-1].steps):
        yield answers_table(punishment, errs, letters)


def chances_table(punishment: Punishment, side: str, letters: str | None = None) -> Table:
    """A row for each level of the punishing side that had a chance, the last one for all."""
    whole = punishment.levels[-1]
    shown = [level for level in punishment.levels if level is whole or level.steps[0].found.games]
    return Table(
        title=f"Is it punished? {words.spelled(punishment.line, letters)}",
        lead=(
            " ".join(punished.punished(punishment, side, letters)),
            f"Levels here are those of {side}, who may punish.",
        ),
        columns=(Column("Level"), *chance_columns(punishment, letters)),
        rows=tuple((level.label, *chance_cells(level)) for level in shown),
        notes=tuple(filter(None, [punished.other_ways(punishment)])),
    )


def chance_columns(punishment: Punishment, letters: str | None = None) -> Iterator[Column]:
    """The columns of chances and finds, step by step; their heads in files name the step."""
    for i, step in enumerate(punishment.levels[-1].steps):
        named = said.move(step.number, step.san, letters)
        for column in columns({f"Who found {named}?": _step(i)}):
            head = f"{column.head[:1].lower()}{column.head[1:]}"
            yield replace(column, file_head=f"{named}: {head}")
    yield from columns(_ends(len(punishment.levels[-1].steps)))


def chance_cells(level: ChancesLevel) -> Iterator[Cell]:
    """The cells of one level under `chance_columns`."""
    for i, step in enumerate(level.steps):
        yield from cells({"": _step(i)}, step)
    yield from cells(_ends(len(level.steps)), level)


def _ends(steps: int) -> Groups:
    """What closes the table: of a single step the whole line would say nothing new."""
    gains = {GAINS: _GAINS, SCORES: _SCORES}
    return {KNOWS: _KNOWS, **gains} if steps > 1 else gains


def _step(number: int) -> tuple[Field, ...]:
    return (*_FOUND, _ESCAPED) if number else _FOUND


def answers_table(punishment: Punishment, side: str, letters: str | None = None) -> Table:
    """How the erring side answered between the steps, over all levels."""
    whole = punishment.levels[-1]
    rows = [
        (
            said.move(punished.answer_number(step), answer.san, letters),
            answer.games,
            answer.share,
            "escapes" if answer.escaped else f"allows {words.spelled(step.san, letters)}",
        )
        for step in whole.steps[1:]
        for answer in step.between
    ]
    return Table(
        title=f"How {side} answers: what to prepare for",
        lead=tuple(punished.prepare_for(whole, side, letters)),
        columns=(
            Column("Answer"),
            Column("Games", "count"),
            Column("Share", "share"),
            Column("Then"),
        ),
        rows=tuple(rows),
    )
