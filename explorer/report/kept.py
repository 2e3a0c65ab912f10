"""The command that a page keeps, so that it can be made again."""

from __future__ import annotations

import shlex
from html.parser import HTMLParser
from pathlib import Path

from ingest.errors import InputError

HEAD = 1 << 16  # bytes; the words stand in the first few


class _Metas(HTMLParser):
    """The named metas of a page's head."""

    def __init__(self) -> None:
        super().__init__()
        self.found: dict[str, str] = {}
        self.in_head = True

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        values = dict(attrs)
        self.in_head = self.in_head and tag != "body"
        if tag == "meta" and self.in_head and values.get("name"):
            self.found.setdefault(str(values["name"]), values.get("content") or "")


def kept_command(page: Path) -> tuple[str, ...] | None:
    """The words of a page's command, after the program's name; None for a page that is not ours.

    Empty where the page keeps none: its command has a name that it hides. The words are
    whatever the file says: nothing has checked them. InputError when it cannot be read.
    """
    try:
        with page.open("rb") as file:
            head = file.read(HEAD).decode("utf-8", "replace")
    except OSError as error:
        raise InputError(f"{page}: cannot be read ({error.strerror}); check it") from error
    metas = _Metas()
    metas.feed(head)
    if metas.found.get("generator") != "Replybook":
        return None
    try:
        return tuple(shlex.split(metas.found.get("replybook-command", "")))
    except ValueError as error:
        raise InputError(f"its command cannot be read ({str(error).lower()})") from error
