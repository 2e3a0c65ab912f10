"""Reply queries in process: median and 95th percentile."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable
from pathlib import Path

from explorer.positions.typed import parse_position
from explorer.query.filters import Filters
from explorer.query.library import open_library
from explorer.query.orders import orders
from explorer.query.replies import replies
from ingest.levels import parse_level

POSITIONS = {
    "start position": "",
    "1.e4 e5 2.Nf3": "e4 e5 Nf3",
    "3...Bc5": "e4 e5 Nf3 Nc6 Bc4 Bc5",
    "rare: 2...f6 3.Nxe5": "e4 e5 Nf3 f6 Nxe5",
}
ONE_LEVEL = Filters(levels=(parse_level("1400-1799"),))


def measure(library: Path, times: int) -> None:
    print(
        f"\n{'replies, milliseconds, median (95 %) of ' + str(times):44}{'core':>16}{'whole':>16}"
    )
    with open_library(library) as opened:
        for name, words in POSITIONS.items():
            position = parse_position(words.split())
            cells = [
                _timed(lambda p=position, e=extras: replies(opened, p, Filters(), extras=e), times)
                for extras in (False, True)
            ]
            print(f"{name:44}{cells[0]:>16}{cells[1]:>16}")
        position = parse_position(POSITIONS["1.e4 e5 2.Nf3"].split())
        print(
            f"{'1.e4 e5 2.Nf3, one level':44}"
            f"{_timed(lambda: replies(opened, position, ONE_LEVEL, extras=False), times):>16}"
            f"{_timed(lambda: replies(opened, position, ONE_LEVEL), times):>16}"
        )
        took = _timed(lambda: orders(opened, position, Filters()), times)
        print(f"{'orders of 1.e4 e5 2.Nf3':44}{'':16}{took:>16}")


def _timed(ask: Callable[[], object], times: int) -> str:
    ask()
    seconds = []
    for _ in range(times):
        began = time.perf_counter()
        ask()
        seconds.append(time.perf_counter() - began)
    late = statistics.quantiles(seconds, n=20)[-1] if times > 1 else seconds[0]
    return f"{1000 * statistics.median(seconds):.1f} ({1000 * late:.1f})"
