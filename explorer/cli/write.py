"""An answer in the format that was asked for, on the screen or in a file."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from explorer.cli.console import deliver
from explorer.cli.options import Format, chosen_format, one_separator

if TYPE_CHECKING:
    from explorer.report.tables import Table


def write_table(
    table: Table,
    choice: Format | None,
    target: Path | None,
    separator: str,
    as_json: Callable[[], str] | None = None,
) -> None:
    """Write a table; as JSON by its own contract where there is one, else row by row."""
    from explorer.report import formats

    match chosen_format(choice, target):
        case Format.TABLE:
            deliver(formats.to_text(table), target)
        case Format.CSV:
            deliver(formats.to_csv(table, separator=one_separator(separator)), target)
        case Format.MARKDOWN:
            deliver(formats.to_markdown(table), target)
        case Format.JSON:
            deliver(as_json() if as_json else formats.to_json(table), target)
