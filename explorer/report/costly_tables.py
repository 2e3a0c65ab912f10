"""The answers of `costly` as plain tables."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from explorer.query.mistake_model import CompareAnswer, Costly, CostlyAnswer, Outgrown
from explorer.report import costly_words as said
from explorer.report import sentences, words
from explorer.report.fields import Field, Groups, cells, columns
from explorer.report.privacy import Veil
from explorer.report.tables import Cell, Column, Few, Span, Table


def _cost(costly: Costly) -> bool:
    return costly.cost.few


def _swing(costly: Costly) -> bool:
    return costly.swing.few


OFTEN = "How often"
COSTS = "What it costs, beside the other replies there"
PRACTISE = "What to practise"
_GROUPS: Groups = {
    OFTEN: (
        Field("Share", "share", "rate.share", file_head="Share"),
        Field("Share between", "share", "rate.low", "rate.high", "Share between"),
        Field("Times", "count", "rate.cases"),
        Field("Games", "count", "rate.games"),
        Field("Players", "count", "rate.case_players"),
        Field("In 100 games", "in 100", "in_all_games.share", file_head="Share of all games"),
        Field("of", "count", "in_all_games.games", file_head="All games"),
    ),
    COSTS: (
        Field("Beside the others", "signed", "cost.value", few=_cost),
        Field("Beside the others between", "signed", "cost.low", "cost.high"),
        Field("Rated games", "count", "cost.games"),
        Field("of the others", "count", "cost.other_games", file_head="Rated games of the others"),
        Field("Swing", "pawns", "swing.value", file_head="Swing beside the others", few=_swing),
        Field("Mated soon", "count", "mated"),
        Field("Found by", "text", "found_by"),
    ),
}
_FOUND: Groups = {
    PRACTISE: (
        Field("Found", "share", "share", file_head="Punished"),
        Field("Times", "count", "cases", file_head="Punished times"),
        Field("Chances", "count", "games", file_head="Chances to punish"),
    )
}


def costly_table(
    answer: CostlyAnswer, letters: str | None = None, names: str = "initials"
) -> Table:
    """The costly replies, the most costly first."""
    veil = Veil.over(answer, names)
    return Table(
        title=said.title(answer, letters),
        lead=(words.filter_sentence(answer.filters, veil), *said.summary(answer)),
        columns=(Column("Reply"), *_lost_columns(), *_more_columns()),
        rows=tuple(
            (said.label(one, letters), *_lost_cells(one, letters), *_more_cells(one, letters))
            for one in answer.found
        ),
        notes=tuple(
            filter(None, (said.left_out(answer), *costly_notes(answer, answer.found, veil)))
        ),
    )


def compare_table(
    answer: CompareAnswer, letters: str | None = None, names: str = "initials"
) -> Table:
    """What the higher level no longer gets wrong, the most costly first."""
    lower = answer.answer
    veil = Veil.over(lower, names)
    return Table(
        title=said.compare_title(answer),
        lead=(words.filter_sentence(lower.filters, veil), *said.compare_summary(answer)),
        columns=(
            Column("Reply"),
            *_lost_columns(),
            *_share_columns(answer),
            *_more_columns(),
        ),
        rows=tuple(
            (
                said.label(one.costly, letters),
                *_lost_cells(one.costly, letters),
                *_share_cells(one),
                *_more_cells(one.costly, letters),
            )
            for one in answer.outgrown
        ),
        notes=tuple(costly_notes(lower, [one.costly for one in answer.outgrown], veil)),
    )


def _lost_columns() -> Iterator[Column]:
    yield Column("Line", "moves")
    yield Column("Opening", data_only=True)
    yield Column("Level", data_only=True)
    yield Column("Points lost in 100", "score")
    yield Column("Lost between", "score")


def _lost_cells(costly: Costly, letters: str | None) -> Iterator[Cell]:
    yield words.spelled(costly.line, letters)
    yield words.clean(costly.name or "")
    yield costly.level
    yield Few(costly.lost) if costly.cost.few else costly.lost
    yield Span(costly.lost_low, costly.lost_high)


def _share_columns(answer: CompareAnswer) -> Iterator[Column]:
    group = f"Share at {answer.lower} and at {answer.higher}"
    yield Column(answer.lower, "share", group)
    yield Column(answer.higher, "share", group)
    yield Column("Higher between", "share", group, file_head=f"{answer.higher} between")
    yield Column("Games", "count", group, file_head=f"{answer.higher}: games")
    yield Column("Change", "points", group)
    yield Column("Change between", "points", group)


def _share_cells(told: Outgrown) -> Iterator[Cell]:
    yield told.costly.rate.share
    yield told.higher.share
    yield Span(told.higher.low, told.higher.high)
    yield told.higher.games
    yield told.change.value
    yield Span(told.change.low, told.change.high)


def _more_columns() -> Iterator[Column]:
    yield from columns(_GROUPS)
    yield Column("Instead", group=PRACTISE)
    yield Column("Share", "share", PRACTISE, file_head="Share of that")
    yield Column("Punished by", group=PRACTISE)
    yield from columns(_FOUND)


def _more_cells(costly: Costly, letters: str | None) -> Iterator[Cell]:
    yield from cells(_GROUPS, costly)
    instead = costly.instead
    yield said.numbered(costly, instead.san, letters) if instead else None
    yield instead.share if instead else None
    yield said.answered(costly, letters) or None
    yield from cells(_FOUND, costly.punished)


def costly_notes(answer: CostlyAnswer, rows: Sequence[Costly], veil: Veil) -> Iterator[str]:
    """The footnotes: what the numbers mean and where they come from; ``rows`` are those shown."""
    if any(one.cost.few or one.swing.few for one in rows):
        yield said.MUTED_NOTE
    if rows or answer.too_small:
        yield said.size_note(answer)
    if rows:
        yield from (said.LOST_NOTE, said.COST_NOTE, said.INSTEAD_NOTE)
    yield said.tests_note(answer)
    if rows:
        yield sentences.SWING
    yield sentences.expectation(answer.source)
    if rows:
        yield said.LEVEL_NOTE
    yield from sentences.origin(answer.source, veil)
