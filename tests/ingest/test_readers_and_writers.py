"""Readers while games are being added: they wait or are refused, and never see half a file."""

import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import duckdb
import pytest

from ingest import locks, schema
from ingest.digest import digest
from ingest.errors import LibraryBusy
from ingest.removal import remove_collection
from ingest.verify import verify
from tests.support.libraries import add, random_games

FILES = 4
SLOWLY = """
import sys, time
from pathlib import Path
from ingest import loader, pipeline, reading, unpacking
reading.BLOCK_BYTES, unpacking.CHUNK_BYTES, loader.RUN_ROWS = 2000, 1000, 100
take = loader.FileLoader.take
def slow_take(self, chunk):
    time.sleep(0.01)
    take(self, chunk)
loader.FileLoader.take = slow_take
pipeline.add_collection(Path(sys.argv[1]), sys.argv[2:], "club")
"""
COUNTS = (
    "SELECT (SELECT count(*) FROM files), (SELECT count(*) FROM games), "
    "(SELECT count(*) FROM visits), (SELECT count(*) FROM records)"
)

Seen = tuple[int, ...]


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    folder = tmp_path_factory.mktemp("files")
    paths = [folder / f"{n}.pgn" for n in range(FILES)]
    for n, path in enumerate(paths):
        path.write_text(random_games(n, 20))
    return paths


@pytest.fixture(scope="module")
def states(files: list[Path], tmp_path_factory: pytest.TempPathFactory) -> list[Seen]:
    """What a library holds after none, one, ... all of the files."""
    library = tmp_path_factory.mktemp("states") / "library"
    schema.create(library)
    seen = []
    for n in range(FILES + 1):
        if n:
            add(library, files[n - 1])
        with schema.open_for_reading(library) as connection:
            seen.append(connection.execute(COUNTS).fetchall()[0])
    return seen


@contextmanager
def adding(library: Path, files: list[Path]) -> Iterator["subprocess.Popen[bytes]"]:
    """An `add` that takes its time, in a process of its own."""
    words = [sys.executable, "-c", SLOWLY, str(library), *map(str, files)]
    with subprocess.Popen(words) as process:
        yield process


def seen_meanwhile(
    process: "subprocess.Popen[bytes]",
    connect: Callable[[], duckdb.DuckDBPyConnection],
    refusals: type[Exception],
) -> tuple[list[Seen], list[str]]:
    """What a reader sees that comes again and again, and how it is refused."""
    seen, refused = [], []
    while process.poll() is None:
        try:
            with connect() as connection:
                seen.append(connection.execute(COUNTS).fetchall()[0])
        except refusals as error:
            refused.append(str(error))
        time.sleep(0.005)
    assert process.returncode == 0
    return seen, refused


def test_a_reader_sees_the_library_before_or_after_an_add_and_is_else_refused(
    files: list[Path], states: list[Seen], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    library = tmp_path / "library"
    schema.create(library)
    monkeypatch.setattr(schema, "READER_PATIENCE", 0.0)
    with adding(library, files) as process:
        seen, refused = seen_meanwhile(
            process, lambda: schema.open_for_reading(library), LibraryBusy
        )
    assert set(seen) <= {states[0], states[-1]}
    assert refused
    expected = f"{library}: games are being added (process {process.pid}); "
    assert {line.split("try again")[0] for line in refused} == {expected}


def test_a_program_that_does_not_know_our_lock_sees_whole_files_only(
    files: list[Path], states: list[Seen], tmp_path: Path
) -> None:
    library = tmp_path / "library"
    schema.create(library)
    with adding(library, files) as process:
        seen, _ = seen_meanwhile(
            process, lambda: duckdb.connect(str(library), read_only=True), duckdb.IOException
        )
    assert set(seen) <= set(states)
    assert verify(library).problems == ()


def wait_for(library: Path, process: "subprocess.Popen[bytes]") -> None:
    while locks.holder(library) is None:
        assert process.poll() is None
        time.sleep(0.001)


def test_a_reader_waits_for_an_add_that_ends_soon(files: list[Path], tmp_path: Path) -> None:
    library = tmp_path / "library"
    schema.create(library)
    with adding(library, files[:1]) as process:
        wait_for(library, process)
        while True:  # on a slow machine in more than one go
            try:
                with schema.open_for_reading(library) as connection:
                    assert connection.execute(COUNTS).fetchall()[0][:2] == (1, 20)
            except LibraryBusy:
                continue
            break


def test_nobody_else_changes_the_library_while_games_are_being_added(
    files: list[Path], tmp_path: Path
) -> None:
    """A second `add` and a `remove` are refused at once; the first goes on undisturbed."""
    library, undisturbed = tmp_path / "library", tmp_path / "undisturbed"
    schema.create(library)
    with adding(library, files) as process:
        wait_for(library, process)
        for change in (
            lambda: add(library, files[0], collection="school"),
            lambda: remove_collection(library, "club"),
        ):
            with pytest.raises(LibraryBusy, match="games are being added"):
                change()
    assert process.returncode == 0
    add(undisturbed, *files)
    assert digest(library) == digest(undisturbed)


def test_an_add_that_finds_a_reader_who_does_not_let_go_says_so(
    files: list[Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """In one line, and the library is as before."""
    library = tmp_path / "library"
    add(library, files[0])
    monkeypatch.setattr(schema, "READER_PATIENCE", 0.1)
    held = "import duckdb, sys; c = duckdb.connect(sys.argv[1], read_only=True); print(); input()"
    pipe = subprocess.PIPE
    words = [sys.executable, "-c", held, str(library)]
    with subprocess.Popen(words, stdin=pipe, stdout=pipe) as reader:
        assert reader.stdout
        reader.stdout.readline()
        with pytest.raises(LibraryBusy, match="another process has the library open; try again"):
            add(library, files[1])
        reader.communicate(b"\n")
    assert not locks.lock_path(library).exists()
    assert add(library, files[1]).totals.found == 20
