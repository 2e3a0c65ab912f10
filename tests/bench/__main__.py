"""How fast is it? ``python -m tests.bench [FOLDER OF PGN FILES] [--games N]``.

Prints tables and never fails on time. All speeds are also given as ratios
taken in the same run, because machines differ and are shared. Without a
folder, the sample games are multiplied until there are enough.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from pathlib import Path

from tests.bench import adding, asking, material, starting


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.bench", description=__doc__)
    parser.add_argument("folder", nargs="?", help="a folder of PGN files to measure with")
    parser.add_argument("--games", type=int, default=300_000, help="games of the library")
    parser.add_argument("--plain", type=int, default=1_500, help="games of the plain loop")
    parser.add_argument("--times", type=int, default=50, help="repetitions of each query")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as scratch:
        texts = material.game_texts(options.folder, options.games)
        library = Path(scratch) / "bench.duckdb"
        adding.measure(texts, options.plain, Path(scratch), library)
        asking.measure(library, options.times)
        starting.measure(library)
    return 0


if __name__ == "__main__":
    sys.exit(main())
