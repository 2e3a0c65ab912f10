"""Stages of work that overlap: an iterator that runs in a thread of its own."""

from __future__ import annotations

import queue
import threading
from collections.abc import Generator, Iterable, Iterator
from typing import Generic, TypeVar

T = TypeVar("T")

_LOOK_UP = 0.2  # seconds; a wait that can be broken off
_LEAVE = 2.0  # seconds that a stage gets to end; one that waits for a terminal may not


class _Failure:
    """An exception on its way from a stage to its consumer."""

    def __init__(self, error: BaseException) -> None:
        self.error = error


class _Stage(Generic[T]):
    """A thread that fills a bounded queue from an iterable, until told to stop."""

    def __init__(self, work: Iterable[T], ahead: int) -> None:
        self._work = work
        self._items: queue.Queue[T | _Failure | None] = queue.Queue(ahead)
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._run, daemon=True)
        self._thread.start()

    def _run(self) -> None:
        try:
            for item in self._work:
                if not self._put(item):
                    break
            else:
                self._put(None)
        except BaseException as error:  # it belongs to the consumer, whatever it is
            self._put(_Failure(error))
        finally:
            if isinstance(self._work, Generator):
                self._work.close()

    def _put(self, item: T | _Failure | None) -> bool:
        while not self._stop.is_set():
            try:
                self._items.put(item, timeout=_LOOK_UP)
            except queue.Full:
                continue
            return True
        return False

    def items(self) -> Iterator[T]:
        while True:
            try:
                item = self._items.get(timeout=_LOOK_UP)
            except queue.Empty:
                continue
            if item is None:
                return
            if isinstance(item, _Failure):
                raise item.error
            yield item

    def leave(self) -> None:
        self._stop.set()
        self._thread.join(_LEAVE)


def overlapped(work: Iterable[T], ahead: int = 2) -> Generator[T]:
    """The items of ``work``, made in a thread of its own, at most ``ahead`` of them waiting.

    What ``work`` raises is raised here. When this iterator is closed or fails,
    the thread stops too, and closes ``work`` if it is a generator.
    """
    stage = _Stage(work, ahead)
    try:
        yield from stage.items()
    finally:
        stage.leave()
