"""Disks that are full or may not be written to: one line, no harm, and reading goes on."""

import os
import shutil
import subprocess
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from ingest import runs
from ingest.digest import digest
from ingest.errors import LibraryError
from ingest.ledger import collections
from ingest.removal import remove_collection
from ingest.verify import verify
from tests.support.libraries import LONG, Game, add, random_games, write

Mount = Callable[[str], Path]


@pytest.fixture
def mount(tmp_path: Path) -> Iterator[Mount]:
    """Mounts a disk with some options."""
    disk = tmp_path / "disk"
    disk.mkdir()

    def mounted(options: str) -> Path:
        words = ["mount", "-t", "tmpfs", "-o", options, "tmpfs", str(disk)]
        tried = shutil.which("mount") and subprocess.run(words, check=False, capture_output=True)
        if not tried or tried.returncode:
            pytest.skip("no right to mount a small disk")
        return disk

    yield mounted
    if os.path.ismount(disk):
        subprocess.run(["umount", str(disk)], check=True)


def refused(library: Path, file: Path, words: str) -> None:
    """An `add` ends in one line, the library is as before, and nothing lies beside it."""
    before, beside = digest(library), sorted(os.listdir(library.parent))
    with pytest.raises(LibraryError, match=words) as error:
        add(library, file)
    assert str(error.value).startswith(f"{library}: ")
    assert "\n" not in str(error.value)
    assert digest(library) == before
    assert sorted(os.listdir(library.parent)) == beside
    assert verify(library).problems == ()


def test_a_disk_that_fills_up_while_the_library_is_written_anew(
    mount: Mount, tmp_path: Path
) -> None:
    """The old file stays."""
    library = mount("size=5m") / "library"
    file = tmp_path / "a.pgn"
    file.write_text(random_games(1, 300))
    add(library, file)
    before = digest(library)
    free = shutil.disk_usage(library.parent).free
    (library.parent / "filler").write_bytes(bytes(free - (256 << 10)))
    with pytest.raises(LibraryError, match="disk is full"):
        runs.tidy(library, rewrite=True)
    assert sorted(os.listdir(library.parent)) == ["filler", "library"]
    assert digest(library) == before


def test_a_disk_that_is_full_from_the_start(mount: Mount, tmp_path: Path) -> None:
    """No library is made, and none is left half made."""
    disk = mount("size=1m")
    (disk / "filler").write_bytes(bytes(1 << 20))
    with pytest.raises(LibraryError, match="disk is full"):
        add(disk / "library", write(tmp_path / "a.pgn", Game()))
    assert os.listdir(disk) == ["filler"]


def test_a_read_only_disk_can_be_read_from(mount: Mount, tmp_path: Path) -> None:
    disk = mount("size=9m")
    library = disk / "library"
    add(library, write(tmp_path / "a.pgn", Game()))
    subprocess.run(["mount", "-o", "remount,ro", str(disk)], check=True)
    refused(library, write(tmp_path / "b.pgn", Game(moves=LONG + " d5")), "cannot be written there")
    with pytest.raises(LibraryError, match="cannot be written there"):
        remove_collection(library, "club")
    assert collections(library)[0].games == 1


@contextmanager
def nobody() -> Iterator[None]:
    """Without the rights of root, whom no permission stops."""
    root = os.geteuid() == 0
    if root:
        os.seteuid(65534)
    try:
        yield
    finally:
        if root:
            os.seteuid(0)


@pytest.mark.skipif(not hasattr(os, "geteuid"), reason="permissions are others there")
@pytest.mark.parametrize(
    ("folder_mode", "words"), [(0o777, "no permission to write"), (0o555, "cannot be written")]
)
def test_a_library_that_is_not_ours_to_change(folder_mode: int, words: str) -> None:
    """In a folder that takes files, or in one that does not."""
    folder = Path(tempfile.mkdtemp())
    try:
        library, file = folder / "library", folder / "a.pgn"
        add(library, write(file, Game()))
        write(file, Game(moves=LONG + " d5"))
        library.chmod(0o444)
        folder.chmod(folder_mode)
        with nobody():
            refused(library, file, words)
            assert collections(library)[0].games == 1
    finally:
        folder.chmod(0o777)
        shutil.rmtree(folder)
