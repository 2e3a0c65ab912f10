"""The local page as an app: which address leads to which page, and what is said when none can."""

from __future__ import annotations

from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import asynccontextmanager
from importlib import resources
from pathlib import Path

import anyio
from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from explorer.report.class_page import class_style
from explorer.report.sheet import style
from explorer.web import games, lessons, mistakes, pages, shelves, students
from explorer.web.asked import tidied
from explorer.web.desk import SECONDS, Desk, Maker
from explorer.web.faults import known_fault, lost, our_fault
from explorer.web.safety import Guard
from ingest.errors import ReplybookError

PAGES: dict[str, Maker] = {
    "/": pages.position,
    "/position": pages.position,
    "/class": pages.in_class,
    "/go": pages.go,
    "/game/{number:int}": games.one,
    "/plans": pages.coming,
    "/mistakes": mistakes.every,
    "/mistake": mistakes.one,
    "/diagram.svg": pages.drawing,
    "/lessons": lessons.every,
    "/lesson": lessons.one,
    "/student": students.one,
    "/library": shelves.every,
    "/library/rejects": shelves.ledger,
}
FILES = {
    "/style.css": ("text/css", "browse.css"),
    "/browse.js": ("text/javascript", "browse.js"),
    "/board.js": ("text/javascript", "board.js"),
}


def make_app(
    library: Path,
    lessons: Path | None = None,
    tail: tuple[str, ...] = (),
    seconds: float = SECONDS,
) -> Starlette:
    """The app that shows a library, to be served on 127.0.0.1 only.

    ``lessons`` is the folder of lesson files, ``tail`` the words with which a command asks the
    same library, ``seconds`` what one page may take. Nothing is opened yet. ``state.stop()``
    ends what is being asked.
    """
    desk = Desk(library, lessons, tail, seconds)

    @asynccontextmanager
    async def watched(app: Starlette) -> AsyncIterator[None]:
        async with anyio.create_task_group() as tasks:
            tasks.start_soon(desk.watch)
            yield
            tasks.cancel_scope.cancel()
        await desk.close()

    routes = [Route(path, _page(desk, make), methods=["GET"]) for path, make in PAGES.items()]
    routes += [Route(path, _file(*about), methods=["GET"]) for path, about in FILES.items()]
    app = Starlette(
        routes=routes,
        middleware=[Middleware(Guard)],
        exception_handlers={
            ReplybookError: known_fault,
            HTTPException: lost,
            Exception: our_fault,
        },
        lifespan=watched,
    )
    app.state.stop = desk.stop
    return app


def _page(desk: Desk, make: Maker) -> Callable[[Request], Awaitable[Response]]:
    async def endpoint(request: Request) -> Response:
        return tidied(request) or await desk.answer(request, make)

    return endpoint


def _file(kind: str, name: str) -> Callable[[Request], Awaitable[Response]]:
    """A file of ours that pages share."""
    text = resources.files("explorer.report").joinpath(name).read_text("utf-8")
    whole = f"{style()}\n{text}\n{class_style()}" if kind == "text/css" else text

    async def endpoint(request: Request) -> Response:
        return Response(whole, media_type=kind)

    return endpoint
