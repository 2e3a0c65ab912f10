"""The command as a process of its own: signals, pipes, consoles, terminals, disks."""

from __future__ import annotations

import contextlib
import os
import shutil
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from explorer.cli.exits import Exit
from ingest import locks
from tests.support.club import CLUB, pgn

POSIX = pytest.mark.skipif(os.name == "nt", reason="needs POSIX signals and devices")
RUN = [sys.executable, "-c", "from explorer.cli.main import run; run()"]


def started(*words: str, **options: object) -> subprocess.Popen[bytes]:
    pipe = subprocess.PIPE
    settings = {"stdin": subprocess.DEVNULL, "stdout": pipe, "stderr": pipe, **options}
    return subprocess.Popen([*RUN, *words], **settings)  # type: ignore[call-overload, no-any-return]


def ended(*words: str, **options: object) -> tuple[int, bytes, str]:
    process = started(*words, **options)
    out, err = process.communicate(timeout=60)
    return process.returncode, out, err.decode()


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "a.pgn"
    path.write_text(pgn(CLUB), "utf-8")
    return path


@contextlib.contextmanager
def adding(tmp_path: Path) -> Iterator[tuple[subprocess.Popen[bytes], list[str]]]:
    """An `add` in the middle of its second file, a pipe that nobody closes yet."""
    pipe, library = tmp_path / "slow.pgn", tmp_path / "library.duckdb"
    os.mkfifo(pipe)
    words = ["--collection", "club", "--library", str(library)]
    with started("add", str(tmp_path / "a.pgn"), str(pipe), *words) as process, pipe.open("wb"):
        # `open` waits until the other side reads; by then the first file is in.
        yield process, words


@POSIX
def test_ctrl_c_in_the_middle_keeps_what_is_finished(file: Path, tmp_path: Path) -> None:
    with adding(tmp_path) as (process, words):
        process.send_signal(signal.SIGINT)
        _, err = process.communicate(timeout=60)
    assert process.returncode == Exit.INTERRUPTED
    assert err.decode() == "Interrupted: what was finished is kept, nothing is half done.\n"
    library = Path(words[-1])
    assert not locks.lock_path(library).exists()
    code, out, _ = ended("verify", "--library", str(library))
    assert (code, out.startswith(b"7 games and ")) == (Exit.DONE, True)
    code, out, _ = ended("add", str(file), *words)
    assert (code, b"already in" in out) == (Exit.DONE, True)


@POSIX
def test_a_second_add_and_a_question_say_that_one_is_running(file: Path, tmp_path: Path) -> None:
    with adding(tmp_path) as (_, words):
        library = words[-1]
        for asked in (["add", str(file), *words], ["collections", "--library", library]):
            code, out, err = ended(*asked)
            assert code == Exit.LIBRARY_TROUBLE
            assert out == b""
            assert err.startswith(f"{library}: games are being added (process ")
            assert err.endswith("); try again when that command has ended\n")
            assert err.count("\n") == 1


@POSIX
@pytest.mark.parametrize("words", [["--help"], ["replies", "--format", "json"]])
def test_a_reader_that_has_seen_enough_is_no_error(club_library: Path, words) -> None:
    """As in ``replybook replies | head``."""
    environment = {**os.environ, "REPLYBOOK_LIBRARY": str(club_library)}
    reader, writer = os.pipe()
    os.close(reader)
    code, _, err = ended(*words, stdout=writer, env=environment)
    os.close(writer)
    assert (code, err) == (Exit.DONE, "")


@POSIX
@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no /dev/full")
def test_an_output_that_takes_no_more_gets_one_line(club_library: Path) -> None:
    with open("/dev/full", "wb") as full:
        code, _, err = ended("replies", "--library", str(club_library), stdout=full)
    assert code == Exit.BAD_INPUT
    assert err == (
        "standard output: cannot be written (No space left on device); send it to another place\n"
    )


@POSIX
def test_closed_streams_are_no_error(club_library: Path) -> None:
    """As in ``replybook verify >&- 2>&-``."""
    command = f"exec {sys.executable} -c '{RUN[2]}' verify --library '{club_library}' >&- 2>&-"
    assert subprocess.run(["sh", "-c", command], check=False).returncode == Exit.DONE


@pytest.mark.parametrize("encoding", ["cp1252", "ascii"])
def test_a_console_that_cannot_show_a_character_shows_a_question_mark(
    club_library: Path, encoding: str
) -> None:
    environment = {
        **os.environ,
        "REPLYBOOK_LIBRARY": str(club_library),
        "PYTHONIOENCODING": encoding,
        "PYTHONUTF8": "0",
    }
    code, out, _ = ended("games", "--names", "full", "--player", "Edda Quill", env=environment)
    assert code == Exit.DONE
    name = "Quill, Édda".encode(encoding, "replace")
    assert name in out
    code, out, err = ended("replies", "Łucja ♞", env=environment)
    assert code == Exit.USAGE
    assert err.startswith("?ucja ?: neither moves")


def test_csv_and_json_are_the_same_bytes_on_every_console(club_library: Path) -> None:
    """Data is UTF-8 whatever the console: a CSV says so by its byte-order mark, JSON is ASCII."""
    for format, first in (("csv", b"\xef\xbb\xbfDate,White"), ("json", b'{\n  "position"')):
        made = [
            ended(
                *("games", "--names", "full", "--format", format, "--library", str(club_library)),
                env={**os.environ, "PYTHONIOENCODING": encoding},
            )[1]
            for encoding in ("cp1252", "utf-8")
        ]
        assert made[0] == made[1]
        assert made[0].startswith(first)


@POSIX
def test_add_on_a_terminal_shows_a_bar_with_games_speed_and_bytes(
    file: Path, tmp_path: Path
) -> None:
    import pty

    ours, theirs = pty.openpty()
    environment = {**os.environ, "TERM": "xterm", "COLUMNS": "100"}
    words = ["add", str(file), "--collection", "c", "--library", str(tmp_path / "l.duckdb")]
    process = started(*words, stderr=theirs, env=environment)
    os.close(theirs)
    shown = b""
    with contextlib.suppress(OSError):  # how Linux says that the other side is closed
        while piece := os.read(ours, 4096):
            shown += piece
    os.close(ours)
    out, _ = process.communicate(timeout=60)
    assert process.returncode == Exit.DONE
    assert b"a.pgn: 7 found = 7 added" in out
    assert b"7 games" in shown
    assert b" a second" in shown
    assert b"kB" in shown or b"bytes" in shown


@POSIX
def test_a_full_disk_gets_one_line_and_keeps_the_library_whole(file: Path, tmp_path: Path) -> None:
    disk = tmp_path / "disk"
    disk.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", "size=4m", "tmpfs", str(disk)]
    if (
        not shutil.which("mount")
        or subprocess.run(mount, capture_output=True, check=False).returncode
    ):
        pytest.skip("no right to mount a small disk")
    try:
        words = ["--collection", "club", "--library", str(disk / "l.duckdb")]
        assert ended("add", str(file), *words)[0] == Exit.DONE
        (tmp_path / "many.pgn").write_text(pgn(CLUB * 400), "utf-8")
        code, out, err = ended("add", str(tmp_path / "many.pgn"), *words)
        assert (code, out) == (Exit.LIBRARY_TROUBLE, b"")
        assert err.endswith("free some space and run the command again\n")
        assert "the disk is full" in err
        assert err.count("\n") == 1
        assert ended("verify", *words[2:])[0] == Exit.DONE
        with contextlib.suppress(OSError):
            (disk / "filler").write_bytes(bytes(2 << 20))
        code, _, err = ended("report", *words[2:], "-o", str(disk / "x.html"))
        assert code == Exit.BAD_INPUT
        assert "x.html: cannot be written: the disk is full; free some space" in err
    finally:
        subprocess.run(["umount", str(disk)], check=True)
