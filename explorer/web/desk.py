"""Where pages are made: the library, how long a question may take, and what is kept of answers.

The library is opened when somebody asks, and let go when a command wants to write or
nobody has asked for a while. One page is made in one thread, a few at a time.
"""

from __future__ import annotations

import time
from collections import OrderedDict
from collections.abc import AsyncIterator, Callable, Hashable
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any, TypeVar
from urllib.parse import urlsplit

import anyio
from anyio import to_thread
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response, StreamingResponse

from explorer.query.library import Library, looks_of
from explorer.query.limits import Limit, limited
from explorer.web.lesson_files import LessonFiles
from ingest import locks
from ingest.errors import LibraryBusy, LibraryError, LibrarySlow

SECONDS = 20.0  # for one page; those that look through many positions may take SLOWER times that
SLOWER = 3
SPARE = 5.0  # more, for what comes after the last question
PATIENCE = 2.0  # with a command that is writing
GRACE = 1.0  # for questions that are being answered when a command wants to write
IDLE = 30.0
TICK = 0.05
AT_ONCE = 4
KEPT_PAGES = 200
SLOW = ("/mistakes", "/plans", "/lesson", "/student")
OF_FILES = "/lesson"  # these pages change with the files of the lessons, too
KEPT_ANSWERS = 50
KEPT_BYTES = 1 << 25


@dataclass(frozen=True, slots=True)
class InTwo:
    """A page of which the first part is sent while the rest is still asked for.

    ``missing`` is what stands in place of the rest when it cannot be had.
    """

    first: str
    rest: Callable[[], str]
    missing: Callable[[str], str]
    last: str


Made = Response | InTwo
Maker = Callable[["Desk", Request], Made]
State = tuple[object, ...]
Answer = TypeVar("Answer")


@dataclass(eq=False, slots=True)
class _Running:
    """A page that is being made."""

    until: float
    slow: LibrarySlow
    limit: Limit = field(default_factory=Limit)


class Desk:
    """Makes pages of one library.

    ``tail`` are the words that a command needs to ask the same library, ``lessons`` the
    folder of the lesson files, ``seconds`` what a page may take.
    """

    def __init__(
        self,
        path: Path,
        lessons: Path | None = None,
        tail: tuple[str, ...] = (),
        seconds: float = SECONDS,
    ) -> None:
        """Opens nothing yet."""
        self.library = Library(path)
        self.lessons = LessonFiles(lessons)
        self.tail = tail
        self.seconds = seconds
        self._running: set[_Running] = set()
        self._open = self._stopping = False
        self._last = time.monotonic()
        self._wanted: float | None = None  # since when a command wants to write
        self._room = anyio.CapacityLimiter(AT_ONCE)
        self._answers: dict[Hashable, tuple[State, Any]] = {}
        self._kept: OrderedDict[str, tuple[State, Response]] = OrderedDict()

    async def answer(self, request: Request, make: Maker) -> Response:
        """The page that is asked for, made anew or as it was made of the same library.

        LibraryBusy while a command is writing, LibrarySlow when it takes too long; otherwise
        what ``make`` raises.
        """
        await self._until_free()
        address, state = str(request.url), self._state()
        kept = self._kept.get(address)
        if kept and kept[0] == state:
            self._kept.move_to_end(address)
            return kept[1]
        seconds = self.seconds * (SLOWER if request.url.path in SLOW else 1)
        made = await self._made(lambda: make(self, request), seconds)
        if isinstance(made, InTwo):
            return StreamingResponse(self._in_two(made, address, state), media_type="text/html")
        self._keep(address, state, made)
        return made

    async def _in_two(self, page: InTwo, address: str, state: State) -> AsyncIterator[str]:
        """The first part at once, then the rest; the whole is kept if nothing is missing."""
        yield page.first
        try:
            rest = await self._made(page.rest, self.seconds)
        except LibraryError as error:
            yield page.missing(str(error)) + page.last
            return
        yield rest + page.last
        whole = HTMLResponse(f"{page.first}{rest}{page.last}")
        self._keep(address, state, whole)

    def remembered(self, key: Hashable, make: Callable[[], Answer]) -> Answer:
        """An answer that several pages show, asked for once as long as the library is the same."""
        state = self._state()
        known = self._answers.get(key)
        if known is None or known[0] != state:
            known = state, make()
            self._answers[key] = known
            while len(self._answers) > KEPT_ANSWERS:
                self._answers.pop(next(iter(self._answers)), None)
        answer: Answer = known[1]
        return answer

    def collections(self) -> tuple[tuple[str, ...], tuple[str, ...]]:
        """The names of the collections, and the people after whom they are named."""
        with self.library.reading() as (_, facts):
            return tuple(facts.collections), facts.people

    async def watch(self) -> None:
        """Without end: ends what takes too long, and lets the library go."""
        while True:
            await anyio.sleep(TICK)
            await self._look()

    def stop(self) -> None:
        """End what is being asked: nobody will wait for it."""
        self._stopping = True

    async def close(self) -> None:
        """Let the library go, once nothing is asked any more."""
        self.stop()
        while self._running:
            await self._look()
            await anyio.sleep(TICK)
        self.library.let_go()

    async def _look(self) -> None:
        now = time.monotonic()
        if not self._open:
            return
        if locks.holder(self.library.path) is None:
            self._wanted = None
        elif self._wanted is None:
            self._wanted = now
        for running in tuple(self._running):
            if self._stopping:
                running.limit.end(LibraryBusy("The local page is being stopped."))
            elif self._wanted is not None and now - self._wanted > GRACE:
                running.limit.end(self._busy())
            elif now > running.until:
                running.limit.end(running.slow)
        if not self._running and (self._wanted is not None or now - self._last > IDLE):
            self._open = False
            await to_thread.run_sync(self.library.let_go)

    async def _until_free(self) -> None:
        """Wait a moment for a command that is writing; LibraryBusy when it takes longer."""
        deadline = time.monotonic() + PATIENCE
        while locks.holder(self.library.path) is not None:
            if time.monotonic() > deadline:
                raise self._busy()
            await anyio.sleep(TICK)

    async def _made(self, make: Callable[[], Answer], seconds: float) -> Answer:
        """What ``make`` gives, in a thread of its own. What outlives its time is left alone."""
        async with self._room:
            running = _Running(time.monotonic() + seconds, _slow(seconds))
            self._running.add(running)
            self._open = True

            def work() -> Answer:
                try:
                    with limited(running.limit):
                        return make()
                finally:
                    self._running.discard(running)
                    self._last = time.monotonic()

            with anyio.move_on_after(seconds + SPARE):
                return await to_thread.run_sync(work, abandon_on_cancel=True)
        raise running.slow

    def _keep(self, address: str, state: State, response: Response) -> None:
        """Keep a page, and forget those that were not asked for the longest."""
        if response.status_code != 200 or state != self._state():
            return
        if urlsplit(address).path.startswith(OF_FILES):
            return
        self._kept[address] = state, response
        self._kept.move_to_end(address)
        while len(self._kept) > KEPT_PAGES or self._bytes() > KEPT_BYTES:
            self._kept.popitem(last=False)

    def _bytes(self) -> int:
        return sum(len(response.body) for _, response in self._kept.values())

    def _state(self) -> State:
        """What a page depends on beside its address: the library's file, and the day."""
        return date.today(), *(looks_of(path) for path in self._files())

    def _files(self) -> tuple[Path, Path]:
        path = self.library.path
        return path, path.with_name(path.name + ".wal")

    def _busy(self) -> LibraryBusy:
        return LibraryBusy("Games are being added to the library just now.")


def _slow(seconds: float) -> LibrarySlow:
    return LibrarySlow(f"This question takes longer than {seconds:.0f} seconds.")
