"""The pages of a position: its replies, the class view, what comes next, its diagram."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from explorer.positions.typed import parse_position
from explorer.query.games import games
from explorer.query.orders import orders
from explorer.query.plans import plans
from explorer.query.replies import replies
from explorer.report.bar import Bar
from explorer.report.class_page import class_page
from explorer.report.filter_form import shown_blanks
from explorer.report.page import replies_page
from explorer.report.plain_page import plain_page
from explorer.report.plans_page import plans_page
from explorer.report.sheet import PageOptions
from explorer.report.slide import slide
from explorer.web.asked import Asked, address, asked_of, where
from explorer.web.bars import CLASS, PLANS, Place, class_bar, filters_form, position_bar
from explorer.web.delivery import attached, deliver, file_name, options, position_words
from explorer.web.desk import Desk
from explorer.web.links import POSITION
from ingest.errors import NothingFound

EXAMPLE_GAMES = 4
EXAMPLE_MOVES = 20


def position(desk: Desk, request: Request) -> Response:
    """What is played in a position."""
    if request.query_params.get("view") == "class":
        others = (pair for pair in request.query_params.multi_items() if pair[0] != "view")
        return RedirectResponse(address(CLASS, others), 303)
    asked = asked_of(request.query_params)
    place = Place(POSITION, asked, command=("report", *position_words(asked.position)))
    bar = _barred(desk, place, POSITION)

    def make(shown: PageOptions) -> str:
        return _or_unseen(asked, shown, lambda: _replies(desk, asked, shown))

    return deliver(desk, request, place, bar, make)


def in_class(desk: Desk, request: Request) -> Response:
    """A position for the class to look at."""
    asked = asked_of(request.query_params)
    shown = replace(options(desk, Place(CLASS, asked)), bar=class_bar(asked), interactive=False)

    def make() -> str:
        answer = replies(desk.library, asked.position, asked.filters, extras=False)
        return class_page(answer, shown)

    return HTMLResponse(_or_unseen(asked, shown, make))


def coming(desk: Desk, request: Request) -> Response:
    """What both sides do next in a position."""
    asked = asked_of(request.query_params)
    asked = replace(asked, filters=replace(asked.filters, by="level"))
    place = Place(PLANS, asked, command=("plans", *position_words(asked.position)))
    bar = _barred(desk, place, "")

    def make(shown: PageOptions) -> str:
        filters, library = asked.filters, desk.library
        return _or_unseen(
            asked, shown, lambda: plans_page(plans(library, asked.position, filters), shown)
        )

    return deliver(desk, request, place, bar, make)


def go(desk: Desk, request: Request) -> Response:
    """On to the position that somebody typed: moves, a FEN, or an opening's name."""
    asked = asked_of(request.query_params, ["go"])
    there = parse_position(asked.value("go") or "", files=False)
    return RedirectResponse(address(POSITION, (*where(there), *asked.kept)), 303)


def drawing(desk: Desk, request: Request) -> Response:
    """The diagram as a file."""
    asked = asked_of(request.query_params)
    name = file_name(("diagram", *position_words(asked.position)))
    return attached(slide(asked.position, asked.view), "image/svg+xml", f"{name}.svg")


def _barred(desk: Desk, place: Place, section: str) -> Callable[[], Bar]:
    own = tuple(shown_blanks(place.asked.filters)) if section == POSITION else ()
    return lambda: position_bar(place, section, filters_form(desk, place, own))


def _replies(desk: Desk, asked: Asked, shown: PageOptions) -> str:
    library, place, filters = desk.library, asked.position, asked.filters
    answer = replies(library, place, filters)
    ways = orders(library, place, filters)
    examples = replace(filters, top=EXAMPLE_GAMES)
    short = games(library, place, examples, sort="rating", at_most_moves=EXAMPLE_MOVES)
    return replies_page([answer], shown, ways, short)


def _or_unseen(asked: Asked, shown: PageOptions, make: Callable[[], str]) -> str:
    """The page, or the position with the reason why no game tells of it."""
    try:
        return make()
    except NothingFound as nothing:
        title = f"After {asked.position.numbered}" if asked.position.sans else "No games here"
        return plain_page(title, [f"{nothing}."], shown, board=asked.position.board())
