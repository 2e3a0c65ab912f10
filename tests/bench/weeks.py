"""The curve over many small adds: do they stay cheap, and look-ups fast?"""

from __future__ import annotations

import time
from pathlib import Path

from explorer.query.library import open_library
from ingest import runs, schema
from ingest.pipeline import add_collection
from tests.bench import positions
from tests.bench.asking import core_median
from tests.bench.material import Pool

GAMES_A_WEEK = 50
TOLD_AFTER = (0, 1, 50, 100, 150, 200)


def measure(pool: Pool, library: Path, held: int, weeks: int, times: int, scratch: Path) -> None:
    """Add ``weeks`` times to a library that holds the first ``held`` games of the pool."""
    print(f"\n{weeks} adds of {GAMES_A_WEEK} games to the library of {held:,}")
    print("seconds an add since the line before, processor seconds, and core queries in ms")
    print(
        f"{'adds':>6}{'median':>9}{'longest':>9}{'processor':>11}{'start':>9}{'popular':>9}", end=""
    )
    print(f"{'rare':>9}{'runs':>6}{'MB':>8}")
    asked = [positions.start(), positions.popular(library)[1], positions.rare(library)[2]]
    file = scratch / "week.pgn"
    took: list[tuple[float, float]] = []
    for week in range(weeks + 1):
        if week:
            pool.write(file, held + (week - 1) * GAMES_A_WEEK, GAMES_A_WEEK)
            clock, processor = time.perf_counter(), time.process_time()
            add_collection(library, [str(file)], "weeks")
            took.append((time.perf_counter() - clock, time.process_time() - processor))
        if week in TOLD_AFTER or week == weeks:
            clocks = sorted(clock for clock, _ in took) or [0.0]
            spent = sorted(processor for _, processor in took) or [0.0]
            print(f"{week:>6}{clocks[len(clocks) // 2]:>9.2f}{clocks[-1]:>9.2f}", end="")
            print(f"{spent[len(spent) // 2]:>11.2f}", end="")
            with open_library(library) as opened:
                for position in asked:
                    print(f"{core_median(opened, position, times):>9.1f}", end="")
            with schema.open_for_reading(library) as connection:
                number = runs.overlapping(runs.all_runs(connection))
            print(f"{number:>6}{library.stat().st_size / 1e6:>8,.0f}", flush=True)
            took.clear()
