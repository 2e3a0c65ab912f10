"""How fast is it? ``python -m tests.bench [FOLDER OR FILE] [--games N]``.

Prints tables and never fails on time. Machines differ and are shared: speeds
are also given as ratios taken in the same run, and in time of the processor. A
million games with a folder takes some ten minutes and 3 GB of disk. Without a
folder the sample games are multiplied, fewer of them.
"""

from __future__ import annotations

import argparse
import os
import platform
import sys
import tempfile
from datetime import date
from pathlib import Path

import duckdb

from tests.bench import adding, asking, browsing, overlap, starting, weeks
from tests.bench.material import Pool

SIZES = (10_000, 100_000, 1_000_000)


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.bench", description=__doc__)
    parser.add_argument("folder", nargs="?", help="PGN files to measure with")
    parser.add_argument("--games", type=int, help="games of the largest library")
    parser.add_argument("--plain", type=int, default=1_000, help="games of the plain loop")
    parser.add_argument("--times", type=int, default=50, help="repetitions of each query")
    parser.add_argument("--weeks", type=int, help="small adds at the end")
    options = parser.parse_args()
    games = options.games or (SIZES[-1] if options.folder else 50_000)
    small = [size for size in SIZES if size < games]
    number = 200 if options.weeks is None and options.folder else options.weeks or 20
    print(f"{date.today()}, {platform.machine()}, {os.cpu_count()} cores, ", end="")
    print(f"Python {platform.python_version()}, DuckDB {duckdb.__version__}, ", end="")
    print(f"load before {os.getloadavg()[0]:.1f}")
    with tempfile.TemporaryDirectory() as folder:
        scratch = Path(folder)
        pool = Pool(options.folder, scratch / "pool.pgn")
        print(f"{pool.games:,} games at hand; more are the same between other players", flush=True)
        library = adding.measure(pool, [*small, games], options.plain, scratch)
        overlap.measure(pool)
        asking.measure(library, options.times)
        browsing.measure(library, max(options.times // 5, 1))
        starting.measure(library, scratch)
        weeks.measure(pool, library, games, number, options.times // 5 or 1, scratch)
    return 0


if __name__ == "__main__":
    sys.exit(main())
