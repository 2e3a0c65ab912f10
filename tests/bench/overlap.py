"""Do replay and DuckDB let go of the interpreter lock?

Two stages, a thread each: on two free cores both at once take as long as the
longer one if the lock is let go, as long as both if it is held. And, whatever else
the machine does: how long must another thread wait that wants the lock every millisecond?
"""

from __future__ import annotations

import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from itertools import pairwise

import duckdb
import numpy as np
import pyarrow as pa

from tests.bench.material import Pool

GAMES = 20_000
ROWS = 3_000_000
TIMES = 3


def measure(pool: Pool) -> None:
    """Print the table."""
    stages = {"replay": _replay(pool), "sorted insert": _insert()}
    print(f"\n{f'two stages, best of {TIMES}':44}{'seconds':>10}", end="")
    print(f"{'longest wait of another, ms':>30}")
    for name, stage in stages.items():
        print(f"{name + ' alone':44}{_best([stage]):>10.2f}{1000 * _longest_wait(stage):>30.0f}")
    both = list(stages.values())
    print(f"{'one after the other':44}{_best([lambda: [stage() for stage in both]]):>10.2f}")
    print(f"{'both at once':44}{_best(both):>10.2f}")


def _longest_wait(stage: Callable[[], object]) -> float:
    """Seconds that this thread was kept from running while another did the stage; best of some."""
    longest = []
    with ThreadPoolExecutor(1) as thread:
        for _ in range(TIMES):
            running = thread.submit(stage)
            woken = [time.perf_counter()]
            while not running.done():
                time.sleep(0.001)
                woken.append(time.perf_counter())
            longest.append(max(b - a for a, b in pairwise(woken)))
    return min(longest)


def _best(stages: list[Callable[[], object]]) -> float:
    seconds = []
    with ThreadPoolExecutor(len(stages)) as threads:
        for _ in range(TIMES):
            began = time.perf_counter()
            for running in [threads.submit(stage) for stage in stages]:
                running.result()
            seconds.append(time.perf_counter() - began)
    return min(seconds)


def _replay(pool: Pool) -> Callable[[], object]:
    import rust_pgn_reader_python_binding as reader

    texts = pa.chunked_array([pa.array([text.decode() for text in pool.texts(GAMES)])])
    return lambda: reader.parse_games(texts, num_threads=1)


def _insert() -> Callable[[], object]:
    numbers = np.random.default_rng(1).integers(0, 1 << 62, ROWS)
    arriving = pa.table({"key": numbers, "value": numbers >> 40})

    def insert() -> None:
        with duckdb.connect(config={"threads": 1}) as connection:
            connection.register("arriving", arriving)
            connection.execute("CREATE TABLE t AS SELECT * FROM arriving ORDER BY key")

    return insert
