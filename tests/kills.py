"""Pulled plugs: ``python -m tests.kills [GAMES] [TIMES]``, 20,000 and 40 if left out.

An `add` of several files is killed (``kill -9``) at random moments, spread over
its whole length. Half of the times there is no library before, half of the times
there is one of so many small files that this `add` ends by writing it anew. After
each kill must hold:

* the library opens, `verify` finds nothing, and it is as before or after a whole file;
* the same `add` again makes exactly the library of an undisturbed one, by digest;
* and nothing else is left beside it.

Then a collection is removed and added again, ROUNDS times: the digest stays, and
the file's size is shown.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from random import Random

from ingest import schema
from ingest.digest import digest, table_sums
from ingest.locks import lock_path
from ingest.pipeline import add_collection
from ingest.removal import remove_collection
from ingest.verify import verify
from tests.bench.material import game_texts

FILES = 4
SMALL_FILES, SMALL_GAMES = 16, 10
AGAIN = 50  # games of the file before that each file brings again
ROUNDS = 50
ODD = b'[Event "A"]\n[White "B"]\n[Black "C"]\n[Result "*"]\n\n%s *\n\n'
RUN = [sys.executable, "-c", "from explorer.cli.main import run; run()"]
COLLECTION = "club"

Sums = dict[str, tuple[object, ...]]


def make_files(folder: Path, games: int) -> tuple[list[Path], list[Path]]:
    """The files to add, and the small ones added before.

    They hold so many different games, and some duplicates, rejected and cut games.
    """
    texts = game_texts(None, games + SMALL_FILES * SMALL_GAMES)
    size = games // FILES
    files = []
    for n in range(FILES):
        own = texts[n * size : (n + 1) * size]
        again = texts[max(0, n * size - AGAIN) : n * size]
        odd = [ODD % b"1. e5", ODD % b"1. e4 Ke4"]
        files.append(_written(folder / f"{n + 1}.pgn", [*own, *odd, *again]))
    late = texts[games:]
    parts = [late[n * SMALL_GAMES : (n + 1) * SMALL_GAMES] for n in range(SMALL_FILES)]
    return files, [_written(folder / f"small{n}.pgn", part) for n, part in enumerate(parts)]


def _written(path: Path, texts: Iterable[bytes]) -> Path:
    path.write_bytes(b"".join(texts))
    return path


def add(library: Path, files: Sequence[Path], collection: str = COLLECTION) -> None:
    """Add files in this process."""
    report = add_collection(library, [str(file) for file in files], collection)
    assert report.totals.add_up()
    assert not any(file.error for file in report.files)


def started(library: Path, files: Sequence[Path]) -> subprocess.Popen[bytes]:
    """The command in a process of its own, just when it has taken the library's lock."""
    words = ["add", *map(str, files), "--collection", COLLECTION, "--library", str(library)]
    process = subprocess.Popen([*RUN, *words], stdout=subprocess.DEVNULL)
    while not lock_path(library).exists() and process.poll() is None:
        time.sleep(0.001)
    return process


def told(library: Path) -> Sums:
    """What a library says, but for the summary that follows from the rest."""
    with schema.open_for_reading(library) as connection:
        sums = table_sums(connection)
    del sums["positions"]
    return sums


@dataclass(frozen=True)
class Start:
    """A state before the `add`: its library, if any, and what must come of it."""

    name: str
    library: Path | None
    states: list[Sums]  # after none, one, ... all files
    digest: str  # of an undisturbed `add`
    seconds: float  # that it takes

    @classmethod
    def of(cls, name: str, library: Path | None, files: Sequence[Path], folder: Path) -> Start:
        """Add the files one by one, and all at once."""
        folder.mkdir()
        slowly, at_once = folder / "slowly", folder / "at_once"
        for path in (slowly, at_once):
            if library:
                shutil.copyfile(library, path)
        if not library:
            schema.create(slowly)
        states = [told(slowly)]
        for file in files:
            add(slowly, [file])
            states.append(told(slowly))
        process = started(at_once, files)
        seconds = _wait(at_once, 3600)
        assert process.wait() == 0
        assert digest(slowly) == digest(at_once), "one by one is not all at once"
        return cls(name, library, states, digest(at_once), seconds)


@dataclass(frozen=True)
class Kill:
    """What one kill left, and what became of it."""

    start: str
    moment: float  # 0: it begins, 1: it ends
    files_in: int | None  # None: a state that must not be
    left: tuple[str, ...]  # beside the library
    problems: tuple[str, ...]
    same_again: bool
    left_again: tuple[str, ...]

    @property
    def good(self) -> bool:
        """Whether all that must hold held."""
        whole = self.files_in is not None and self.same_again
        return whole and not self.problems and not self.left_again


def kill(start: Start, moment: float, files: Sequence[Path], folder: Path) -> Kill:
    """Kill an `add` at a moment of its length, and add again."""
    library = folder / "library"
    length = start.seconds
    while True:
        shutil.rmtree(folder, ignore_errors=True)
        folder.mkdir()
        if start.library:
            shutil.copyfile(start.library, library)
        process = started(library, files)
        took = _wait(library, moment * length)
        process.kill()
        process.wait()
        if lock_path(library).exists():
            break
        length = took  # it ended first: the machine is quicker now
    left = _beside(library)
    files_in, problems = 0, ()
    if library.exists():
        state = told(library)
        files_in = start.states.index(state) if state in start.states else None
        problems = verify(library).problems
    add(library, files)
    problems += verify(library).problems
    same = digest(library) == start.digest
    return Kill(start.name, moment, files_in, left, problems, same, _beside(library))


def _wait(library: Path, most: float) -> float:
    """Wait so many seconds, or until the `add` has ended; how long it was."""
    began = time.monotonic()
    while (waited := time.monotonic() - began) < most and lock_path(library).exists():
        time.sleep(0.001)
    return waited


def _beside(library: Path) -> tuple[str, ...]:
    names = (path.name.removeprefix(library.name) for path in library.parent.iterdir())
    return tuple(sorted(name for name in names if name))


def pull_plugs(games: int, times: int, scratch: Path) -> list[Kill]:
    """Kill so many times; one line each and a table on standard output."""
    files, small = make_files(scratch, games)
    earlier = scratch / "earlier"
    add(earlier, small, "weekly")
    starts = (
        Start.of("no library", None, files, scratch / "none"),
        Start.of("small files", earlier, files, scratch / "some"),
    )
    for start in starts:
        print(f"from {start.name}: {start.seconds:.2f} s undisturbed, digest {start.digest}")
    random = Random(times)
    kills = []
    for number in range(times):
        moment = (number + random.random()) / times
        kills.append(kill(starts[number % 2], moment, files, scratch / "killed"))
        print(_line(kills[-1]), flush=True)
    print(f"\n{games:,} games in {FILES} files, killed {times} times")
    print("\n".join(_table(kills)))
    return kills


def _line(one: Kill) -> str:
    found = "NO WHOLE STATE" if one.files_in is None else f"{one.files_in} files in"
    left = " ".join(one.left) or "nothing"
    verdict = "good" if one.good else f"BAD: {one}"
    return f"{one.start} {one.moment:6.1%}: {found}, beside it {left}: {verdict}"


def _table(kills: Sequence[Kill]) -> Iterable[str]:
    yield f"{'found after the kill':24}{'times':>8}{'sound':>8}{'same again':>12}"
    groups: list[tuple[str, list[Kill]]] = [
        (f"{n} of {FILES} files in", [one for one in kills if one.files_in == n])
        for n in range(FILES + 1)
    ]
    groups.append(("half a file in", [one for one in kills if one.files_in is None]))
    groups.append(("in all", list(kills)))
    for name, some in groups:
        sound = sum(not one.problems for one in some)
        yield f"{name:24}{len(some):>8}{sound:>8}{sum(one.same_again for one in some):>12}"
    left = Counter(name for one in kills for name in one.left)
    yield f"left beside it: {', '.join(f'{name} {n}' for name, n in sorted(left.items()))}"
    yield f"left after the same add again: {sum(bool(one.left_again) for one in kills)}"


def go_round(games: int, rounds: int, scratch: Path) -> list[int]:
    """Remove and add a quarter of a library so often; its sizes, in bytes, before and after each.

    AssertionError when the digest does not stay what it was.
    """
    library = scratch / "library"
    files, _ = make_files(scratch, games)
    add(library, files[1:], "kept")
    add(library, files[:1])
    before = digest(library)
    sizes = [library.stat().st_size]
    for _ in range(rounds):
        remove_collection(library, COLLECTION)
        add(library, files[:1])
        assert digest(library) == before, "a round changed the library"
        sizes.append(library.stat().st_size)
    assert verify(library).problems == ()
    shown = sorted({0, 1, 2, 3, 5, *range(10, rounds, 10), rounds} & set(range(rounds + 1)))
    print(f"\n{games:,} games, a quarter removed and added again; digest {before} each time")
    print(f"{'round':>8}{'megabytes':>12}")
    for number in shown:
        print(f"{number:>8}{sizes[number] / 1e6:>12.1f}")
    print(f"{'largest':>8}{max(sizes) / 1e6:>12.1f}")
    return sizes


def main() -> int:
    """Kill, then go round; 1 when anything was not as it must be."""
    given = [int(word) for word in sys.argv[1:]]
    games, times = (*given, *(20_000, 40)[len(given) :])
    with tempfile.TemporaryDirectory() as scratch:
        kills = pull_plugs(games, times, Path(scratch))
    with tempfile.TemporaryDirectory() as scratch:
        go_round(games, ROUNDS, Path(scratch))
    return 0 if all(one.good for one in kills) else 1


if __name__ == "__main__":
    sys.exit(main())
