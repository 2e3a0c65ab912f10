"""`add` end to end, the replay library alone, and a plain python-chess loop, in one run."""

from __future__ import annotations

import io
import os
import subprocess
import sys
import time
from collections import defaultdict
from pathlib import Path
from typing import NamedTuple

import chess.pgn
import pyarrow as pa

from ingest.poskey import key_of
from tests.bench.material import Pool

RAW_BATCH = 8_192
MOST_RAW = 100_000
RUN = "from explorer.cli.main import run; run()"


class Speed(NamedTuple):
    """So many games in so many seconds, by the clock and of all processors together."""

    games: int
    clock: float
    processor: float

    @property
    def a_second(self) -> float:
        return self.games / self.clock

    @property
    def microseconds(self) -> float:
        return 1e6 * self.processor / self.games


class Added(NamedTuple):
    """One `add` into a new library."""

    speed: Speed
    peak: float  # MB
    size: int  # bytes of the library


def measure(pool: Pool, sizes: list[int], plain_games: int, scratch: Path) -> Path:
    """Print the table; returns the largest library."""
    file, library = scratch / "bench.pgn", scratch / "bench.duckdb"
    plain = [_plain_loop(pool.texts(plain_games))]
    added = {}
    for games in sizes:
        library.unlink(missing_ok=True)
        pool.write(file, 0, games)
        added[games] = _add(file, library, games)
        plain.append(_plain_loop(pool.texts(plain_games)))
    file.unlink()
    raw = _raw_replay(pool.texts(min(max(sizes), MOST_RAW)))
    whole = Speed(*map(sum, zip(*plain, strict=True)))
    _print(whole, raw, added)
    return library


def _print(plain: Speed, raw: Speed, added: dict[int, Added]) -> None:
    print(f"\n{'':36}{'by the clock':^28}{'by processor time, of two':^30}")
    print(f"{'':36}", f"{'games/s':>8}{'x plain':>9}{'% of raw':>10}", end="")
    print(f"{'us a game':>12}{'x plain':>9}{'% of raw':>10}{'peak MB':>9}{'bytes a game':>14}")
    rows = [
        ("plain python-chess loop, dict by key", plain, ""),
        ("raw replay, two threads", raw, ""),
    ]
    for games, one in added.items():
        tail = f"{one.peak:>9,.0f}{one.size / games:>14,.0f}"
        rows.append((f"add, end to end, {games:,} games", one.speed, tail))
    for name, speed, tail in rows:
        cores = 1 if speed is plain else 2
        print(f"{name:36} {speed.a_second:>8,.0f}{speed.a_second / plain.a_second:>9.1f}", end="")
        print(f"{100 * speed.a_second / raw.a_second:>10.1f}{speed.microseconds:>12,.1f}", end="")
        print(f"{cores * plain.microseconds / speed.microseconds:>9.1f}", end="")
        print(f"{50 * cores * raw.microseconds / speed.microseconds:>10.1f}{tail}")


def _timed(games: int, work) -> Speed:
    clock, processor = time.perf_counter(), time.process_time()
    work()
    return Speed(games, time.perf_counter() - clock, time.process_time() - processor)


def _plain_loop(texts: list[bytes]) -> Speed:
    """The obvious program: read with python-chess, count moves by key."""
    table: defaultdict[int, defaultdict[str, int]] = defaultdict(lambda: defaultdict(int))

    def count() -> None:
        for text in texts:
            game = chess.pgn.read_game(io.StringIO(text.decode("utf-8", "replace")))
            if game is None or game.errors:
                continue
            board = game.board()
            for ply, move in enumerate(game.mainline_moves()):
                if ply < 40:
                    table[key_of(board)][move.uci()] += 1
                board.push(move)

    return _timed(len(texts), count)


def _raw_replay(texts: list[bytes]) -> Speed:
    """The reading library alone."""
    import rust_pgn_reader_python_binding as reader

    decoded = [text.decode("utf-8", "replace") for text in texts]
    batches = [
        pa.chunked_array([pa.array(decoded[at : at + RAW_BATCH])])
        for at in range(0, len(decoded), RAW_BATCH)
    ]

    def read() -> None:
        for batch in batches:
            reader.parse_games(batch, num_threads=2)

    return _timed(len(texts), read)


def _add(source: Path, library: Path, games: int) -> Added:
    """The command, in a process of its own."""
    words = ["add", str(source), "--collection", "bench", "--library", str(library)]
    began = time.perf_counter()
    child = subprocess.Popen([sys.executable, "-c", RUN, *words], stdout=subprocess.DEVNULL)
    _, status, used = os.wait4(child.pid, 0)
    seconds = time.perf_counter() - began
    child.returncode = os.waitstatus_to_exitcode(status)
    if child.returncode:
        raise SystemExit(f"add failed with exit code {child.returncode}")
    speed = Speed(games, seconds, used.ru_utime + used.ru_stime)
    return Added(speed, used.ru_maxrss / 1024, library.stat().st_size)
