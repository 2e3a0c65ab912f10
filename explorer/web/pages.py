"""The pages of positions: one function each, from a request to an answer."""

from __future__ import annotations

from dataclasses import replace

from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from explorer.positions.typed import parse_position
from explorer.query.games import games
from explorer.query.orders import orders
from explorer.query.replies import replies
from explorer.report.class_page import class_page
from explorer.report.page import replies_page
from explorer.report.plain_page import plain_page
from explorer.report.sheet import PageOptions
from explorer.report.slide import slide
from explorer.web.asked import Asked, address, asked_of, where
from explorer.web.bars import POSITION, class_bar, options, position_bar, position_words
from explorer.web.desk import Desk
from ingest.errors import NothingFound

EXAMPLE_GAMES = 4
EXAMPLE_MOVES = 20


def position(desk: Desk, request: Request) -> Response:
    """What is played in a position."""
    asked = asked_of(request.query_params)
    if tidy := _tidied(request, asked):
        return tidy
    if request.query_params.get("view") == "class":
        return RedirectResponse(asked.to("/class"), 303)
    shown = options(
        desk, asked, position_bar(desk, asked), "report", *position_words(asked.position)
    )
    try:
        return HTMLResponse(_replies(desk, asked, shown))
    except NothingFound as nothing:
        return HTMLResponse(_unseen(asked, shown, str(nothing)))


def in_class(desk: Desk, request: Request) -> Response:
    """A position for the class to look at."""
    asked = asked_of(request.query_params)
    shown = options(desk, asked, class_bar(asked), "report", *position_words(asked.position))
    try:
        answer = replies(desk.library, asked.position, asked.filters, extras=False)
    except NothingFound as nothing:
        return HTMLResponse(_unseen(asked, shown, str(nothing)))
    return HTMLResponse(class_page(answer, shown))


def go(desk: Desk, request: Request) -> Response:
    """On to the position that somebody typed: moves, a FEN, or an opening's name."""
    asked = asked_of(request.query_params, ["go"])
    there = parse_position(asked.value("go") or "", files=False)
    return RedirectResponse(address(POSITION, (*where(there), *asked.kept)), 303)


def paper(desk: Desk, request: Request) -> Response:
    """The page of a position without what is around it: the report, to be printed."""
    asked = asked_of(request.query_params)
    words = position_words(asked.position)
    shown = replace(options(desk, asked, None, "report", *words), interactive=False)
    return HTMLResponse(_replies(desk, asked, shown))


def save(desk: Desk, request: Request) -> Response:
    """The same as a file to keep, whole in itself."""
    asked = asked_of(request.query_params)
    words = position_words(asked.position)
    text = _replies(desk, asked, options(desk, asked, None, "report", *words))
    return _attached(text, "text/html", f"{_name(asked)}.html")


def drawing(desk: Desk, request: Request) -> Response:
    """The diagram as a file."""
    asked = asked_of(request.query_params)
    return _attached(slide(asked.position, asked.view), "image/svg+xml", f"{_name(asked)}.svg")


def _replies(desk: Desk, asked: Asked, shown: PageOptions) -> str:
    library, place, filters = desk.library, asked.position, asked.filters
    answer = replies(library, place, filters)
    ways = orders(library, place, filters)
    examples = replace(filters, top=EXAMPLE_GAMES)
    short = games(library, place, examples, sort="rating", at_most_moves=EXAMPLE_MOVES)
    return replies_page([answer], shown, ways, short)


def _unseen(asked: Asked, shown: PageOptions, why: str) -> str:
    title = f"After {asked.position.numbered}" if asked.position.sans else "No games here"
    return plain_page(title, [f"{why}."], shown, board=asked.position.board())


def _tidied(request: Request, asked: Asked) -> Response | None:
    """A form sends blanks that were left empty too: on to the same without them."""
    if all(request.query_params.values()):
        return None
    return RedirectResponse(asked.to(request.url.path), 303)


def _name(asked: Asked) -> str:
    """What a saved file is called: ``replies-e4-e5-Nf3``."""
    words = [san.rstrip("+#").replace("=", "") for san in asked.position.sans]
    return "-".join(["replies", *words])[:80]


def _attached(text: str, kind: str, name: str) -> Response:
    return Response(
        text, media_type=kind, headers={"content-disposition": f'attachment; filename="{name}"'}
    )
