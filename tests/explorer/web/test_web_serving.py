"""The server: on this computer only, at the next free port, stopped by Ctrl-C."""

from __future__ import annotations

import http.client
import os
import signal
import socket
import subprocess
import sys
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from urllib.parse import urlsplit

import pytest

from explorer.cli import browsing
from explorer.cli.main import main
from explorer.web import serving
from explorer.web.serving import listening
from ingest import locks, schema
from ingest.errors import InputError

# As many pairs as take hours to count.
ENDLESS = "SELECT count(*) FROM range(10000000) a, range(10000000) b WHERE a.range + b.range = 3"
PROGRAM = [sys.executable, "-c", "from explorer.cli.main import run; run()"]


@pytest.fixture
def taken() -> Iterator[int]:
    """A port that another program has."""
    with socket.create_server(("127.0.0.1", 0)) as other:
        yield other.getsockname()[1]


def test_only_this_computer_is_listened_to() -> None:
    with listening(0) as place:
        assert place.getsockname()[0] == "127.0.0.1"


def test_a_taken_port_leads_to_the_next_free_one(taken: int) -> None:
    with listening(taken) as place:
        assert taken < place.getsockname()[1] <= taken + serving.TRIED


def test_where_no_port_is_free_one_line_says_so(
    taken: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(serving, "TRIED", 1)
    with pytest.raises(InputError, match="choose another with --port"):
        listening(taken)


def test_a_port_that_cannot_be_had_for_another_reason_says_which(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def refuse(port: int) -> socket.socket:
        raise OSError(99, "Cannot assign requested address")

    monkeypatch.setattr(serving, "_bound", refuse)
    with pytest.raises(InputError, match="Cannot assign"):
        listening(8765)


def test_the_command_serves_until_ctrl_c(library: Path, taken: int) -> None:
    """It prints its address and nothing else, says that the port was taken, and ends with 130."""
    words = [*PROGRAM, "browse", "e4", "e5", "--no-open", "--port", str(taken)]
    server = subprocess.Popen(
        [*words, "--library", str(library)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        creationflags=getattr(subprocess, "CREATE_NEW_PROCESS_GROUP", 0),
    )
    assert server.stdout
    address = server.stdout.readline().strip()
    there = urlsplit(address)
    assert (there.hostname, there.path, there.query) == ("127.0.0.1", "/position", "line=e4+e5")
    with closing(http.client.HTTPConnection(there.netloc, timeout=60)) as connection:
        connection.request("GET", f"{there.path}?{there.query}")
        answer = connection.getresponse()
        assert answer.status == 200
        assert "server" not in answer.headers
        assert "43 games by" in answer.read().decode()
    server.send_signal(getattr(signal, "CTRL_BREAK_EVENT", signal.SIGINT))
    out, said = server.communicate(timeout=60)
    assert out == ""
    assert f"Port {taken} is taken; using {there.port}." in said
    assert said.endswith("Stopped.\n")
    assert "Traceback" not in said
    assert server.returncode == 130


def test_ctrl_c_ends_a_question_that_is_being_asked(library: Path) -> None:
    """Nobody waits for an answer that takes hours."""
    code = (
        "import sys\n"
        "from explorer.cli.main import main\n"
        "from explorer.web import app\n"
        "def endless(desk, request):\n"
        "    with desk.library.reading() as (cursor, _):\n"
        "        print('asked', flush=True)\n"
        f"        cursor.execute({ENDLESS!r}).fetchall()\n"
        "app.PAGES['/class'] = endless\n"
        "sys.exit(main(sys.argv[1:]))\n"
    )
    words = [sys.executable, "-c", code, "browse", "--no-open", "--library", str(library)]
    with subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as it:
        assert it.stdout
        there = urlsplit(it.stdout.readline().strip())
        with closing(http.client.HTTPConnection(there.netloc, timeout=60)) as connection:
            connection.request("GET", "/class")
            assert it.stdout.readline() == "asked\n"
            it.send_signal(signal.SIGINT)
            _, said = it.communicate(timeout=60)
    assert said.endswith("Stopped.\n")
    assert "Traceback" not in said
    assert it.returncode == 130


@pytest.fixture
def started(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """What the command did, without serving anything: addresses that it opened."""
    opened: list[str] = []
    monkeypatch.setattr(serving, "serve", lambda app, place: None)
    monkeypatch.setattr("webbrowser.open", opened.append)
    monkeypatch.setattr(browsing.threading, "Thread", Now)
    return opened


class Now:
    """A thread that runs at once."""

    def __init__(self, target: object, args: tuple[str, ...], daemon: bool) -> None:
        assert daemon
        self.start = lambda: target(*args)  # type: ignore[operator]


def test_the_browser_is_opened(
    library: Path, started: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["browse", "--library", str(library)]) == 0
    assert started == [capsys.readouterr().out.strip()]


def test_the_browser_is_not_opened_when_told_so(library: Path, started: list[str]) -> None:
    assert main(["browse", "--no-open", "--library", str(library)]) == 0
    assert started == []


def test_a_library_that_is_being_added_to_is_no_hindrance(
    library: Path,
    tmp_path: Path,
    started: list[str],
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.setattr(schema, "READER_PATIENCE", 0.1)
    monkeypatch.setattr(locks, "holder", lambda path: os.getppid())
    assert main(["browse", "--library", str(library)]) == 0
    assert "games are being added" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (["--library", "nowhere"], 4, "no library yet"),
        (["--lessons", "nowhere"], 3, "no such folder"),
        (["--port", "80"], 2, "whole number from 1024"),
        (["e4", "e9"], 2, "not a move"),
        (["--host", "0.0.0.0"], 2, "no such option"),
    ],
)
def test_what_cannot_be_served_is_said_in_one_line(
    library: Path,
    words: list[str],
    code: int,
    said: str,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.setenv("REPLYBOOK_LIBRARY", str(library))
    assert main(["browse", "--no-open", *words]) == code
    error = capsys.readouterr().err
    assert said in error
    assert error.count("\n") == 1
