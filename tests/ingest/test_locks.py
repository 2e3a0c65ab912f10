"""The sidecar lock."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from ingest import locks, schema
from ingest.errors import LibraryBusy, LibraryError
from ingest.pipeline import Progress, add_collection
from tests.support.libraries import LONG, Game, ask, write


@pytest.fixture
def library(tmp_path: Path) -> Path:
    return tmp_path / "games.library"


def dead_process() -> int:
    with subprocess.Popen([sys.executable, "-c", ""]) as process:
        process.wait()
        return process.pid


def test_the_sidecar_names_the_process_and_goes_with_the_command(library: Path) -> None:
    with locks.held(library):
        assert locks.lock_path(library).read_text() == str(os.getpid())
        assert locks.holder(library) == os.getpid()
    assert not locks.lock_path(library).exists()
    assert locks.holder(library) is None


def test_the_sidecar_goes_when_the_command_fails(library: Path) -> None:
    with pytest.raises(KeyboardInterrupt), locks.held(library):
        raise KeyboardInterrupt
    assert not locks.lock_path(library).exists()


def test_a_second_command_is_refused_in_one_line(library: Path) -> None:
    with locks.held(library):
        with pytest.raises(LibraryBusy) as refused, locks.held(library):
            pass
        assert "try again" in str(refused.value)
        assert "\n" not in str(refused.value)
        assert locks.lock_path(library).exists()


def test_the_lock_of_another_living_process_counts(library: Path) -> None:
    with subprocess.Popen([sys.executable, "-c", "input()"], stdin=subprocess.PIPE) as process:
        locks.lock_path(library).write_text(str(process.pid))
        assert locks.holder(library) == process.pid
        process.communicate(b"\n")


@pytest.mark.parametrize("left", ["dead", "ours", "", "no number", "-5", "0"])
def test_a_lock_left_behind_is_taken_over(library: Path, left: str) -> None:
    """One of a dead process, of an earlier process with our number, or a torn one."""
    text = {"dead": str(dead_process()), "ours": str(os.getpid())}.get(left, left)
    locks.lock_path(library).write_text(text)
    assert locks.holder(library) is None
    with locks.held(library):
        assert locks.holder(library) == os.getpid()


def test_a_process_that_belongs_to_somebody_else_is_alive(
    library: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def not_yours(number: int, signal: int) -> None:
        raise PermissionError

    monkeypatch.setattr(os, "kill", not_yours)
    locks.lock_path(library).write_text("123456")
    assert locks.holder(library) == 123456


def test_a_race_for_the_sidecar_has_one_winner(
    library: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The other made it after we had looked."""
    locks.lock_path(library).write_text("")
    monkeypatch.setattr(Path, "unlink", lambda *_, **__: None)
    with pytest.raises(LibraryBusy), locks.held(library):
        pass


def test_of_two_that_begin_in_the_same_instant_one_is_refused(
    library: Path, tmp_path: Path
) -> None:
    """Before it opens the library again; and it leaves the other's sidecar alone."""
    files = [write(tmp_path / f"{n}.pgn", Game(round=str(n), moves=LONG + n)) for n in ("", " d5")]
    schema.create(library)

    def taken(_: Progress) -> None:
        locks.lock_path(library).write_text("1")  # as the other does that saw it empty

    with pytest.raises(LibraryBusy, match="another command just began"):
        add_collection(library, [str(file) for file in files], "club", progress=taken)
    assert locks.lock_path(library).read_text() == "1"
    locks.lock_path(library).unlink()
    assert ask(library, "SELECT count(*) FROM files") == [(1,)]


@pytest.mark.parametrize(
    ("error", "words"),
    [
        (OSError(28, "No space left on device"), "disk is full"),
        (OSError(30, "Read-only"), "Read-only"),
    ],
)
def test_a_sidecar_that_cannot_be_written_leaves_nothing(
    library: Path, monkeypatch: pytest.MonkeyPatch, error: OSError, words: str
) -> None:
    def fail() -> int:
        raise error

    monkeypatch.setattr(os, "getpid", fail)
    with pytest.raises(LibraryError, match=words) as refused, locks.held(library):
        pass
    assert str(refused.value).startswith(f"{library}: ")
    assert not locks.lock_path(library).exists()


def test_a_folder_that_cannot_be_made_is_one_line(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(LibraryError, match="--library"), locks.held(tmp_path / "file" / "library"):
        pass
