"""Reply queries in process: median and 95th percentile."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable
from datetime import date
from pathlib import Path

from explorer.positions.position import Position
from explorer.query.filters import Filters
from explorer.query.library import Library, open_library
from explorer.query.orders import orders
from explorer.query.replies import replies
from ingest.errors import NothingFound
from ingest.levels import parse_level
from tests.bench import positions

THREE = Filters(
    levels=(parse_level("1400+"),), opponents=(parse_level("1200+"),), since=date(2000, 1, 1)
)


def measure(library: Path, times: int) -> None:
    """Print the table."""
    kinds = {
        "start": [positions.start()],
        "popular": positions.popular(library),
        "rare": positions.rare(library),
    }
    seconds: dict[str, list[float]] = {kind: [] for kind in kinds}
    print(f"\nreplies, milliseconds, median (95th percentile) of {times}")
    print("core: shares, scores, levels, players; whole: with move orders and transposing moves")
    print(f"{'':44}{'games':>10}{'core':>15}{'three filters':>15}{'whole':>17}")
    with open_library(library) as opened:
        for kind, chosen in kinds.items():
            for position in chosen:
                core = timed(_core(opened, position, Filters()), times)
                seconds[kind] += core
                print(f"{kind + ' ' + position.numbered[:36]:44}", end="")
                print(f"{replies(opened, position, Filters()).games:>10,}{_told(core):>15}", end="")
                print(f"{_told(timed(_core(opened, position, THREE), times)):>15}", end="")
                few = max(times // 10, 1)
                whole = timed(lambda p=position: replies(opened, p, Filters()), few)
                print(f"{_told(whole):>17}")
        print(f"{'popular and rare together, core':54}", end="")
        print(f"{_told(seconds['popular'] + seconds['rare']):>15}")
        took = timed(lambda: orders(opened, kinds["popular"][1], Filters()), max(times // 10, 1))
        print(f"{'orders of ' + kinds['popular'][1].numbered[:34]:54}{_told(took):>15}")


def _core(library: Library, position: Position, filters: Filters) -> Callable[[], object]:
    def ask() -> object:
        try:
            return replies(library, position, filters, extras=False)
        except NothingFound:
            return None

    return ask


def core_median(library: Library, position: Position, times: int) -> float:
    """Milliseconds of the core query without filters."""
    return 1000 * statistics.median(timed(_core(library, position, Filters()), times))


def timed(ask: Callable[[], object], times: int) -> list[float]:
    """Seconds of each of so many repetitions, after one that is not counted."""
    ask()
    seconds = []
    for _ in range(times):
        began = time.perf_counter()
        ask()
        seconds.append(time.perf_counter() - began)
    return seconds


def _told(seconds: list[float]) -> str:
    late = statistics.quantiles(seconds, n=20)[-1] if len(seconds) > 1 else seconds[0]
    return f"{1000 * statistics.median(seconds):.1f} ({1000 * late:.1f})"
