"""The page of costly replies: a card with a diagram and a chart by level for each."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import chess

from explorer.query.filters import Filters
from explorer.query.mistake_model import CompareAnswer, Costly, CostlyAnswer, Difference, Outgrown
from explorer.query.model import ReplyLevel
from explorer.report import costly_words as said
from explorer.report import words
from explorer.report.cards import Look
from explorer.report.costly_tables import costly_notes
from explorer.report.diagram import Marks, diagram
from explorer.report.mistake_words import one_player
from explorer.report.privacy import Veil
from explorer.report.sentences import levels_of
from explorer.report.sheet import PageOptions, moves_read, sheet
from explorer.report.strip import panel


@dataclass(frozen=True, slots=True)
class Shares:
    """The share of a costly reply, over the chosen levels and at each of all."""

    share: float | None
    levels: Sequence[ReplyLevel]


@dataclass(frozen=True, slots=True)
class CostlyCard:
    """One costly reply: drawings are SVG, the rest text; ``facts`` are terms and what is said."""

    move: str
    name: str
    drawing: str
    panel: str
    says: str
    practise: str
    facts: tuple[tuple[str, str], ...]
    few: bool
    link: str = ""


def costly_page(answer: CostlyAnswer, options: PageOptions) -> str:
    """HTML of the costly replies. The bytes depend on the arguments alone."""
    look = Look(options.view, options.letters, options.links)
    who = words.players(answer.filters.levels)
    return _page(
        answer,
        options,
        title=said.title(answer, options.letters),
        says=tuple(said.summary(answer)),
        rows=answer.found,
        cards=[_card(one, answer.filters, who, look) for one in answer.found],
        left_out=said.left_out(answer),
    )


def compare_page(answer: CompareAnswer, options: PageOptions) -> str:
    """HTML of what the higher level no longer gets wrong."""
    look, lower = Look(options.view, options.letters, options.links), answer.answer
    who = words.players(lower.filters.levels)
    return _page(
        lower,
        options,
        title=said.compare_title(answer),
        says=tuple(said.compare_summary(answer)),
        rows=[one.costly for one in answer.outgrown],
        cards=[
            _outgrown(one, answer, _card(one.costly, lower.filters, who, look))
            for one in answer.outgrown
        ],
        left_out=None,
    )


def _page(
    answer: CostlyAnswer,
    options: PageOptions,
    *,
    title: str,
    says: tuple[str, ...],
    rows: Sequence[Costly],
    cards: list[CostlyCard],
    left_out: str | None,
) -> str:
    veil = Veil.over(answer, options.names)
    looked_at = f"{answer.candidates:,}, up to move {answer.to_move}, {moves_read(answer.source)}"
    return sheet(
        "costly.html.j2",
        answer,
        options,
        title=title,
        name=answer.position.name,
        notes=[*costly_notes(answer, rows, veil)],
        reached=[("Replies looked at", looked_at)],
        says=says,
        cards=cards,
        left_out=left_out,
    )


def _card(
    costly: Costly,
    filters: Filters,
    who: str,
    look: Look,
) -> CostlyCard:
    board = chess.Board(costly.position.fen)
    move = board.push_uci(costly.uci)
    label = said.label(costly, look.letters)
    shares = Shares(costly.rate.share, costly.levels)
    return CostlyCard(
        move=label,
        name=words.clean(costly.name or ""),
        drawing=diagram(board, look.view, Marks(move), standalone=False),
        panel=panel(shares, levels_of(filters), label) if costly.levels else "",
        says=said.says(costly, who),
        practise=said.practise(costly, look.letters) or "",
        facts=tuple(_facts(costly, look.letters)),
        few=costly.cost.few or one_player(costly.rate) is not None,
        link=look.links.mistake(costly.position, costly.san) if look.links else "",
    )


def _outgrown(told: Outgrown, answer: CompareAnswer, card: CostlyCard) -> CostlyCard:
    """A card with what the higher level does."""
    says = f"{said.outgrown(told, answer)} {card.says}"
    return replace(card, says=says, facts=(*card.facts, *_at_higher(told, answer)))


def _facts(costly: Costly, letters: str | None) -> Iterator[tuple[str, str]]:
    """What a card lists, the line first."""
    rate, every = costly.rate, costly.in_all_games
    yield "Line", words.spelled(costly.line, letters)
    if costly.lost is not None:
        yield "Points lost", f"{words.score(costly.lost)} in 100 games{_spread(costly)}"
    yield (
        "Played",
        f"{words.percent(rate.share)} ({words.percents(rate.low, rate.high, ' to ')}), "
        f"{rate.cases:,} of {words.count(rate.games, 'game')}, "
        f"by {words.count(rate.case_players, 'player')}",
    )
    yield (
        "In 100 games",
        f"{words.fine_hundredths(every.share or 0.0)}, of {words.count(every.games, 'game')}",
    )
    if costly.cost.value is not None:
        rated = words.count(costly.cost.games, "rated game")
        yield "Beside the others", f"{_difference(costly.cost, 2)}, {rated}"
    yield from _material(costly)
    yield "Found", said.FOUND_BY[costly.found_by]
    if costly.instead:
        share = words.percent(costly.instead.share)
        yield "Instead", f"{said.numbered(costly, costly.instead.san, letters)}, played by {share}"
    if costly.punished:
        found = costly.punished
        share = f" ({words.percent(found.share)})" if not found.few else ""
        yield (
            "Punished by" if said.loses_points(costly) else "Best answer",
            f"{said.answered(costly, letters)}, played in {found.cases:,} of "
            f"{words.count(found.games, 'game')}{share}",
        )


def _spread(costly: Costly) -> str:
    if costly.lost_low is None or costly.lost_high is None:
        return ""
    return f" ({words.score(costly.lost_low)} to {words.score(costly.lost_high)})"


def _difference(told: Difference, digits: int) -> str:
    """``-0.12 (-0.18 to -0.06)``."""
    text = words.signed(told.value, digits)
    if told.low is None or told.high is None:
        return text
    return f"{text} ({words.signed(told.low, digits)} to {words.signed(told.high, digits)})"


def _material(costly: Costly) -> Iterator[tuple[str, str]]:
    mated = ""
    if costly.mated:
        mated = f"mated within eight moves in {words.count(costly.mated, 'game')}"
    if costly.swing.value is not None:
        told = f"{_difference(costly.swing, 1)} pawns, {words.count(costly.swing.games, 'game')}"
        yield "Swing", f"{told}; {mated}" if mated else told
    elif mated:
        yield "Swing", mated


def _at_higher(told: Outgrown, answer: CompareAnswer) -> Iterator[tuple[str, str]]:
    higher = told.higher
    yield (
        f"At {answer.higher}",
        f"{words.percent(higher.share)} ({words.percents(higher.low, higher.high, ' to ')}), "
        f"of {words.count(higher.games, 'game')}",
    )
    change = told.change
    if change.value is not None and change.low is not None and change.high is not None:
        value, low, high = (
            words.signed(100 * x, 1) for x in (change.value, change.low, change.high)
        )
        yield "Change", f"{value} in 100 ({low} to {high})"
