"""The page of the replies in a position."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from explorer.query.model import GamesAnswer, OrdersAnswer, RepliesAnswer, Transposing
from explorer.query.plans_model import PlansAnswer
from explorer.report import grouped, sentences, words
from explorer.report.cards import Look, Part, examples_of, orders_grid, part_of
from explorer.report.diagram import Marks
from explorer.report.interactive import chart_json, plotly_source
from explorer.report.mistake_words import MUTED_NOTE
from explorer.report.plans_page import Section, plans_section
from explorer.report.plans_words import CAUTION
from explorer.report.privacy import Veil
from explorer.report.sheet import PageOptions, moves_read, rendered, sheet


def replies_page(
    answers: Sequence[RepliesAnswer],
    options: PageOptions,
    orders: OrdersAnswer | None = None,
    games: GamesAnswer | None = None,
    plans: PlansAnswer | None = None,
    *,
    more: str = "",
) -> str:
    """HTML of the replies in a position: ``answers[0]``, the rest as sections that follow.

    ``orders``, ``games`` and ``plans`` belong to the first position. ``more`` stands where they
    would, as it is: HTML of ours. The bytes depend on the arguments alone.
    """
    veil = Veil.over(answers[0], options.names)
    answers = [grouped.named(answer, veil) for answer in answers]
    first = answers[0]
    look = Look(options.view, options.letters, options.links)
    parts = [
        part_of(answer, f"position-{i}", look, Marks() if i > 1 else options.marks)
        for i, answer in enumerate(answers, start=1)
    ]
    charted = options.interactive and bool(first.replies)
    reached = f"{words.count(first.games, 'game')} by {words.count(first.players, 'player')}"
    coming = plans_section(plans, options) if plans else None
    return sheet(
        "page.html.j2",
        first,
        options,
        title=parts[0].heading,
        name=first.position.name,
        notes=_notes(answers, veil, parts, options.letters, coming),
        reached=[("Reached the position", f"{reached}, {moves_read(first.source)}")],
        parts=parts,
        orders=orders_grid(orders, options.letters),
        orders_left_out=sentences.orders_left_out(orders) if orders else None,
        examples=examples_of(games, look, veil),
        coming=coming,
        caution=CAUTION,
        more=more,
        chart=chart_json(first, options.letters) if charted else "",
        plotly=plotly_source() if charted else "",
    )


def more_of_replies(
    answer: RepliesAnswer,
    options: PageOptions,
    orders: OrdersAnswer,
    games: GamesAnswer,
    others: Sequence[Transposing],
) -> str:
    """HTML of what stands below the replies, to be set into their page: move orders, other ways
    into known positions, example games. ``answer`` was asked without its extras."""
    veil = Veil.over(answer, options.names)
    look = Look(options.view, options.letters, options.links)
    whole = replace(
        answer,
        transposing=tuple(others),
        move_orders=len(orders.orders) + orders.orders_left_out,
    )
    return rendered(
        "below.html.j2",
        transposing=tuple(sentences.transpositions(whole, options.letters)),
        orders_counted=sentences.orders_counted(whole),
        orders=orders_grid(orders, options.letters),
        orders_left_out=sentences.orders_left_out(orders),
        examples=examples_of(games, look, veil),
    )


def without_more(why: str) -> str:
    """HTML that stands there when the rest cannot be had, with the reason."""
    return rendered("missing.html.j2", why=why)


def _notes(
    answers: Sequence[RepliesAnswer],
    veil: Veil,
    parts: Sequence[Part],
    letters: str | None,
    coming: Section | None,
) -> list[str]:
    first, notes = answers[0], []
    if coming or any(part.any_few for part in parts):
        notes.append(MUTED_NOTE if coming else sentences.FEW_NOTE)
    if any(part.any_unseen for part in parts):
        notes.append(grouped.wording(first).unseen)
    notes += [*grouped.notes(first), *grouped.trends(first, letters)]
    if any(part.cards for part in parts):
        notes += [sentences.METHOD, *grouped.trend_test(answers), sentences.SWING]
        notes.append(sentences.expectation(first.source))
    notes += sentences.origin(first.source, veil)
    return [*notes, *(coming.notes if coming else ())]
