"""Standard output is data, standard error is talk. The only module that prints."""

from __future__ import annotations

import errno
import os
import sys
from pathlib import Path

from ingest.errors import InputError, UsageError


def prepare() -> None:
    """Let no character stop a command: a console that cannot show one gets a ``?``."""
    for name in ("stdout", "stderr"):
        if getattr(sys, name) is None:  # closed by whoever started us
            setattr(sys, name, open(os.devnull, "w", encoding="utf-8"))  # noqa: SIM115
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")


def show(text: str, *, utf8: bool = False) -> None:
    """Data, to standard output; ``utf8`` whatever the console's own encoding.

    BrokenPipeError when the reader has gone, InputError when the place it is
    sent to takes no more.
    """
    if utf8 and hasattr(sys.stdout, "reconfigure"):
        sys.stdout.reconfigure(encoding="utf-8")
    try:
        sys.stdout.write(text if text.endswith("\n") else text + "\n")
        sys.stdout.flush()
    except OSError as error:
        if error.errno in (errno.EPIPE, errno.EINVAL):  # the latter is how Windows says it
            raise BrokenPipeError from error
        hush()
        raise InputError(
            f"standard output: cannot be written ({error.strerror}); send it to another place"
        ) from error


def hush() -> None:
    """Write no more to standard output, so that Python does not try again at exit."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def say(line: str) -> None:
    """Talk, to standard error: one line, whatever it holds."""
    clean = "".join(char if char.isprintable() else " " for char in line)
    sys.stderr.write(clean + "\n")
    sys.stderr.flush()


def deliver(text: str, target: Path | None, *, utf8: bool = False) -> None:
    """Data, to standard output or, said on standard error, to a file (always UTF-8)."""
    if target is None:
        show(text, utf8=utf8)
        return
    from explorer.report.files import write_text

    write_text(target, text if text.endswith("\n") else text + "\n")
    say(f"Written: {target}")


def confirmed(question: str) -> bool:
    """Ask on standard error. Without a terminal to answer, UsageError."""
    if not sys.stdin.isatty():
        raise UsageError(f"{question} No terminal to answer at; add --yes to go ahead")
    sys.stderr.write(f"{question} [y/N] ")
    sys.stderr.flush()
    return sys.stdin.readline().strip().lower() in {"y", "yes"}


def open_page(page: Path) -> None:
    """Show a page in the person's browser."""
    import webbrowser

    webbrowser.open(page.resolve().as_uri())
