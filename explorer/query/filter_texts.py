"""Filters as people write them: texts -> `Filters`, and back."""

from __future__ import annotations

import re
from calendar import monthrange
from collections.abc import Iterator
from datetime import date

from explorer.query.filters import Filters
from ingest.errors import UsageError
from ingest.levels import DEFAULT_CUTS


def parse_day(text: str, *, last: bool) -> date:
    """``2025``, ``2025-09`` or ``2025-09-14`` (also with dots); the last day of a vague one
    when ``last``, else its first. UsageError for what is no date."""
    match = re.fullmatch(r"(\d{4})(?:[-./](\d{1,2}))?(?:[-./](\d{1,2}))?", text.strip())
    if match:
        year = int(match[1])
        month = int(match[2] or (12 if last else 1))
        try:
            day = int(match[3] or (monthrange(year, month)[1] if last else 1))
            return date(year, month, day)
        except ValueError:
            pass
    raise UsageError(f"date {text!r}: not a date; write 2025-09-14, 2025-09 or 2025")


def options_of(filters: Filters) -> Iterator[tuple[str, str]]:
    """The options of a command that say the filters, without their dashes, as they are typed.

    ``by`` is among them; what was left out is not.
    """
    yield from (("level", level.typed) for level in filters.levels)
    yield from (("opponents", level.typed) for level in filters.opponents)
    if filters.cuts != DEFAULT_CUTS:
        yield "bands", ",".join(map(str, filters.cuts))
    yield from (("pace", pace) for pace in filters.pace)
    if filters.since:
        yield "since", filters.since.isoformat()
    if filters.until:
        yield "until", filters.until.isoformat()
    yield from (("collection", name) for name in filters.collections)
    if filters.player is not None:
        yield "player", filters.player
    if filters.side:
        yield "as", filters.side
    if filters.min_games > 1:
        yield "min-games", str(filters.min_games)
    if filters.top is not None:
        yield "top", str(filters.top)
    if filters.by != "level":
        yield "by", filters.by
