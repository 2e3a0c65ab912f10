"""What went wrong, as a plain page in our words with the right status."""

from __future__ import annotations

from datetime import date

from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from explorer.report.bar import Bar
from explorer.report.plain_page import plain_page
from explorer.report.sheet import PageOptions
from explorer.report.words import sentence
from explorer.web.bars import plain_bar
from ingest.errors import (
    InputError,
    LibraryBusy,
    LibraryError,
    LibrarySlow,
    NothingFound,
)

AGAIN = 2  # seconds until a page that has to wait is asked for again
TITLES: tuple[tuple[type[Exception], int, str], ...] = (
    (LibraryBusy, 503, "Games are being added"),
    (LibrarySlow, 503, "This took too long"),
    (LibraryError, 503, "The library cannot be read"),
    (NothingFound, 404, "Nothing found"),
    (InputError, 404, "This file cannot be used"),
    (Exception, 400, "This cannot be read"),
)
MORE = {
    LibraryBusy: "This page comes back by itself as soon as the library is free.",
    LibrarySlow: "Ask about fewer games: choose levels, dates or a collection, or go a move on.",
}


async def known_fault(request: Request, error: Exception) -> Response:
    """One of our errors, which are made for people to read."""
    kind, status, title = next(row for row in TITLES if isinstance(error, row[0]))
    busy = kind is LibraryBusy
    says = [sentence(str(error)), *([MORE[kind]] if kind in MORE else [])]
    headers = {"retry-after": str(AGAIN)} if busy else {}
    typed = request.query_params.get("go", "")
    return _plain(
        status, title, says, plain_bar(refresh=AGAIN if busy else 0, typed=typed), headers
    )


async def lost(request: Request, error: Exception) -> Response:
    """An address of no page of ours."""
    status: int = getattr(error, "status_code", 404)
    return _plain(status, "There is no such page", ["Go on from one of the pages above."])


async def our_fault(request: Request, error: Exception) -> Response:
    """A mistake of ours; its traceback goes to the terminal, not to the page."""
    says = [
        "The program made a mistake; the terminal in which it runs says more.",
        "The library is as it was. Go on from one of the pages above.",
    ]
    return _plain(500, "Something went wrong", says)


def _plain(
    status: int,
    title: str,
    says: list[str],
    bar: Bar | None = None,
    headers: dict[str, str] | None = None,
) -> Response:
    options = PageOptions("", date.today(), bar=bar or plain_bar())
    return HTMLResponse(plain_page(title, says, options), status, headers)
