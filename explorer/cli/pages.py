"""A page instead of a table: when, under which name, with which options, and where it goes."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from explorer.cli import console
from explorer.cli.command_line import as_typed, typed
from explorer.cli.options import Format, Names, Side, is_page
from explorer.cli.place import page_name
from ingest.errors import UsageError

if TYPE_CHECKING:
    from explorer.report.sheet import PageOptions


def page_target(output: Path | None, format: Format | None, open: bool, *parts: str) -> Path | None:
    """The page's file where a page is asked for, by its ending or by ``--open``; else None.

    A page without a name gets one of the ``parts``.
    """
    if format is None and is_page(output):
        return output
    if not open:
        return None
    if output is not None or format is not None:
        raise UsageError("--open: only a page can be opened; name it with -o FILE.html")
    return page_name(*parts)


def page_options(names: Names, view: Side, letters: str | None, large: bool = False) -> PageOptions:
    """The options of a page made now by the running command."""
    from explorer.report.sheet import PageOptions

    return PageOptions(
        command=as_typed(),
        made_on=date.today(),
        view=view.value,
        names=names.value,
        letters=letters,
        large=large,
        words=typed(),
    )


def deliver_page(text: str, target: Path, open: bool) -> None:
    """Write a page, print its path, and show it when asked."""
    from explorer.report.files import write_text

    write_text(target, text)
    console.show(str(target))
    if open:
        console.open_page(target)
