"""What stands around a page: its bar, with addresses that keep the games asked for."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date

import chess

from explorer.positions.position import Position, first_ply
from explorer.query.filter_texts import options_of
from explorer.query.model import GameRow
from explorer.report.bar import Bar, Blank, Form, Link
from explorer.report.command import quoted
from explorer.report.filter_form import filter_blanks, player_blanks, shown_blanks
from explorer.report.privacy import Veil
from explorer.report.sheet import PageOptions
from explorer.web.asked import Asked, address
from explorer.web.desk import Desk

POSITION, MISTAKES, LESSONS, STUDENT, LIBRARY = (
    "/position",
    "/mistakes",
    "/lessons",
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
WITH_A_POSITION = (POSITION, MISTAKES)


@dataclass(frozen=True)
class PageLinks:
    """The addresses of what a page shows: the same games, another place."""

    asked: Asked
    path: str = POSITION

    def after(self, uci: str) -> str:
        """The position after a move from the page's position."""
        san = chess.Board(self.asked.position.fen).san(chess.Move.from_uci(uci))
        return address(self.path, (*self.asked.after(san), *self.asked.kept))

    def at(self, line: str) -> str:
        """The position after a line of numbered moves from the normal start."""
        return address(POSITION, (("line", line), *self.asked.kept))

    def mistake(self, line: str) -> str:
        """The mistake that such a line ends with."""
        return address("/mistake", (("line", line), *self.asked.kept))

    def game(self, row: GameRow) -> str:
        """A game, at the ply where it reached the position."""
        return address(f"/game/{row.id}", (("ply", str(row.ply_here)), *self.asked.kept))


def options(desk: Desk, asked: Asked, bar: Bar | None, command: str, *words: str) -> PageOptions:
    """The options of a page that a command would make just so."""
    every = (command, *words, *_typed(asked), *desk.tail)
    return PageOptions(
        command=quoted("replybook", *every),
        made_on=date.today(),
        view=asked.view,
        names=asked.names,
        interactive=bar is None,
        words=every,
        bar=bar,
    )


def position_words(position: Position) -> tuple[str, ...]:
    """A position as a command takes it."""
    start = () if position.from_normal_start else (position.start,)
    return (*start, *position.sans)


def _typed(asked: Asked) -> Iterator[str]:
    for name, value in options_of(asked.filters):
        yield from (f"--{name}", value)
    if asked.view != "white":
        yield from ("--view", asked.view)
    if asked.names != "initials":
        yield from ("--names", asked.names)


def plain_bar(section: str = "", asked: Asked | None = None, refresh: int = 0) -> Bar:
    """The bar of a page that asks nothing of the library, or before anything is known."""
    kept = asked.kept if asked else ()
    place = asked.where if asked else ()
    sections = tuple(
        Link(
            name,
            address(path, (*place, *kept) if path in WITH_A_POSITION else kept),
            path == section,
        )
        for path, name in SECTIONS.items()
    )
    box = Blank("", "text", "go", "Moves, a FEN or an opening's name")
    go = Form("/go", "Go to a position", (box,), "Go", kept)
    return Bar(sections, go, refresh=refresh)


def position_bar(desk: Desk, asked: Asked) -> Bar:
    """The bar of a position's page."""
    plain = plain_bar(POSITION, asked)
    return Bar(
        sections=plain.sections,
        go=plain.go,
        form=filters_form(desk, asked),
        crumbs=tuple(_crumbs(asked)),
        moves=tuple(_moves(asked)),
        ways=tuple(_ways(asked)),
        fen=asked.position.fen,
        links=PageLinks(asked),
    )


def class_bar(asked: Asked) -> Bar:
    """The bar of the class view: nothing in it tells what is played."""
    plain = plain_bar(POSITION, asked)
    return Bar(
        sections=(),
        go=plain.go,
        crumbs=tuple(_crumbs(asked, "/class")),
        moves=tuple(_moves(asked, "/class")),
        ways=(Link("Back to the numbers", asked.to(POSITION)), _turned(asked, "/class")),
        links=PageLinks(asked, "/class"),
    )


def filters_form(desk: Desk, asked: Asked) -> Form:
    """The sentence of the filters, to be asked again of the same position."""
    with desk.library.reading() as (_, facts):
        collections, people = tuple(facts.collections), facts.people
    filters = asked.filters
    veil = Veil(asked.names, filters.player, people)
    blanks = (
        *filter_blanks(filters, collections, veil),
        *player_blanks(filters),
        *shown_blanks(filters),
    )
    asked_for = {blank.name for blank in blanks}
    kept = tuple(pair for pair in (*asked.where, *asked.kept) if pair[0] not in asked_for)
    return Form(POSITION, "Which games", blanks, "Show", kept)


def _crumbs(asked: Asked, path: str = POSITION) -> Iterator[Link]:
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


def _moves(asked: Asked, path: str = POSITION) -> Iterator[Link]:
    """Every legal move, in order of its name."""
    board = chess.Board(asked.position.fen)
    named = sorted((board.san(move), move.uci()) for move in board.legal_moves)
    for san, uci in named:
        yield Link(san, address(path, (*asked.after(san), *asked.kept)), uci=uci)


def _ways(asked: Asked) -> Iterator[Link]:
    """What else can be done with a position."""
    yield _turned(asked, POSITION)
    yield Link("Class view", asked.to("/class"))
    yield Link("What comes next", asked.to("/plans"))
    yield Link("Costly replies from here", asked.to(MISTAKES))
    if asked.position.sans:
        yield Link("The last move as a mistake", asked.to("/mistake"))
    yield Link("Print this", asked.to("/paper"))
    yield Link("Save this page", asked.to("/save"))
    yield Link("Save the diagram", asked.to("/diagram.svg"))
    yield Link("The command for this", "#command")


def _turned(asked: Asked, path: str) -> Link:
    """The same page, seen from the other side."""
    other = "black" if asked.view == "white" else "white"
    return Link("Turn the board", replace(asked, view=other).to(path))
