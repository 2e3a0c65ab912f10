"""Cold starts of the command."""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import time
from pathlib import Path

from tests.bench.adding import RUN

STARTS = 7


def measure(library: Path, scratch: Path) -> None:
    """Print the table."""
    asked = ["replies", "e4", "e5", "Nf3", "--library", str(library)]
    # As in an installation: modules are compiled once.
    environment = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
    environment["PYTHONPYCACHEPREFIX"] = str(scratch / "compiled")
    print("\ncold start, seconds, median of", STARTS)
    print(f"{'':44}{'clock':>10}{'processor':>11}")
    for name, words in (("replybook --help", ["--help"]), ("replybook replies", asked)):
        started = [_start(words, environment) for _ in range(1 + STARTS)][1:]
        clock, processor = (statistics.median(column) for column in zip(*started, strict=True))
        print(f"{name:44}{clock:>10.2f}{processor:>11.2f}")


def _start(words: list[str], environment: dict[str, str]) -> tuple[float, float]:
    began, used = time.perf_counter(), os.times()
    subprocess.run(
        [sys.executable, "-c", RUN, *words],
        env=environment,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    now = os.times()
    children = now.children_user + now.children_system - used.children_user - used.children_system
    return time.perf_counter() - began, children
