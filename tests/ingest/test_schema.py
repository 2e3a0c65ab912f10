"""Making and opening libraries, and what goes wrong with them."""

import os
import subprocess
import sys
import threading
import time
from pathlib import Path

import duckdb
import pytest

from ingest import locks, schema
from ingest.errors import (
    LibraryBusy,
    LibraryDamaged,
    LibraryError,
    LibraryMissing,
    LibraryVersion,
    UsageError,
)


@pytest.fixture
def library(tmp_path: Path) -> Path:
    path = tmp_path / "games.library"
    schema.create(path, 20)
    return path


@pytest.fixture
def impatient(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(schema, "READER_PATIENCE", 0.0)


def test_a_new_library_knows_its_version_its_plies_and_a_secret(library: Path) -> None:
    with schema.open_for_reading(library) as connection:
        meta = schema.read_meta(connection)
    assert meta["schema_version"] == str(schema.SCHEMA_VERSION)
    assert meta["plies"] == "20"
    assert len(bytes.fromhex(meta["fingerprint_key"])) == 32
    assert meta["made_by"].startswith("replybook ")


def test_every_library_has_a_secret_of_its_own(library: Path, tmp_path: Path) -> None:
    schema.create(tmp_path / "other", 20)
    secrets = set()
    for path in (library, tmp_path / "other"):
        with schema.open_for_reading(path) as connection:
            secrets.add(schema.read_meta(connection)["fingerprint_key"])
    assert len(secrets) == 2


def test_making_a_library_makes_its_folder_and_leaves_nothing_else(tmp_path: Path) -> None:
    path = tmp_path / "a" / "b" / "games.library"
    schema.create(path)
    assert os.listdir(path.parent) == [path.name]


@pytest.mark.parametrize("plies", [0, -1, 256])
def test_plies_must_fit_a_byte(tmp_path: Path, plies: int) -> None:
    with pytest.raises(UsageError):
        schema.create(tmp_path / "games.library", plies)


@pytest.mark.parametrize("read_only", [True, False])
def test_every_connection_has_the_settings(library: Path, read_only: bool) -> None:
    with schema.connect(library, read_only=read_only) as connection:
        settings = dict(connection.execute("SELECT name, value FROM duckdb_settings()").fetchall())
    for name in (
        "enable_progress_bar",
        "autoinstall_known_extensions",
        "autoload_known_extensions",
    ):
        assert settings[name] == "false"
    assert settings["threads"] == str(schema.THREADS)
    assert float(settings["memory_limit"].split()[0]) < 400
    assert settings["temp_directory"] not in ("", ".tmp")


@pytest.mark.parametrize("opening", [schema.open_for_reading, schema.open_for_writing])
def test_a_missing_library_says_how_to_make_one(tmp_path: Path, opening: object) -> None:
    with pytest.raises(LibraryMissing, match="replybook add"):
        opening(tmp_path / "none")  # type: ignore[operator]
    assert not (tmp_path / "none").exists()


@pytest.mark.parametrize("text", ["", "hello", "some text\n" * 5000])
def test_a_text_file_is_no_library(tmp_path: Path, text: str) -> None:
    path = tmp_path / "notes.txt"
    path.write_text(text)
    with pytest.raises(LibraryDamaged, match="not a Replybook library"):
        schema.open_for_reading(path)
    assert path.read_text() == text


def test_a_folder_is_no_library(tmp_path: Path) -> None:
    with pytest.raises(LibraryDamaged):
        schema.open_for_reading(tmp_path)


def test_another_database_is_no_library(tmp_path: Path) -> None:
    path = tmp_path / "other.duckdb"
    with duckdb.connect(str(path)) as connection:
        connection.execute("CREATE TABLE meta_of_mine (x INTEGER)")
    with pytest.raises(LibraryDamaged, match="not a Replybook library"):
        schema.open_for_reading(path)


@pytest.mark.parametrize(("version", "cure"), [("0", "replybook add"), ("99", "upgrade")])
def test_another_version_is_refused_with_both_numbers(
    library: Path, version: str, cure: str
) -> None:
    with schema.connect(library) as connection:
        connection.execute("UPDATE meta SET value = ? WHERE name = 'schema_version'", [version])
    with pytest.raises(LibraryVersion, match=cure) as refused:
        schema.open_for_reading(library)
    assert f"schema {version}" in str(refused.value)
    assert f"reads {schema.SCHEMA_VERSION}" in str(refused.value)


def test_a_file_cut_off_is_damaged(library: Path) -> None:
    size = library.stat().st_size
    with library.open("r+b") as file:
        file.truncate(size - size // 3)
        file.seek(8192 + 100)
        file.write(b"x" * 4000)
    with pytest.raises(LibraryDamaged, match="damaged"):
        schema.open_for_reading(library)


HOLD = """
import sys
from pathlib import Path
from ingest import schema
with schema.connect(Path(sys.argv[1]), read_only=sys.argv[2] == "read"):
    print("open", flush=True)
    input()
"""


def held_elsewhere(library: Path, how: str) -> "subprocess.Popen[bytes]":
    process = subprocess.Popen(
        [sys.executable, "-c", HOLD, str(library), how],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
    )
    assert process.stdout
    assert process.stdout.readline().strip() == b"open"
    return process


def test_a_library_that_another_process_writes_is_busy(library: Path, impatient: None) -> None:
    with held_elsewhere(library, "write") as process:
        with pytest.raises(LibraryBusy, match="try again"):
            schema.open_for_reading(library)
        process.communicate(b"\n")
    schema.open_for_reading(library).close()


def test_a_library_that_another_process_reads_can_be_read_but_not_written(
    library: Path, impatient: None
) -> None:
    with held_elsewhere(library, "read") as process:
        schema.open_for_reading(library).close()
        with pytest.raises(LibraryBusy):
            schema.open_for_writing(library)
        process.communicate(b"\n")


def test_a_reader_keeps_out_while_the_sidecar_stands(library: Path, impatient: None) -> None:
    with locks.held(library), pytest.raises(LibraryBusy, match="games are being added"):
        schema.open_for_reading(library)


def test_a_reader_waits_for_a_writer_that_ends_in_time(
    library: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(schema, "READER_PATIENCE", 60.0)
    standing, let_go = threading.Event(), threading.Event()

    def write() -> None:
        with locks.held(library):
            standing.set()
            let_go.wait(60)

    writer = threading.Thread(target=write)
    writer.start()
    standing.wait(60)
    monkeypatch.setattr(time, "sleep", lambda _: (let_go.set(), writer.join()))
    schema.open_for_reading(library).close()


def test_a_transaction_that_fails_leaves_nothing(library: Path) -> None:
    with schema.open_for_writing(library) as connection:
        with (  # noqa: PT012
            pytest.raises(KeyboardInterrupt),
            schema.transaction(connection),
        ):
            connection.execute("INSERT INTO collections VALUES (1, 'club')")
            raise KeyboardInterrupt
        assert connection.execute("SELECT * FROM collections").fetchall() == []
        with schema.transaction(connection):
            connection.execute("INSERT INTO collections VALUES (1, 'club')")
        assert connection.execute("SELECT * FROM collections").fetchall() == [(1, "club")]


KILLED = """
import os, signal, sys
from pathlib import Path
from ingest import schema
connection = schema.connect(Path(sys.argv[1]))
connection.execute("INSERT INTO collections VALUES (1, 'club')")
os.kill(os.getpid(), signal.SIGKILL)
"""


@pytest.mark.skipif(sys.platform == "win32", reason="there is no kill -9 there")
def test_the_log_of_a_library_that_is_gone_is_not_taken_for_the_new_ones(library: Path) -> None:
    """As when somebody deletes the library's file after a kill, and begins anew."""
    log = library.with_name(library.name + ".wal")
    subprocess.run([sys.executable, "-c", KILLED, str(library)], check=False)
    assert log.exists()
    library.unlink()
    schema.create(library)
    assert not log.exists()
    with schema.open_for_reading(library) as connection:
        assert connection.execute("FROM collections").fetchall() == []


def test_a_library_that_cannot_be_made_leaves_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """And the error names the library, not what was to become it."""

    def fail(path: Path, _: object) -> None:
        path.write_text("half")
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(schema, "make_tables", fail)
    with pytest.raises(LibraryError, match=r"games\.library: the disk is full"):
        schema.create(tmp_path / "games.library")
    assert list(tmp_path.iterdir()) == []


def test_a_writer_clears_away_what_a_killed_one_left(library: Path) -> None:
    """A half-written copy, and what did not fit into memory."""
    new, spilt = (library.with_name(library.name + end) for end in (".new", ".tmp"))
    new.write_text("half")
    spilt.mkdir()
    (spilt / "duckdb_temp_1").write_text("x")
    with schema.open_for_reading(library):
        assert new.exists()
    with schema.open_for_writing(library):
        assert not new.exists()
        assert not spilt.exists()
