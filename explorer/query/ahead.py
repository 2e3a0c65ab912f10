"""Work on what was read while the next part is read."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from typing import TypeVar

from ingest.schema import THREADS

Part = TypeVar("Part")
Made = TypeVar("Made")


def side_by_side(work: Callable[[Part], Made], parts: Iterable[Part]) -> Iterator[Made]:
    """What ``work`` makes of each part, in order; it is done in threads of its own.

    The parts come from the caller's thread, only a few before their turn: they may be large.
    """
    with ThreadPoolExecutor(THREADS) as pool:
        waiting: deque[Future[Made]] = deque()
        for part in parts:
            waiting.append(pool.submit(work, part))
            if len(waiting) > THREADS:
                yield waiting.popleft().result()
        while waiting:
            yield waiting.popleft().result()
