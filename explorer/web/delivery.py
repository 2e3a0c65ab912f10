"""A page on its way out: in the browser, on paper, or as a file to keep."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date

from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from explorer.positions.position import Position
from explorer.query.filter_texts import options_of
from explorer.report.bar import Bar
from explorer.report.command import quoted
from explorer.report.sheet import PageOptions
from explorer.web.asked import Asked
from explorer.web.bars import Place
from explorer.web.desk import Desk

LONGEST_NAME = 80


def deliver(
    desk: Desk,
    request: Request,
    place: Place,
    bar: Callable[[], Bar],
    make: Callable[[PageOptions], str],
) -> Response:
    """The page as it is wanted: ``out`` is "paper", "file", or nothing for the browser.

    A file is what the command of the page makes, or would: whole in itself.
    """
    out = request.query_params.get("out")
    alone = options(desk, place)
    if out == "file":
        name = file_name(place.called or place.command)
        return attached(make(alone), "text/html", f"{name}.html")
    if out == "paper":
        return HTMLResponse(make(replace(alone, interactive=False)))
    return HTMLResponse(make(replace(alone, interactive=False, bar=bar())))


def options(desk: Desk, place: Place) -> PageOptions:
    """The options with which the page's command makes it. The words that the page keeps are of
    a command that makes no less than the page."""
    words = (*place.command, *typed(place.asked), *desk.tail) if place.command else ()
    others = (*(place.nearest or ("browse",)), *desk.tail)
    return PageOptions(
        command=quoted("replybook", *(words or others)),
        made_on=date.today(),
        view=place.asked.view,
        names=place.asked.names,
        words=words,
    )


def attached(text: str, kind: str, name: str) -> Response:
    """A file to be kept, not shown."""
    headers = {"content-disposition": f'attachment; filename="{name}"'}
    return Response(text, media_type=kind, headers=headers)


def file_name(words: tuple[str, ...]) -> str:
    """A telling name of plain letters, digits and hyphens: ``report-e4-e5-Nf3``."""
    return re.sub(r"[^A-Za-z0-9]+", "-", "-".join(words)).strip("-")[:LONGEST_NAME]


def position_words(position: Position) -> tuple[str, ...]:
    """A position as a command takes it."""
    start = () if position.from_normal_start else (position.start,)
    return (*start, *position.sans)


def typed(asked: Asked) -> Iterator[str]:
    """The options that say which games, and how they are shown."""
    for name, value in options_of(asked.filters):
        yield from (f"--{name}", value)
    if asked.view != "white":
        yield from ("--view", asked.view)
    if asked.names != "initials":
        yield from ("--names", asked.names)
