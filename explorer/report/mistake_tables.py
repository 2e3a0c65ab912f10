"""The answer of `mistake` as plain tables, one below the other."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from explorer.positions.facts import PlyFacts
from explorer.query.mistake_model import Difference, Helped, MistakeAnswer, MistakeLevel, Rate
from explorer.report import case_words as beside
from explorer.report import mistake_words as said
from explorer.report import punishment_words as punished
from explorer.report import sentences, words
from explorer.report.fields import Field, Groups, cells, columns
from explorer.report.games_table import games_table
from explorer.report.mistake_case import Case
from explorer.report.privacy import Veil
from explorer.report.punishment_tables import chance_cells, chance_columns, punishment_tables
from explorer.report.tables import Cell, Column, Span, Table, position_title

HOW_OFTEN = "How often, of the games that reached the position and went on"
RESULTS = "What it costs in results, beside the other replies there"
MATERIAL = "What it costs in material, in pawns"


def _rate(level: MistakeLevel) -> bool:
    return level.rate.muted


def _in_all(level: MistakeLevel) -> bool:
    return level.in_all_games.muted or level.rate.muted


def _cost(level: MistakeLevel) -> bool:
    return level.cost.few or level.rate.one_player


def _swing(level: MistakeLevel) -> bool:
    return level.swing.few or level.rate.one_player


_RATE = (
    Field("Share", "share", "rate.share", file_head="Share", few=_rate),
    Field("Share between", "share", "rate.low", "rate.high", "Share between"),
    Field("Times", "count", "rate.cases"),
    Field("Games", "count", "rate.games"),
    Field("Players", "count", "rate.players"),
)
_IN_100 = (
    Field("All games", "in 100", "in_all_games.share", "", "Share of all games", _in_all),
    Field(
        "All games between",
        "in 100",
        "in_all_games.low",
        "in_all_games.high",
        "Share of all games between",
    ),
    Field("of", "count", "in_all_games.games", file_head="All games"),
    Field("Headed for", "in 100", "headed_for", "", "Share when headed for", _rate),
    Field(
        "Headed for between",
        "in 100",
        "headed_for_low",
        "headed_for_high",
        "Share when headed for between",
    ),
    Field("of at least", "count", "headed_for_games", file_head="When headed for: games"),
)
_RESULTS = (
    Field("Score", "score", "score", few=_cost),
    Field("Against expectation", "signed", "over_expected", few=_cost),
    Field("Beside the others", "signed", "cost.value", few=_cost),
    Field("Beside the others between", "signed", "cost.low", "cost.high"),
    Field("Rated games", "count", "cost.games"),
    Field("of the others", "count", "cost.other_games", file_head="Rated games of the others"),
)
_MATERIAL = (
    Field("Swing beside the others", "pawns", "swing.value", few=_swing),
    Field("Swing between", "pawns", "swing.low", "swing.high", "Swing beside the others between"),
    Field("Games", "count", "swing.games", file_head="Games with swing"),
    Field(
        "of the others", "count", "swing.other_games", file_head="Games of the others with swing"
    ),
    Field("Mated soon", "count", "mated"),
)


def mistake_tables(
    case: Case, letters: str | None = None, names: str = "initials"
) -> tuple[Table, ...]:
    """The mistake by level, its punishment, the line's facts, what a lesson changed, example
    games; the footnotes below the last."""
    answer = case.answer
    tables = [
        levels_table(answer, letters, names),
        *punishment_tables(answer, letters),
        facts_table(case, letters),
        *map(helped_table, answer.helped),
    ]
    if case.games and case.games.rows:
        shown = games_table(case.games, names, letters)
        tables.append(replace(shown, title="Example games, the shortest", lead=(), notes=()))
    *before, last = tables
    notes = (*last.notes, *mistake_notes(answer, Veil.over(answer, names)))
    return (*before, replace(last, notes=notes))


def lead(answer: MistakeAnswer) -> Iterator[str]:
    """The sentences that come first; the last one where a punishment is wanting."""
    yield from said.summary(answer)
    if answer.punishment is None:
        yield punished.no_punishment(said.sides(answer)[1])


def levels_table(
    answer: MistakeAnswer, letters: str | None = None, names: str = "initials"
) -> Table:
    """A row for each level of the player who errs, the last one for all together.

    A table file has, beside that, the chances and finds of the level's players on the other side.
    """
    side, punishes = said.sides(answer)
    groups: Groups = {
        HOW_OFTEN: _RATE,
        f"In 100 games that such players have with {side}": _IN_100,
        RESULTS: _RESULTS,
        MATERIAL: _MATERIAL,
    }
    finds = {}
    more: list[Column] = []
    if answer.punishment:
        finds = {level.label: tuple(chance_cells(level)) for level in answer.punishment.levels}
        more = [
            replace(
                column, data_only=True, file_head=f"{punishes}: {column.file_head or column.head}"
            )
            for column in chance_columns(answer.punishment, letters)
        ]
    return Table(
        title=position_title(answer.line, answer.name, letters),
        lead=(
            words.filter_sentence(answer.filters, Veil.over(answer, names)),
            *lead(answer),
        ),
        columns=(Column("Level"), *columns(groups), *more),
        rows=tuple(
            (
                level.label,
                *cells(groups, level),
                *finds.get(level.label, [None] * len(more)),
            )
            for level in _rows(answer)
        ),
        notes=tuple(
            f"{level.label}: {text}."
            for level in answer.levels
            if (text := said.one_player(level.rate))
        ),
    )


def _rows(answer: MistakeAnswer) -> list[MistakeLevel]:
    """The levels that somebody is in, on either side, and all together."""
    punishing = answer.punishment.levels if answer.punishment else ()
    reached = {level.label for level in punishing if level.steps[0].found.games}
    *levels, whole = answer.levels
    return [*(one for one in levels if one.rate.games or one.label in reached), whole]


def facts_table(case: Case, letters: str | None = None) -> Table:
    """The line move by move, from the rules alone; what an engine thinks of it, if asked."""
    on = f"Who bears on {case.square}"
    square = [
        Column("Man on it", group=on),
        Column("White's men", "moves", on),
        Column("Black's men", "moves", on),
    ]
    opinion = beside.opinion(case, letters) if case.opinion else None
    return Table(
        title="The line by the rules alone",
        columns=(
            Column("Move"),
            Column("Gives"),
            Column("Replies", "count"),
            Column("Only", "moves"),
            Column("Material", "count"),
            Column("Attacks", "moves"),
            Column("At once", "moves"),
            *(square if case.square else ()),
        ),
        rows=tuple(
            (label, *_fact_cells(fact, letters))
            for label, fact in zip(case.labels(letters), case.facts, strict=True)
        ),
        notes=(beside.FACTS_NOTE, *filter(None, [opinion])),
    )


def _fact_cells(fact: PlyFacts, letters: str | None) -> tuple[Cell, ...]:
    def spelled(sans: Sequence[str]) -> str:
        return words.spelled(" ".join(sans), letters)

    square: tuple[Cell, ...] = ()
    if fact.square is not None:
        man = words.spelled(fact.square.man or "", letters)
        square = (man, spelled(fact.square.white), spelled(fact.square.black))
    return (
        gives(fact),
        fact.replies,
        spelled(fact.only_replies),
        fact.balance,
        spelled(fact.attacks),
        spelled(fact.double_attack),
        *square,
    )


def gives(fact: PlyFacts) -> str:
    """``mate``, ``check``, ``stalemate`` or nothing."""
    if fact.mate:
        return "mate"
    return "check" if fact.check else "stalemate" if fact.stalemate else ""


def helped_table(told: Helped) -> Table:
    """The class and the others, before and after."""
    did = "Making the mistake" if told.what == "making" else "Punishing it"
    rates = (("Share", "share"), ("Times", "count"), ("of", "count"))
    return Table(
        title=f"{did}: before and after {words.day(told.since)}",
        lead=(beside.helped(told),),
        columns=(
            Column("Who", "moves"),
            *(
                Column(f"{head} {when}", kind)
                for when in ("before", "after")
                for head, kind in rates
            ),
            Column("Change", "points"),
            Column("Change between", "points"),
        ),
        rows=(
            _changed("the class", told.class_before, told.class_after, told.change),
            _changed(
                "others of its levels", told.others_before, told.others_after, told.change_others
            ),
            _changed("the class beyond them", None, None, told.beyond),
        ),
        notes=tuple(beside.helped_notes(told)),
    )


def _changed(
    who: str, before: Rate | None, after: Rate | None, change: Difference
) -> tuple[Cell, ...]:
    rates = (value for rate in (before, after) for value in _rate_cells(rate))
    return (who, *rates, change.value, Span(change.low, change.high))


def _rate_cells(rate: Rate | None) -> tuple[Cell, ...]:
    return (rate.share, rate.cases, rate.games) if rate else (None, None, None)


def _uncertain(level: MistakeLevel) -> bool:
    return _in_all(level) or _cost(level) or _swing(level)


def mistake_notes(answer: MistakeAnswer, veil: Veil) -> Iterator[str]:
    """The footnotes: what the numbers mean and where they come from."""
    if any(map(_uncertain, answer.levels)):
        yield said.MUTED_NOTE
    yield said.IN_100_NOTE
    yield said.COST_NOTE
    if answer.punishment:
        yield punished.CHANCES_NOTE
    if note := said.trend_note(answer):
        yield note
    yield sentences.SWING
    yield sentences.expectation(answer.source)
    yield from sentences.origin(answer.source, veil)
