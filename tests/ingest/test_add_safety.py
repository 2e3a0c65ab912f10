"""Damage, interrupts, kills, full disks: whole files or nothing."""

import gzip
import os
import random
import subprocess
import sys
import threading
from pathlib import Path

import pytest

from ingest import fastread, loader, locks, reading, schema
from ingest.digest import digest
from ingest.errors import LibraryBusy, LibraryDamaged, LibraryError
from ingest.pipeline import Progress, add_collection
from tests.support.libraries import (
    CUT,
    Game,
    add,
    ask,
    random_games,
    small_steps,
    sound,
    write,
)


@pytest.fixture
def library(tmp_path: Path) -> Path:
    return tmp_path / "games.library"


def test_a_damaged_file_leaves_nothing_and_the_others_go_on(library: Path, tmp_path: Path) -> None:
    whole = write(tmp_path / "a.pgn", Game())
    text = random_games(2, 400).encode()
    packed = gzip.compress(text)
    cut = tmp_path / "b.pgn.gz"
    cut.write_bytes(packed[: len(packed) // 2])
    last = write(tmp_path / "c.pgn", CUT, Game())
    report = add(library, whole, cut, last)
    assert [file.error is None for file in report.files] == [True, False, True]
    assert report.files[1].found == 0
    assert report.totals.add_up()
    assert (report.totals.found, report.totals.duplicates) == (3, 1)
    assert ask(library, "SELECT name FROM files ORDER BY id") == [(str(whole),), (str(last),)]
    sound(library)


def test_an_interrupt_leaves_the_library_as_it_was(
    library: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """And no lock, no threads, and nothing beside it."""
    small_steps(monkeypatch)
    monkeypatch.setattr(loader, "RUN_ROWS", 100)
    add(library, write(tmp_path / "a.pgn", Game()))
    before = digest(library)
    other = tmp_path / "b.pgn"
    other.write_text(random_games(4, 300))

    def interrupt(progress: Progress) -> None:
        if progress.games > 50:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        add_collection(library, [str(other)], "club", progress=interrupt)
    assert digest(library) == before
    assert sorted(os.listdir(tmp_path)) == ["a.pgn", "b.pgn", library.name]
    assert threading.active_count() == 1
    assert add(library, other).totals.found == 300
    sound(library)


def test_an_error_in_a_stage_comes_through(
    library: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A bug keeps its own exception, and the library stays as it was."""
    add(library, write(tmp_path / "a.pgn", Game()))
    before = digest(library)

    def broken(*_: object, **__: object) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr(reading, "replay", broken)
    with pytest.raises(ZeroDivisionError):
        add(library, write(tmp_path / "b.pgn", Game(), CUT))
    assert digest(library) == before
    assert not locks.lock_path(library).exists()


def test_counts_that_do_not_add_up_are_never_committed(
    library: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    add(library, write(tmp_path / "a.pgn", Game()))
    monkeypatch.setattr(loader.Counts, "add_up", lambda _: False)
    with pytest.raises(AssertionError, match="do not add up"):
        add(library, write(tmp_path / "b.pgn", CUT))
    assert ask(library, "SELECT count(*) FROM games") == [(1,)]


def test_files_that_cannot_be_used_leave_no_library_behind(library: Path, tmp_path: Path) -> None:
    """Nor does an interrupt in the first file; but one that was there stays, be it empty."""
    cut = tmp_path / "a.pgn.gz"
    cut.write_bytes(gzip.compress(random_games(2, 40).encode())[:-30])

    def interrupt(_: Progress) -> None:
        raise KeyboardInterrupt

    assert add(library, cut).files[0].error
    with pytest.raises(KeyboardInterrupt):
        add_collection(library, [str(write(tmp_path / "b.pgn", Game()))], "club", None, interrupt)
    assert sorted(os.listdir(tmp_path)) == ["a.pgn.gz", "b.pgn"]
    schema.create(library)
    add(library, cut)
    assert library.exists()


def test_a_text_file_is_no_library_to_add_to(library: Path, tmp_path: Path) -> None:
    library.write_text("my notes")
    with pytest.raises(LibraryDamaged, match="not a Replybook library"):
        add(library, write(tmp_path / "a.pgn", Game()))
    assert library.read_text() == "my notes"


def test_a_folder_that_cannot_be_written_is_one_line(tmp_path: Path) -> None:
    (tmp_path / "in-the-way").write_text("")
    with pytest.raises(LibraryError, match="--library"):
        add(tmp_path / "in-the-way" / "library", write(tmp_path / "a.pgn", Game()))


def test_too_little_memory_is_one_line_and_no_harm(
    library: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    add(library, write(tmp_path / "a.pgn", Game()))
    before = digest(library)
    file = tmp_path / "b.pgn"
    file.write_text(random_games(5, 200))
    monkeypatch.setattr(schema, "MEMORY_LIMIT", "1MB")
    with pytest.raises(LibraryError, match="memory"):
        add(library, file)
    monkeypatch.undo()
    assert digest(library) == before


def test_a_reader_thread_without_memory_is_one_line(
    library: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As the fast reader says it."""

    def fail(*_: object, **__: object) -> None:
        raise ValueError("Failed to build thread pool: Resource temporarily unavailable")

    monkeypatch.setattr(fastread, "parse_games", fail)
    with pytest.raises(LibraryError, match="not enough memory"):
        add(library, write(tmp_path / "a.pgn", Game()))
    assert not library.exists()


def test_a_second_add_while_one_runs_is_refused(library: Path, tmp_path: Path) -> None:
    file = write(tmp_path / "a.pgn", Game())
    refused = []

    def again(_: Progress) -> None:
        with pytest.raises(LibraryBusy) as error:
            add(library, file)
        refused.append(str(error.value))

    add_collection(library, [str(file)], "club", progress=again)
    assert len(refused) == 1
    assert ask(library, "SELECT count(*) FROM games") == [(1,)]


WATCHED = """
import sys
from pathlib import Path
library = Path(sys.argv[1])
opened = []
sys.addaudithook(lambda event, args: opened.append(args[0]) if event == "open" else None)
from ingest.pipeline import add_collection
from ingest.verify import verify
from ingest.removal import remove_collection
from ingest.digest import digest
add_collection(library, sys.argv[2:], "club")
verify(library), digest(library)
remove_collection(library, "club")
names = [str(name) for name in opened if isinstance(name, (str, Path))]
assert any(name.endswith(".lock") for name in names)
assert str(library) not in names, "opened beside DuckDB"
"""


def test_nothing_of_ours_opens_the_librarys_file(library: Path, tmp_path: Path) -> None:
    """Closing such a handle would drop DuckDB's lock on it."""
    file = write(tmp_path / "a.pgn", Game(), CUT)
    subprocess.run([sys.executable, "-c", WATCHED, str(library), str(file)], check=True)


KILLED = """
import os, sys
from pathlib import Path
from ingest import loader, pipeline, reading, runs, settling, unpacking
reading.BLOCK_BYTES, unpacking.CHUNK_BYTES, loader.RUN_ROWS = 4000, 2000, 400
left = int(sys.argv[2])
def counted(module, name):
    inner = getattr(module, name)
    def outer(*args, **more):
        global left
        left -= 1
        if left < 0:
            os.kill(os.getpid(), 9)
        return inner(*args, **more)
    setattr(module, name, outer)
for module, name in ((settling, "insert"), (settling, "give_way"), (settling, "join"),
                     (runs, "tidy"), (runs, "sum_positions"), (runs, "rewrite_library"),
                     (loader.FileLoader, "take"), (loader.FileLoader, "finish")):
    counted(module, name)
pipeline.add_collection(Path(sys.argv[1]), sys.argv[3:], "club")
print("whole")
"""


@pytest.mark.skipif(sys.platform == "win32", reason="there is no kill -9 there")
def test_a_kill_leaves_whole_files_and_the_same_add_again_completes_it(tmp_path: Path) -> None:
    files = [tmp_path / f"{n}.pgn" for n in range(3)]
    for n, file in enumerate(files):
        file.write_text(random_games(n, 25) + random_games(9, 10))
    states = []
    for n in range(4):
        library = tmp_path / f"state{n}"
        if n:
            add(library, *files[:n])
        else:
            schema.create(library)
        states.append(rows_of(library))
    undisturbed = digest(tmp_path / "state3")
    for moment in random.Random(1).sample(range(60), 6):
        library = tmp_path / f"killed{moment}"
        schema.create(library)
        subprocess.run(
            [sys.executable, "-c", KILLED, str(library), str(moment), *map(str, files)],
            check=False,
            capture_output=True,
        )
        assert rows_of(library) in states
        sound(library)
        add(library, *files)
        sound(library)
        assert digest(library) == undisturbed


def rows_of(library: Path) -> list[tuple[object, ...]]:
    """What a library holds, but for the summary that follows from it."""
    return ask(
        library,
        "SELECT (SELECT count(*) FROM files), (SELECT count(*) FROM games), "
        "(SELECT count(*) FROM visits), (SELECT sum(hash(key, move, ply)) FROM visits), "
        "(SELECT count(*) FROM records), (SELECT count(*) FROM rejects)",
    )


@pytest.mark.skipif(
    not hasattr(os, "geteuid") or os.geteuid() != 0 or not os.path.exists("/bin/mount"),
    reason="needs the right to mount a small file system",
)
def test_a_full_disk_is_one_line_and_no_harm(tmp_path: Path) -> None:
    small = tmp_path / "small"
    small.mkdir()
    mounted = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=3m", "tmpfs", str(small)],
        check=False,
        capture_output=True,
    )
    if mounted.returncode:
        pytest.skip("this system does not let us mount")
    try:
        library = small / "library"
        add(library, write(tmp_path / "a.pgn", Game()))
        before = digest(library)
        big = tmp_path / "b.pgn"
        big.write_text("".join(random_games(seed, 1000) for seed in range(3)))
        with pytest.raises(LibraryError, match="disk is full"):
            add(library, big)
        assert digest(library) == before
        sound(library)
    finally:
        subprocess.run(["umount", str(small)], check=True)
