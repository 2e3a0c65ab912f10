"""The answer of `plans` as plain tables: one for each side, and which plans come first."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from explorer.query.plans_model import Plan, PlanLevel, PlansAnswer, SidePlans
from explorer.report import plans_words as said
from explorer.report import words
from explorer.report.fields import Field, Groups, cells, columns
from explorer.report.privacy import Veil
from explorer.report.sentences import levels_of
from explorer.report.tables import Cell, Column, Few, LevelShare, Span, Table, position_title

RESULTS = "Score against expectation, with the plan less without it"
BY_LEVEL = "Share at each level, in 100 games of that level"


def _share(plan: Plan) -> bool:
    return plan.here.rate.muted


def _when(plan: Plan) -> bool:
    return plan.here.few


def _gain(plan: Plan) -> bool:
    return plan.here.gain.few or plan.here.rate.one_player


def _model(plan: Plan) -> bool:
    return plan.model is None or plan.model.rate.muted


def _model_when(plan: Plan) -> bool:
    return plan.model is None or plan.model.few


def _model_gain(plan: Plan) -> bool:
    return plan.model is None or plan.model.gain.few or plan.model.rate.one_player


_DOES = (
    Field("Share", "share", "here.rate.share", file_head="Share", few=_share),
    Field("Share between", "share", "here.rate.low", "here.rate.high", "Share between"),
    Field("Times", "count", "here.rate.cases"),
    Field("Usual move", "count", "here.move", few=_when),
    Field("Mostly between", "count", "here.move_low", "here.move_high", "Usual move between"),
)
_MODEL_DOES = (
    Field("Model share", "share", "model.rate.share", file_head="Model: share", few=_model),
    Field("Model move", "count", "model.move", file_head="Model: usual move", few=_model_when),
)
_RESULTS = (
    Field("Differs by", "signed", "here.gain.value", "", "Score with less without", _gain),
    Field(
        "Differs between",
        "signed",
        "here.gain.low",
        "here.gain.high",
        "Score with less without between",
    ),
    Field("Games with", "count", "here.gain.games", file_head="Rated games with"),
    Field("without", "count", "here.gain.other_games", file_head="Rated games without"),
)
_MODEL_RESULTS = (
    Field(
        "Model differs",
        "signed",
        "model.gain.value",
        "",
        "Model: score with less without",
        _model_gain,
    ),
)
_MODEL = (
    Field("Share between", "share", "model.rate.low", "model.rate.high", "Model: share between"),
    Field("Times", "count", "model.rate.cases", file_head="Model: times"),
    Field(
        "Move between", "count", "model.move_low", "model.move_high", "Model: usual move between"
    ),
    Field(
        "Differs between",
        "signed",
        "model.gain.low",
        "model.gain.high",
        "Model: score with less without between",
    ),
    Field("Games with", "count", "model.gain.games", file_head="Model: rated games with"),
    Field("without", "count", "model.gain.other_games", file_head="Model: rated games without"),
)
_COUNTS = (
    Field("Games", "count", "here.rate.games"),
    Field("Players", "count", "here.rate.players"),
)
_MODEL_COUNTS = (
    Field("Model: games", "count", "model.rate.games"),
    Field("Model: players", "count", "model.rate.players"),
)


def plans_tables(
    answer: PlansAnswer, letters: str | None = None, names: str = "initials"
) -> tuple[Table, ...]:
    """A table for White, one for Black, which plans come first; footnotes below the last."""
    veil = Veil.over(answer, names)
    white, black = (side_table(answer, side) for side in answer.sides)
    tables = [
        replace(
            white,
            title=position_title(answer.position.line, answer.position.name, letters),
            lead=(words.filter_sentence(answer.filters, veil), *white.lead),
        ),
        black,
    ]
    if any(side.pairs for side in answer.sides):
        tables.append(pairs_table(answer))
    *before, last = tables
    return (*before, replace(last, notes=tuple(said.notes(answer, veil))))


def plans_file(answer: PlansAnswer) -> Table:
    """Both sides in one table with every column, for a table file."""
    model = (*_MODEL_DOES, *_MODEL_COUNTS) if answer.model else ()
    groups = {"": (*_DOES, *_COUNTS, *model), **_groups(answer)}
    rows = []
    for side in answer.sides:
        for plan in side.plans:
            told = words.side(side.side), said.plan(plan)
            rows.append((*told, *cells(groups, plan), *_level_cells(plan)))
    return Table(
        title="Plans",
        columns=(
            Column("Side"),
            Column("Plan"),
            *columns(groups),
            *(Column(level.label, "share", BY_LEVEL) for level in levels_of(answer.filters)),
        ),
        rows=tuple(rows),
    )


def side_table(answer: PlansAnswer, side: SidePlans) -> Table:
    """The plans of one side: how often and when, the model beside it, results, levels."""
    does = (*_DOES, *(_MODEL_DOES if answer.model else ()))
    groups: Groups = {f"What {words.side(side.side)} does": does, **_groups(answer)}
    met = shown_levels(answer, side)
    games: list[Cell] = [plan_level.rate.games for plan_level in _first_levels(side)]
    blank = [""] * sum(map(len, groups.values()))
    return Table(
        title=words.side(side.side),
        lead=tuple(said.lead(answer, side)),
        columns=(
            Column("Plan", "moves"),
            *columns(groups),
            *(
                Column(level.label, "share", BY_LEVEL, data_only=number not in met)
                for number, level in enumerate(levels_of(answer.filters))
            ),
        ),
        rows=tuple(
            (said.numbered(side, number), *cells(groups, plan), *_level_cells(plan))
            for number, plan in enumerate(side.plans)
        ),
        foot=(("games", *blank, *games),) if games else (),
    )


def _groups(answer: PlansAnswer) -> dict[str, Sequence[Field]]:
    """The groups of columns that follow how often and when."""
    if answer.model is None:
        return {RESULTS: _RESULTS}
    sure = f"How sure the numbers of {said.model(answer)} are"
    return {RESULTS: (*_RESULTS, *_MODEL_RESULTS), sure: _MODEL}


def shown_levels(answer: PlansAnswer, side: SidePlans) -> tuple[int, ...]:
    """The numbers of the levels that somebody is in."""
    return tuple(i for i, level in enumerate(_first_levels(side)) if level.rate.games)


def _first_levels(side: SidePlans) -> Sequence[PlanLevel]:
    """The levels of any plan: their games are the same for all."""
    return side.plans[0].levels if side.plans else ()


def _level_cells(plan: Plan) -> Iterator[Cell]:
    for level in plan.levels:
        rate = level.rate
        unseen = rate.high if rate.games and not rate.cases else None
        yield LevelShare(rate.share, unseen, bool(rate.games) and rate.muted)


def pairs_table(answer: PlansAnswer) -> Table:
    """Which of two plans comes first."""
    return Table(
        title="Which comes first",
        columns=(
            Column("Side"),
            Column("First", "moves"),
            Column("Then", "moves"),
            Column("In this order", "share"),
            Column("Order between", "share"),
            Column("Games", "count"),
            Column("Players", "count"),
        ),
        rows=tuple(
            (
                words.side(side.side),
                said.plan(side.plans[pair.first]),
                said.plan(side.plans[pair.second]),
                Few(pair.order.share) if pair.order.muted else pair.order.share,
                Span(pair.order.low, pair.order.high),
                pair.order.games,
                pair.order.players,
            )
            for side in answer.sides
            for pair in side.pairs
        ),
    )
