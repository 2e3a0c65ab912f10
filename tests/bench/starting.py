"""Cold starts of the command."""

from __future__ import annotations

import statistics
import subprocess
import sys
import time
from pathlib import Path

STARTS = 7


def measure(library: Path) -> None:
    asked = ["replies", "e4", "e5", "Nf3", "--library", str(library)]
    print("\ncold start, seconds, median of", STARTS)
    for name, words in (("replybook --help", ["--help"]), ("replybook replies", asked)):
        seconds = []
        for _ in range(STARTS):
            began = time.perf_counter()
            subprocess.run(
                [sys.executable, "-c", "from explorer.cli.main import run; run()", *words],
                check=True,
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
            )
            seconds.append(time.perf_counter() - began)
        print(f"{name:44}{statistics.median(seconds):>16.2f}")
