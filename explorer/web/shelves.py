"""The pages of the library itself."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from starlette.requests import Request
from starlette.responses import Response

from explorer.query.shelves import AT_ONCE, Rejected, Shelves, rejected, shelves
from explorer.report.bar import Link
from explorer.report.privacy import Veil
from explorer.report.shelf_pages import library_page, rejects_page
from explorer.report.words import clean
from explorer.web.asked import Asked, address, asked_of, whole
from explorer.web.bars import LIBRARY, Place, page_bar
from explorer.web.delivery import deliver
from explorer.web.desk import Desk
from explorer.web.links import POSITION

REJECTS = "/library/rejects"
MOST_LINES = 1_000_000_000


def every(desk: Desk, request: Request) -> Response:
    """The collections and the files that were read."""
    asked = asked_of(request.query_params)
    place = Place(LIBRARY, asked, nearest=("collections",), called=("library",))
    found = shelves(desk.library)
    links = tuple(_onward(asked, found))

    return deliver(
        desk,
        request,
        place,
        lambda: page_bar(place, LIBRARY),
        lambda shown: library_page(found, shown, links),
    )


def ledger(desk: Desk, request: Request) -> Response:
    """What became of single games."""
    asked = asked_of(request.query_params)
    skip = whole(request.query_params, "skip", 0, MOST_LINES) or 0
    collection = next(iter(asked.filters.collections), None)
    own = (("skip", str(skip)),) if skip else ()
    words = ("--collection", collection) if collection else ()
    place = Place(REJECTS, asked, own, nearest=("rejects", *words), called=("rejects",))
    found = rejected(desk.library, collection, skip)
    links = tuple(_pages(place, found))

    return deliver(
        desk,
        request,
        place,
        lambda: page_bar(place, LIBRARY),
        lambda shown: rejects_page(found, shown, collection, links),
    )


def _onward(asked: Asked, found: Shelves) -> Iterator[Link]:
    veil = Veil(asked.names, people=found.people)
    for one in found.collections:
        name = clean(veil.text(one.name))
        only = replace(asked, filters=replace(asked.filters, collections=(one.name,)))
        yield Link(f"Positions of {name}", only.to(POSITION))
        if one.rejected:
            yield Link(f"What was rejected of {name}", address(REJECTS, only.kept))
    yield Link("Everything that was rejected, cut short or found twice", address(REJECTS, ()))


def _pages(place: Place, found: Rejected) -> Iterator[Link]:
    if found.skip:
        yield Link("Earlier lines", place.to(skip=str(max(0, found.skip - AT_ONCE))))
    if found.more:
        yield Link("More lines", place.to(skip=str(found.skip + AT_ONCE)))
    yield Link("The library", place.asked.to(LIBRARY))
