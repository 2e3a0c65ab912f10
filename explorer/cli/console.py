"""Standard output is data, standard error is talk. The only module that prints."""

from __future__ import annotations

import sys
from pathlib import Path

from ingest.errors import InputError


def prepare() -> None:
    """Let no character stop a command: a console that cannot show one gets a ``?``."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")


def show(text: str) -> None:
    """Data, to standard output."""
    sys.stdout.write(text if text.endswith("\n") else text + "\n")


def say(line: str) -> None:
    """Talk, to standard error: one line, whatever it holds."""
    clean = "".join(char if char.isprintable() else " " for char in line)
    sys.stderr.write(clean + "\n")
    sys.stderr.flush()


def deliver(text: str, target: Path | None) -> None:
    """Data, to standard output or, said on standard error, to a file."""
    if target is None:
        show(text)
        return
    from explorer.report.files import write_text

    write_text(target, text)
    say(f"Written: {target}")


def confirmed(question: str) -> bool:
    """Ask on standard error. Without a terminal to answer, InputError."""
    if not sys.stdin.isatty():
        raise InputError(f"{question} Nobody is here to answer: add --yes to do it")
    sys.stderr.write(f"{question} [y/N] ")
    sys.stderr.flush()
    return sys.stdin.readline().strip().lower() in {"y", "yes"}


def open_page(page: Path) -> None:
    """Show a page in the person's browser."""
    import webbrowser

    webbrowser.open(page.resolve().as_uri())
