"""An answer in the format that was asked for, on the screen or in a file."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from explorer.cli.console import deliver
from explorer.cli.options import Format, chosen_format, one_separator
from ingest.errors import UsageError

if TYPE_CHECKING:
    from explorer.report.tables import Table


@dataclass(frozen=True, slots=True)
class Outlet:
    """Where an answer goes, None being the screen, and in which format."""

    target: Path | None
    format: Format
    separator: str

    def write(
        self,
        table: Table,
        as_json: Callable[[], str] | None = None,
        as_text: Callable[[], str] | None = None,
        more: Sequence[Table] = (),
    ) -> None:
        """Write a table; as JSON and as text in a form of its own where there is one.

        A reader gets the tables of ``more`` below it; a table file has only the first.
        """
        from explorer.report import formats

        match self.format:
            case Format.TABLE:
                text = "\n".join(map(formats.to_text, (table, *more)))
                deliver(as_text() if as_text else text, self.target)
            case Format.CSV:
                text = formats.to_csv(table, separator=self.separator)
                deliver(text, self.target, utf8=True)
            case Format.MARKDOWN:
                deliver("\n".join(map(formats.to_markdown, (table, *more))), self.target)
            case Format.JSON:
                deliver(as_json() if as_json else formats.to_json(table), self.target)


def outlet(
    target: Path | None, choice: Format | None, separator: str, page: str = "report"
) -> Outlet:
    """What the options say. UsageError when they cannot be meant, before anything is asked.

    ``page`` is the command that makes a page of the same.
    """
    return Outlet(target, chosen_format(choice, target, page), one_separator(separator))


def checked_pgn(target: Path) -> Path:
    """The name of a PGN file. UsageError for another: a word of the position, most likely."""
    if target.suffix.lower() != ".pgn":
        raise UsageError(f"--pgn {target}: not the name of a PGN file; write for example games.pgn")
    return target
