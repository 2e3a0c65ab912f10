"""The page of an answer: one file, whole without scripts and network, made to be printed."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from importlib import resources

from explorer.query.model import GamesAnswer, OrdersAnswer, RepliesAnswer
from explorer.report import palette, sentences, words
from explorer.report.cards import Look, Part, examples_of, orders_grid, part_of
from explorer.report.diagram import Marks, shared_drawings
from explorer.report.interactive import chart_json, plotly_source
from explorer.report.privacy import Veil

NO_BREAK = "\u00a0"


@dataclass(frozen=True, slots=True)
class PageOptions:
    """What a page is made with besides its answers.

    ``command`` makes it again and is printed at its end; ``made_on`` is the
    only thing that two runs may differ in. ``view`` is the side at the bottom,
    ``names`` "initials" or "full", ``letters`` a language's piece letters,
    ``marks`` what is drawn on the first diagram. ``interactive`` adds the
    chart for screens (4.8 MB).
    """

    command: str
    made_on: date
    view: str = "white"
    names: str = "initials"
    letters: str | None = None
    marks: Marks = field(default_factory=Marks)
    interactive: bool = True


def replies_page(
    answers: Sequence[RepliesAnswer],
    options: PageOptions,
    orders: OrdersAnswer | None = None,
    games: GamesAnswer | None = None,
) -> str:
    """HTML of the replies in a position: ``answers[0]``, the rest as sections that follow.

    ``orders`` and ``games`` belong to the first position. The bytes depend on
    the arguments alone.
    """
    first = answers[0]
    veil = Veil.over(first, options.names)
    look = Look(options.view, options.letters)
    parts = [
        part_of(answer, f"position-{i}", look, Marks() if i > 1 else options.marks)
        for i, answer in enumerate(answers, start=1)
    ]
    charted = options.interactive and bool(first.replies)
    return _rendered(
        "page.html.j2",
        style=_style(),
        drawings=shared_drawings(),
        parts=parts,
        filters=words.filter_sentence(first.filters, veil),
        orders=orders_grid(orders, options.letters),
        orders_left_out=sentences.orders_left_out(orders) if orders else None,
        examples=examples_of(games, look, veil),
        notes=_notes(first, veil, parts),
        collections=[words.clean(veil.text(name)) for name in first.source.collections],
        reached=f"{words.count(first.games, 'game')} by {words.count(first.players, 'player')}",
        moves_read=(first.source.plies + 1) // 2,
        made_on=words.day(options.made_on),
        command=words.clean(veil.text(options.command)),
        chart=chart_json(first, options.letters) if charted else "",
        plotly=plotly_source() if charted else "",
    )


def _notes(answer: RepliesAnswer, veil: Veil, parts: Sequence[Part]) -> list[str]:
    notes = []
    if any(part.any_few for part in parts):
        notes.append(sentences.FEW_NOTE)
    if any(part.any_unseen for part in parts):
        notes.append(sentences.NOT_SEEN_NOTE)
    if any(part.cards for part in parts):
        notes += [sentences.METHOD, sentences.SWING, sentences.expectation(answer.source)]
    return [*notes, *sentences.origin(answer.source, veil)]


def _style() -> str:
    """The stylesheet with the palette's colours."""
    text = resources.files("explorer.report").joinpath("style.css").read_text("utf-8")
    colours = {
        name: getattr(palette, name) for name in ("INK", "PAPER", "OCHRE", "PLUM", "MUTED", "RULE")
    }
    root = " ".join(f"--{name.lower()}: {value};" for name, value in colours.items())
    return f":root {{ {root} }}\n{text}"


def typeset(text: str) -> str:
    """Text with a printer's signs: minus, dashes, quotes, blanks that do not break."""
    if text == words.NOTHING:
        return "–"
    text = re.sub(r'"([^"]*)"', r"“\1”", text).replace("'", "’")
    text = re.sub(r"(?<![\w-])-(?=\d)", "−", text)
    text = re.sub(r"(?<=\d)-(?=[\d<>])", "–", text)
    return re.sub(r"(?<=\d) (?=%)|(?<=\d\.) (?=\S)|(?<=\d\.\.\.) (?=\S)", NO_BREAK, text)


def _rendered(template: str, **values: object) -> str:
    """A template filled in; everything is escaped but the drawings, style and scripts of ours."""
    from jinja2 import Environment, PackageLoader, StrictUndefined

    environment = Environment(
        loader=PackageLoader("explorer.report"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    environment.filters["typeset"] = typeset
    return environment.get_template(template).render(**values)
