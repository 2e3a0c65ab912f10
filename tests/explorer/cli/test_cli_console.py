"""What the console does when a stream is gone, full or cannot show a character."""

from __future__ import annotations

import errno
import io
import sys
from pathlib import Path

import pytest

from explorer.cli import console, main
from explorer.cli.exits import Exit
from ingest.errors import InputError


class Refusing(io.StringIO):
    """A stream whose other side refuses, with its own file below."""

    def __init__(self, number: int, below: Path) -> None:
        super().__init__()
        self.number, self.below = number, below.open("wb")

    def flush(self) -> None:
        raise OSError(self.number, "refused")

    def fileno(self) -> int:
        return self.below.fileno()


@pytest.fixture
def refuse(monkeypatch: pytest.MonkeyPatch, tmp_path: Path):
    """Puts a refusing stream in the place of standard output."""
    made: list[Refusing] = []

    def put(number: int) -> None:
        made.append(Refusing(number, tmp_path / "below"))
        monkeypatch.setattr(sys, "stdout", made[-1])

    yield put
    for stream in made:
        stream.below.close()


@pytest.mark.parametrize("number", [errno.EPIPE, errno.EINVAL])
def test_a_closed_pipe_is_told_as_one_on_every_system(refuse, number: int) -> None:
    refuse(number)
    with pytest.raises(BrokenPipeError):
        console.show("data")


def test_a_full_place_is_told_in_words(refuse) -> None:
    refuse(errno.ENOSPC)
    with pytest.raises(InputError, match=r"standard output: cannot be written \(refused\); send"):
        console.show("data")


def test_a_broken_pipe_ends_the_command_well(replybook, refuse) -> None:
    refuse(errno.EPIPE)
    assert main.main(["--version"]) == Exit.DONE


def test_an_interrupt_is_one_line_and_130(replybook, complains, monkeypatch) -> None:
    def interrupt(_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(main, "library_path", interrupt)
    said = replybook()
    complains(said, Exit.INTERRUPTED, "Interrupted: what was finished is kept, nothing is half")
    assert Exit.INTERRUPTED == 130


def test_streams_that_are_not_there_are_replaced(monkeypatch: pytest.MonkeyPatch) -> None:
    """A program without a console has none."""
    monkeypatch.setattr(sys, "stdout", None)
    monkeypatch.setattr(sys, "stderr", io.StringIO())
    console.prepare()
    console.show("data")
    sys.stdout.close()


def test_what_a_console_cannot_show_is_a_question_mark(monkeypatch: pytest.MonkeyPatch) -> None:
    below = io.BytesIO()
    monkeypatch.setattr(sys, "stdout", io.TextIOWrapper(below, encoding="cp1252"))
    console.prepare()
    console.show("Łódź – ½")
    assert below.getvalue() == "?ód? – ½\n".encode("cp1252")
    console.show("Łódź", utf8=True)
    assert below.getvalue().endswith("Łódź\n".encode())


def test_text_in_a_stream_without_encoding_is_written_as_it_is(monkeypatch) -> None:
    monkeypatch.setattr(sys, "stdout", io.StringIO())
    console.show("data\n", utf8=True)
    assert sys.stdout.getvalue() == "data\n"
