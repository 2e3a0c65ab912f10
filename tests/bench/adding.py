"""`add` end to end, the replay library alone, and a plain python-chess loop, in one run."""

from __future__ import annotations

import io
import resource
import subprocess
import sys
import time
from collections import defaultdict
from pathlib import Path

import chess.pgn
import pyarrow as pa

from ingest.poskey import key_of

RAW_BATCH = 8_192


def measure(texts: list[bytes], plain_games: int, scratch: Path, library: Path) -> None:
    source = scratch / "bench.pgn"
    source.write_bytes(b"".join(texts))
    plain = _plain_loop(texts[:plain_games])
    raw = _raw_replay(texts)
    whole, peak = _add(source, library, len(texts))
    plain_again = _plain_loop(texts[:plain_games])
    plain = (plain + plain_again) / 2
    print(f"\n{len(texts):,} games, {source.stat().st_size / 1e6:,.0f} MB of PGN")
    print(f"{'':34}{'games/s':>10}{'x plain':>10}{'% of raw':>10}")
    for name, speed in (
        ("plain python-chess loop, dict by key", plain),
        ("raw replay, two threads", raw),
        ("add, end to end", whole),
    ):
        print(f"{name:34}{speed:>10,.0f}{speed / plain:>10.1f}{100 * speed / raw:>10.1f}")
    size = library.stat().st_size
    print(f"peak memory of add: {peak:,.0f} MB; library: {size / len(texts):,.0f} bytes a game")


def _plain_loop(texts: list[bytes]) -> float:
    """Games a second of the obvious program: read with python-chess, count moves by key."""
    began = time.perf_counter()
    table: defaultdict[int, defaultdict[str, int]] = defaultdict(lambda: defaultdict(int))
    for text in texts:
        game = chess.pgn.read_game(io.StringIO(text.decode("utf-8", "replace")))
        if game is None:
            continue
        board = game.board()
        for ply, move in enumerate(game.mainline_moves()):
            if ply < 40:
                table[key_of(board)][move.uci()] += 1
            board.push(move)
    return len(texts) / (time.perf_counter() - began)


def _raw_replay(texts: list[bytes]) -> float:
    """Games a second of the reading library alone."""
    import rust_pgn_reader_python_binding as reader

    batches = [
        pa.chunked_array(
            [pa.array([text.decode("utf-8", "replace") for text in texts[at : at + RAW_BATCH]])]
        )
        for at in range(0, len(texts), RAW_BATCH)
    ]
    began = time.perf_counter()
    for batch in batches:
        reader.parse_games(batch, num_threads=2)
    return len(texts) / (time.perf_counter() - began)


def _add(source: Path, library: Path, games: int) -> tuple[float, float]:
    """Games a second and peak memory in MB of the command, in a process of its own."""
    words = ["add", str(source), "--collection", "bench", "--library", str(library)]
    began = time.perf_counter()
    subprocess.run(
        [sys.executable, "-c", "from explorer.cli.main import run; run()", *words],
        check=True,
        stdout=subprocess.DEVNULL,
    )
    seconds = time.perf_counter() - began
    peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    return games / seconds, peak
