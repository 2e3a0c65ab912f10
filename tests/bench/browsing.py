"""The local page: how soon a position's page begins and ends, and ten clients at once."""

from __future__ import annotations

import hashlib
import http.client
import statistics
import subprocess
import sys
import threading
import time
from collections import Counter, defaultdict
from collections.abc import Iterator
from contextlib import contextmanager
from itertools import count
from pathlib import Path
from urllib.parse import urlencode, urlsplit

from explorer.positions.position import Position
from tests.bench import positions
from tests.bench.adding import RUN

CLIENTS = 10
LONGEST = 60  # seconds until an answer
FILTERS: tuple[dict[str, str], ...] = (
    {},
    {"level": "1400+"},
    {"pace": "standard", "view": "black"},
)


def measure(library: Path, times: int, seconds: float = 60) -> None:
    """Print the tables."""
    start, popular, rare = positions.start(), positions.popular(library), positions.rare(library)
    with served(library) as netloc:
        print(f"\nbrowse, milliseconds to the first byte (to the last), median of {times}")
        print(f"{'':44}{'made anew':>17}{'95th percentile':>17}{'kept':>15}")
        fresh = count()
        for kind, chosen in {"start": [start], "popular": popular, "rare": rare}.items():
            asked = [address(position) for position in chosen]
            anew = [
                timed(netloc, f"{path}&fresh={next(fresh)}") for _ in range(times) for path in asked
            ]
            kept = [timed(netloc, path) for _ in range(times) for path in asked]
            print(f"{kind:44}{told(anew, 0.5):>17}{told(anew, 0.95):>17}{told(kept, 0.5):>15}")
        paths = [address(p, chosen) for p in (start, *popular, *rare) for chosen in FILTERS]
        for name, anew_each in (
            ("made anew each time", True),
            ("kept where they are known", False),
        ):
            crowd(netloc, paths, seconds, name, fresh if anew_each else None)


def address(position: Position, chosen: dict[str, str] | None = None) -> str:
    """A position's page; a later ``&fresh=`` asks for one that is not kept."""
    line = {"line": " ".join(position.sans)} if position.sans else {}
    return f"/position?{urlencode({**line, **(chosen or {})})}"


@contextmanager
def served(library: Path) -> Iterator[str]:
    """The command at work in a process of its own: where it can be reached."""
    words = [sys.executable, "-c", RUN, "browse", "--no-open", "--library", str(library)]
    server = subprocess.Popen(words, stdout=subprocess.PIPE, text=True)
    assert server.stdout
    try:
        yield urlsplit(server.stdout.readline().strip()).netloc
    finally:
        server.terminate()
        server.wait()


def ask(netloc: str, path: str) -> tuple[int, bytes, float, float]:
    """Status, body, and the seconds to the first and to the last byte."""
    connection = http.client.HTTPConnection(netloc, timeout=LONGEST)
    began = time.perf_counter()
    connection.request("GET", path)
    answer = connection.getresponse()
    body = answer.read(1)
    first = time.perf_counter() - began
    body += answer.read()
    last = time.perf_counter() - began
    connection.close()
    return answer.status, body, first, last


def timed(netloc: str, path: str) -> tuple[float, float]:
    """Milliseconds to the first and to the last byte."""
    status, _, first, last = ask(netloc, path)
    assert status == 200, (status, path)
    return 1000 * first, 1000 * last


def told(times: list[tuple[float, float]], part: float) -> str:
    """``85 (240)``: the quantile of first and of last bytes."""
    firsts, lasts = (sorted(column) for column in zip(*times, strict=True))
    at = round(part * (len(firsts) - 1))
    return f"{firsts[at]:.0f} ({lasts[at]:.0f})"


def crowd(
    netloc: str, paths: list[str], seconds: float, name: str, fresh: count[int] | None
) -> None:
    """Ten clients, each asking for page after page: how many, how fast, which faults."""
    took: list[tuple[float, float]] = []
    statuses: Counter[object] = Counter()
    answers: dict[str, set[str]] = defaultdict(set)
    end = time.monotonic() + seconds

    def client(number: int) -> None:
        for turn in count(number * 7):
            if time.monotonic() > end:
                return
            path = paths[turn % len(paths)]
            try:
                status, body, first, last = ask(
                    netloc, f"{path}&fresh={next(fresh)}" if fresh else path
                )
            except OSError as error:
                statuses[type(error).__name__] += 1
                continue
            statuses[status] += 1
            took.append((1000 * first, 1000 * last))
            answers[path].add(hashlib.sha256(body).hexdigest())

    clients = [threading.Thread(target=client, args=(number,)) for number in range(CLIENTS)]
    for one in clients:
        one.start()
    for one in clients:
        one.join()
    faults = sum(number for status, number in statuses.items() if status != 200)
    different = sum(len(found) > 1 for found in answers.values())
    rate = len(took) / seconds
    mean = statistics.mean(last for _, last in took)
    print(
        f"{CLIENTS} clients for {seconds:.0f} s, {name}: {len(took):,} pages, {rate:.0f} a second,"
    )
    print(f"  {faults} faults, {different} of {len(answers)} pages that were not always the same;")
    print(f"  median {told(took, 0.5)}, 95th percentile {told(took, 0.95)}, mean ({mean:.0f})")


if __name__ == "__main__":
    measure(Path(sys.argv[1]), int(sys.argv[2]), float(sys.argv[3]))
