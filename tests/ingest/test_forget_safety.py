"""`forget` killed at any moment, on a full disk, beside readers: the old library or the new one."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path
from random import Random

import pytest

from ingest import forgetting, runs, schema
from ingest.digest import digest
from ingest.errors import LibraryError
from ingest.forgetting import forget
from ingest.locks import lock_path
from tests.support.byte_search import found_in
from tests.support.libraries import Game, add, random_games, sound, write

NAME = "Vane, Amber"
PARTS = ("Vane", "Amber", "ambervane")
STEPS = 14  # that KILLED counts

KILLED = """
import os, sys
from pathlib import Path
from ingest import forgetting, runs, schema, tombstones
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
for module, name in ((schema, "open_for_writing"), (schema, "discard"), (schema, "connect"),
                     (runs, "rewrite_library"), (runs, "_copy"), (runs, "_rename"),
                     (os, "replace"), (forgetting._Plan, "_functions"),
                     (tombstones.Tombstones, "excerpt"), (schema, "transaction")):
    counted(module, name)
forgetting.forget(Path(sys.argv[1]), sys.argv[3:])
print("whole")
"""


@pytest.fixture
def library(tmp_path: Path) -> Path:
    """Some games of the player, the name in the ledger and in a collection too."""
    path = tmp_path / "here" / "library"
    games = random_games(1, 120).replace('"Player 7"', f'"{NAME}"')
    bad = Game(white=NAME, moves="1. e5").pgn * 3
    file = write(tmp_path / "Amber Vane.pgn", games, bad)
    add(path, file, collection="of Amber Vane")
    return path


def beside(library: Path) -> list[str]:
    return sorted(name for name in os.listdir(library.parent) if name != library.name)


@pytest.mark.skipif(sys.platform == "win32", reason="there is no kill -9 there")
def test_a_kill_leaves_the_old_library_or_the_new_one_whole(library: Path) -> None:
    """And the same command again, or none, is all that is needed."""
    old = digest(library)
    whole = library.read_bytes()
    moments = sorted(Random(7).sample(range(STEPS), 7))
    states = set()
    for moment in moments:
        done = subprocess.run(
            [sys.executable, "-c", KILLED, str(library), str(moment), NAME],
            check=False,
            capture_output=True,
        )
        forgotten = digest(library) != old
        states.add((done.returncode, forgotten))
        sound(library)
        if forgotten:
            for name in (".new", ".new.wal", ".new.tmp"):
                assert not library.with_name(library.name + name).exists()
        else:
            forget(library, [NAME])
        assert found_in(library, *PARTS) == []
        assert set(beside(library)) <= {"library.lock"}
        library.write_bytes(whole)
    assert (-9, False) in states


@pytest.mark.skipif(sys.platform == "win32", reason="there is no kill -9 there")
def test_the_command_can_be_killed_at_any_time(library: Path) -> None:
    """By the clock, in a process of its own."""
    old, whole = digest(library), library.read_bytes()
    random = Random(time.time_ns())
    command = [sys.executable, "-c", "from explorer.cli.main import run; run()"]
    for _ in range(4):
        process = subprocess.Popen(
            [*command, "forget", NAME, "--yes", "--library", str(library)],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        while not lock_path(library).exists() and process.poll() is None:
            time.sleep(0.001)
        time.sleep(random.random() * 0.3)
        process.kill()
        process.wait()
        if digest(library) == old:
            forget(library, [NAME])
        assert found_in(library, *PARTS) == []
        sound(library)
        library.write_bytes(whole)


def test_a_failure_on_the_way_leaves_the_old_library_and_nothing_else(
    library: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = digest(library)

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    for name in ("_copy", "_rename"):
        with monkeypatch.context() as patch:
            patch.setattr(runs, name, full)
            with pytest.raises(LibraryError, match="disk is full"):
                forget(library, [NAME])
        assert digest(library) == before
        assert beside(library) == []


def test_an_interrupt_while_texts_are_cleaned_leaves_the_old_library(
    library: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = digest(library)

    def interrupt(*_: object) -> str:
        raise KeyboardInterrupt

    monkeypatch.setattr(forgetting.Tombstones, "excerpt", interrupt)
    with pytest.raises(KeyboardInterrupt):
        forget(library, [NAME])
    assert digest(library) == before
    assert beside(library) == []


def test_what_a_killed_command_left_beside_is_cleared_away(library: Path) -> None:
    """It may hold names that were to be forgotten."""
    new = schema.beside(library)
    new.write_text(NAME)
    new.with_name(new.name + ".wal").write_text(NAME)
    for folder in (library, new):
        spill = folder.with_name(folder.name + ".tmp")
        spill.mkdir()
        (spill / "part").write_text(NAME)
    forget(library, [NAME])
    assert beside(library) == []


def test_nothing_of_ours_opens_the_librarys_file(library: Path) -> None:
    """Closing such a handle would drop DuckDB's lock on it."""
    watched = (
        "import sys; from pathlib import Path; library = Path(sys.argv[1]); opened = []\n"
        "sys.addaudithook(lambda e, a: opened.append(str(a[0])) if e == 'open' else None)\n"
        "from ingest.forgetting import forget, what_to_forget\n"
        "what_to_forget(library, sys.argv[2:]); forget(library, sys.argv[2:])\n"
        "assert str(library) not in opened and any('.lock' in name for name in opened)"
    )
    subprocess.run([sys.executable, "-c", watched, str(library), NAME], check=True)
