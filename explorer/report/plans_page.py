"""The page of plans: for each side arrows on a diagram, tables, level strips, then pairs."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import chess

from explorer.query.plans_model import PlansAnswer, SidePlans
from explorer.report import plans_words as said
from explorer.report import words
from explorer.report.cards import Grid
from explorer.report.diagram import Marks, diagram
from explorer.report.grids import grids
from explorer.report.plans_tables import pairs_table, shown_levels, side_table
from explorer.report.privacy import Veil
from explorer.report.sentences import levels_of
from explorer.report.sheet import PageOptions, moves_read, sheet
from explorer.report.strip import panel, strip_of
from explorer.report.tables import position_title

DRAWN = 8  # plans that become arrows


@dataclass(frozen=True, slots=True)
class Drawn:
    """A plan with its share, and its level strip."""

    name: str
    share: str
    panel: str


@dataclass(frozen=True, slots=True)
class Half:
    """One side: its diagram with arrows, sentences, strips and tables."""

    ident: str
    heading: str
    drawing: str
    says: tuple[str, ...]
    strips: tuple[Drawn, ...]
    grids: tuple[Grid, ...]


@dataclass(frozen=True, slots=True)
class Section:
    """What comes next, where another page says more: its notes are only those of plans."""

    what: str
    halves: tuple[Half, ...]
    pairs: tuple[Grid, ...]
    notes: tuple[str, ...]


def plans_page(answer: PlansAnswer, options: PageOptions) -> str:
    """HTML of the plans of both sides. The bytes depend on the arguments alone."""
    veil = Veil.over(answer, options.names)
    line = position_title(answer.position.line, None, options.letters)
    return sheet(
        "plans.html.j2",
        answer,
        options,
        title=f"What comes next: {line}",
        name=answer.position.name,
        notes=list(said.notes(answer, veil)),
        reached=_reached(answer),
        what=said.what(answer),
        caution=said.CAUTION,
        halves=halves(answer, options.view),
        pairs=pairs_grids(answer),
    )


def halves(answer: PlansAnswer, view: str, brief: bool = False) -> tuple[Half, ...]:
    """White's half of the page and Black's; a ``brief`` one is a section of another page."""
    board = chess.Board(answer.position.fen)
    return tuple(
        Half(
            ident=f"plans-{side.side}",
            heading=words.side(side.side),
            drawing=diagram(board, view, arrows(side), standalone=False),
            says=tuple(said.lead(answer, side)),
            strips=() if brief else tuple(_strips(answer, side)),
            grids=grids(side_table(answer, side))[: 2 if brief else None],
        )
        for side in answer.sides
    )


def plans_section(answer: PlansAnswer, options: PageOptions) -> Section:
    """What comes next, as a section of the page of replies."""
    return Section(
        said.what(answer),
        halves(answer, options.view, brief=True),
        pairs_grids(answer),
        tuple(said.definitions(answer)),
    )


def pairs_grids(answer: PlansAnswer) -> tuple[Grid, ...]:
    """Which of two plans comes first, for a page."""
    return grids(pairs_table(answer))


def arrows(side: SidePlans) -> Marks:
    """The eight commonest plans as numbered arrows; two along one way share an arrow."""
    ways: dict[str, list[str]] = {}
    for number, plan in enumerate(side.plans[:DRAWN], start=1):
        ways.setdefault(plan.path, []).append(str(number))
    return Marks(
        arrows=tuple((chess.parse_square(way[:2]), chess.parse_square(way[2:])) for way in ways),
        labels=tuple(", ".join(numbers) for numbers in ways.values()),
    )


def _strips(answer: PlansAnswer, side: SidePlans) -> Iterator[Drawn]:
    """A strip for each plan, over the levels that somebody is in."""
    met = shown_levels(answer, side)
    for number, plan in enumerate(side.plans):
        strip = strip_of(plan.here.rate, [(level.label, level.rate) for level in plan.levels])
        name = said.numbered(side, number)
        drawing = panel(strip, levels_of(answer.filters), said.plan(plan), met)
        yield Drawn(name, words.percent(plan.here.rate.share), drawing)


def _reached(answer: PlansAnswer) -> list[tuple[str, str]]:
    """How many games were looked at, for the foot."""
    found = []
    for side in answer.sides:
        games = f"{words.count(side.games, 'game')} by {words.count(side.players, 'player')}"
        where = moves_read(answer.source)
        more = f"; reached {where} by {words.count(side.reached, 'game')}"
        found.append((f"Went on, {words.side(side.side)}", f"{games}{more}"))
    return found
