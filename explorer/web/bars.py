"""What stands around a page: its bar, with addresses that keep the games asked for."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import chess

from explorer.positions.position import first_ply
from explorer.report.bar import Bar, Blank, Form, Link
from explorer.report.filter_form import filter_blanks, player_blanks
from explorer.report.privacy import Veil
from explorer.web.asked import Asked, Pairs, address
from explorer.web.desk import Desk
from explorer.web.links import MISTAKE, POSITION, PageLinks

MISTAKES, LESSONS, LESSON, STUDENT, LIBRARY = (
    "/mistakes",
    "/lessons",
    "/lesson",
    "/student",
    "/library",
)
SECTIONS = {
    POSITION: "Position",
    MISTAKES: "Mistakes",
    LESSONS: "Lessons",
    STUDENT: "Student",
    LIBRARY: "Library",
}
CLASS, PLANS = "/class", "/plans"
OF_A_POSITION = (POSITION, MISTAKES)


@dataclass(frozen=True)
class Place:
    """One page: its address, and the command that makes the same.

    ``own`` is what it asks beside what all pages do, ``command`` the words after the
    program's name, without the filters; empty where no command makes it. ``nearest`` is then
    the whole of one that shows the same, or most of it, if there is any. ``called`` are the
    words of a saved page's name, where those of the command tell too much.
    """

    path: str
    asked: Asked
    own: Pairs = ()
    command: tuple[str, ...] = ()
    nearest: tuple[str, ...] = ()
    called: tuple[str, ...] = ()

    def to(self, **more: str) -> str:
        """The address of the page, with more."""
        return self.asked.to(self.path, {**dict(self.own), **more}.items())


def plain_bar(
    section: str = "", asked: Asked | None = None, refresh: int = 0, typed: str = ""
) -> Bar:
    """The bar of a page about which nothing more is known; ``typed`` stands in its box."""
    kept = asked.kept if asked else ()
    place = asked.where if asked else ()
    sections = tuple(
        Link(
            name, address(path, (*(place if path in OF_A_POSITION else ()), *kept)), path == section
        )
        for path, name in SECTIONS.items()
    )
    box = Blank("Go to", "text", "go", "Moves from here or from 1., a FEN, or an opening's name")
    here = (*place, *kept)
    return Bar(sections, Form("/go", "Go to a position", (box,), "Go", here), refresh=refresh)


def page_bar(
    place: Place, section: str, form: Form | None = None, ways: tuple[Link, ...] = ()
) -> Bar:
    """The bar of a page that shows an answer."""
    return replace(
        plain_bar(section, place.asked),
        form=form,
        ways=ways,
        keeping=tuple(_keeping(place)),
        links=PageLinks(place.asked),
    )


def position_bar(place: Place, section: str, form: Form | None) -> Bar:
    """The bar of a page about a position: where it comes from, and where one can go."""
    asked = place.asked
    return replace(
        page_bar(place, section, form, tuple(_ways(place))),
        crumbs=tuple(_crumbs(asked, POSITION)),
        moves=tuple(_moves(asked, POSITION)),
        tools=(_turned(place), Link("Save the diagram", asked.to("/diagram.svg"))),
        fen=asked.position.fen,
    )


def class_bar(place: Place) -> Bar:
    """The bar of the class view: nothing in it tells what is played."""
    asked = place.asked
    return replace(
        plain_bar(POSITION, asked),
        crumbs=tuple(_crumbs(asked, CLASS)),
        moves=tuple(_moves(asked, CLASS)),
        ways=(Link("Back to the numbers", asked.to(POSITION)), _turned(place)),
        keeping=tuple(_keeping(place)),
        links=PageLinks(asked, CLASS),
    )


def filters_form(desk: Desk, place: Place, own: tuple[Blank, ...] = (), whose: bool = True) -> Form:
    """The sentence of the filters, to be asked again of the same page.

    ``own`` are the page's own blanks; without ``whose`` nobody in particular is asked about.
    """
    collections, people = desk.collections()
    asked, filters = place.asked, place.asked.filters
    veil = Veil(asked.names, filters.player, people)
    blanks = (
        *filter_blanks(filters, collections, veil),
        *(player_blanks(filters) if whose else ()),
        *own,
    )
    asked_for = {blank.name for blank in blanks}
    every = (*asked.where, *place.own, *asked.kept)
    kept = tuple(pair for pair in every if pair[0] not in asked_for)
    return Form(place.path, "Which games", blanks, "Show", kept)


def _crumbs(asked: Asked, path: str) -> Iterator[Link]:
    """The positions of the line, from its start."""
    position = asked.position
    if not position.sans:
        return
    start = [] if position.from_normal_start else [("fen", position.start)]
    yield Link("Start", address(path, (*start, *asked.kept)))
    first = first_ply(position.start)
    for ply, san in enumerate(position.sans):
        number, black = divmod(first + ply, 2)
        text = san if black and ply else f"{number + 1}{'...' if black else '.'} {san}"
        line = " ".join(position.sans[: ply + 1])
        here = ply + 1 == len(position.sans)
        yield Link(text, address(path, (*start, ("line", line), *asked.kept)), here)


def _moves(asked: Asked, path: str) -> Iterator[Link]:
    """Every legal move, in order of its name."""
    board = chess.Board(asked.position.fen)
    named = sorted((board.san(move), move.uci()) for move in board.legal_moves)
    for san, uci in named:
        yield Link(san, address(path, (*asked.after(san), *asked.kept)), uci=uci)


def _ways(place: Place) -> Iterator[Link]:
    """What else can be asked of a position."""
    asked = place.asked
    others = {POSITION: "The replies here", CLASS: "Class view", PLANS: "What comes next"}
    others |= {MISTAKES: "Costly replies from here", LESSONS: "In your lessons"}
    if asked.position.sans:
        others[MISTAKE] = "The last move as a mistake"
    for path, text in others.items():
        if path != place.path:
            yield Link(text, asked.to(path))
    if player := asked.filters.player:
        yield Link("This student's page", address(STUDENT, (("name", player), *asked.kept)))


def _turned(place: Place) -> Link:
    """The same page, seen from the other side."""
    other = "black" if place.asked.view == "white" else "white"
    turned = replace(place, asked=replace(place.asked, view=other))
    return Link("Turn the board", turned.to())


def _keeping(place: Place) -> Iterator[Link]:
    """How to take a page along that a command shows."""
    if not (place.command or place.nearest):
        return
    yield Link("Print this", place.to(out="paper"))
    yield Link("Save this page", place.to(out="file"))
    yield Link("The command for this", "#command")
