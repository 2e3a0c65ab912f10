"""The pages of a position: its replies, the class view, what comes next, its diagram."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from explorer.positions.typed import typed_at
from explorer.query.elsewhere import elsewhere
from explorer.query.games import games
from explorer.query.model import GamesAnswer, OrdersAnswer
from explorer.query.orders import orders
from explorer.query.plans import plans
from explorer.query.replies import replies
from explorer.report.bar import Bar
from explorer.report.class_page import class_page, unseen_class_page
from explorer.report.filter_form import shown_blanks
from explorer.report.page import more_of_replies, replies_page, without_more
from explorer.report.plain_page import plain_page
from explorer.report.plans_page import plans_page
from explorer.report.sheet import PageOptions
from explorer.report.slide import slide
from explorer.web.asked import Asked, address, asked_of, where
from explorer.web.bars import CLASS, PLANS, Place, class_bar, filters_form, position_bar
from explorer.web.delivery import attached, deliver, file_name, options, position_words, typed
from explorer.web.desk import Desk, InTwo, Made
from explorer.web.links import POSITION
from ingest.errors import NothingFound

EXAMPLE_GAMES = 4
EXAMPLE_MOVES = 20
PARTING = "<!-- the rest -->"  # no text from a file can be it: there < is escaped


def position(desk: Desk, request: Request) -> Made:
    """What is played in a position."""
    if request.query_params.get("view") == "class":
        others = (pair for pair in request.query_params.multi_items() if pair[0] != "view")
        return RedirectResponse(address(CLASS, others), 303)
    asked = asked_of(request.query_params)
    place = Place(POSITION, asked, command=("report", *position_words(asked.position)))
    bar = _barred(desk, place, POSITION)

    if request.query_params.get("out"):
        return deliver(desk, request, place, bar, lambda shown: _whole(desk, asked, shown))
    return _in_two(desk, asked, replace(options(desk, place), interactive=False, bar=bar()))


def in_class(desk: Desk, request: Request) -> Response:
    """A position for the class to look at."""
    asked = asked_of(request.query_params)
    words = position_words(asked.position)
    place = Place(CLASS, asked, nearest=("report", *words, *typed(asked)), called=("class", *words))
    try:
        answer = replies(desk.library, asked.position, asked.filters, extras=False)
    except NothingFound as nothing:
        unseen = Place(CLASS, asked)
        shown = replace(options(desk, unseen), bar=class_bar(unseen), interactive=False)
        return HTMLResponse(unseen_class_page(asked.position, f"{nothing}.", shown))
    return deliver(
        desk, request, place, lambda: class_bar(place), lambda shown: class_page(answer, shown)
    )


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
    there = typed_at(asked.position, asked.value("go") or "")
    return RedirectResponse(address(POSITION, (*where(there), *asked.kept)), 303)


def drawing(desk: Desk, request: Request) -> Response:
    """The diagram as a file."""
    asked = asked_of(request.query_params)
    name = file_name(("diagram", *position_words(asked.position)))
    return attached(slide(asked.position, asked.view), "image/svg+xml", f"{name}.svg")


def _barred(desk: Desk, place: Place, section: str) -> Callable[[], Bar]:
    own = tuple(shown_blanks(place.asked.filters)) if section == POSITION else ()
    return lambda: position_bar(place, section, filters_form(desk, place, own))


def _whole(desk: Desk, asked: Asked, shown: PageOptions) -> str:
    """The page of the replies, as `report` makes it."""
    answer = replies(desk.library, asked.position, asked.filters)
    return replies_page([answer], shown, *_below(desk, asked))


def _in_two(desk: Desk, asked: Asked, shown: PageOptions) -> Made:
    """The same for the browser: the replies first, then what takes longer to be asked for."""
    try:
        answer = replies(desk.library, asked.position, asked.filters, extras=False)
    except NothingFound as nothing:
        return HTMLResponse(_unseen(asked, shown, str(nothing)))
    first, last = replies_page([answer], shown, more=PARTING).split(PARTING)

    def rest() -> str:
        played = [reply.uci for reply in answer.replies]
        others = elsewhere(desk.library, asked.position, asked.filters, played)
        return more_of_replies(answer, shown, *_below(desk, asked), others)

    return InTwo(first, rest, without_more, last)


def _below(desk: Desk, asked: Asked) -> tuple[OrdersAnswer, GamesAnswer]:
    library, place, filters = desk.library, asked.position, asked.filters
    examples = replace(filters, top=EXAMPLE_GAMES)
    short = games(library, place, examples, sort="rating", at_most_moves=EXAMPLE_MOVES)
    return orders(library, place, filters), short


def _or_unseen(asked: Asked, shown: PageOptions, make: Callable[[], str]) -> str:
    """The page, or the position with the reason why no game tells of it."""
    try:
        return make()
    except NothingFound as nothing:
        return _unseen(asked, shown, str(nothing))


def _unseen(asked: Asked, shown: PageOptions, why: str) -> str:
    if shown.bar:  # no command finds more
        shown = replace(shown, bar=replace(shown.bar, keeping=()))
    title = f"After {asked.position.numbered}" if asked.position.sans else "No games here"
    return plain_page(title, [f"{why}."], shown, board=asked.position.board())
