"""What an `add` did, the collections, the rejected games and a check, as text and tables."""

from __future__ import annotations

import json
import textwrap
from collections import Counter
from collections.abc import Sequence
from dataclasses import asdict, fields
from itertools import groupby
from pathlib import Path

from explorer.report.formats import WIDTH
from explorer.report.tables import Table, plain_table
from explorer.report.words import clean, count, listed
from ingest.ledger import Collection, Reject
from ingest.loader import Counts
from ingest.pipeline import AddReport, FileReport
from ingest.removal import Removal
from ingest.verify import Twin, VerifyReport

_COUNTS = tuple(field.name for field in fields(Counts))
SHOWN_FILES = 20
EXCERPT_SHOWN = 60


def add_json(report: AddReport) -> str:
    """One object: ``files[]`` with their counts, then the same counts in all.

    Beside the counts a file says whether it was already in, its encoding, and
    why nothing of it was kept, if so. The text is ASCII, so that no console's
    encoding can spoil it.
    """
    files = [asdict(file) for file in report.files]
    return json.dumps({"files": files, **asdict(report.totals)}, indent=2)


def add_summary(report: AddReport, held: str) -> str:
    """The closing summary: file by file, the sum, the first rejected games, and where all is."""
    lines = [_file_line(file) for file in report.files[:SHOWN_FILES]]
    if more := len(report.files) - SHOWN_FILES:
        lines += [f"... and {count(more, 'more file')}"] if more > 0 else []
    lines.append(f"In all: {_counts(report.totals)}")
    if report.first_rejects:
        lines.append("Rejected:")
        lines += [
            f"  {clean(one.file)}, game {one.game_number}, line {one.line}: {clean(one.reason)}"
            for one in report.first_rejects
        ]
    return "\n".join([*lines, held] if held else lines)


def library_text(library: Path, report: AddReport) -> str:
    """Where the rest of the ledger is, and the library, unless nothing came into it."""
    told = report.totals.rejected or report.totals.cut_short or report.totals.duplicates
    lines = ["See them all: replybook rejects"] if told else []
    if not all(file.error for file in report.files):
        lines.append(f"Library: {library}, collection: {clean(report.collection)}")
    return "\n".join(lines)


def _file_line(file: FileReport) -> str:
    name = clean(file.name)
    if file.error:
        return f"{name}: nothing kept"
    if file.already_in:
        return f"{name}: already in"
    return f"{name}: {_counts(file)}"


def _counts(counted: FileReport | Counts) -> str:
    """``12 found = 9 added + 2 duplicates + 1 rejected + 0 left out; 3 of them cut short``."""
    value = {name: f"{getattr(counted, name):,}" for name in _COUNTS}
    text = (
        f"{value['found']} found = {value['added']} added + {value['duplicates']} duplicates"
        f" + {value['rejected']} rejected + {value['left_out']} left out"
    )
    return text + (f"; {value['cut_short']} of the added cut short" if counted.cut_short else "")


def collections_table(collections: Sequence[Collection]) -> Table:
    """The collections, one a row."""
    heads = ("Collection", "Games", "Players", "Files", "Rejected", "From", "To")
    rows = [
        (c.name, c.games, c.players, c.files, c.rejected, _year(c.first), _year(c.last))
        for c in collections
    ]
    empty = "No games yet; add some with: replybook add FILES --collection NAME"
    return plain_table("Collections", heads, rows, () if rows else (empty,))


def _year(year: int | None) -> str | None:
    return None if year is None else str(year)


def rejects_text(rejects: Sequence[Reject]) -> str:
    """The ledger's lines about single games, file by file, to be read."""
    if not rejects:
        return "Nothing was rejected, cut short or found twice."
    kinds = Counter("found twice" if r.kind == "duplicate" else r.kind for r in rejects)
    lines = [f"Games: {listed([f'{kinds[kind]:,} {kind}' for kind in sorted(kinds)])}."]
    for (collection, file), found in groupby(rejects, lambda r: (r.collection, r.file)):
        lines += ["", f'{clean(file)}, in "{clean(collection)}":']
        for reject in found:
            where = f"  game {reject.game_number:,}, line {reject.line:,}, {reject.kind}: "
            lines.append(_wrapped(where + clean(reject.reason)))
    return "\n".join(lines)


def _wrapped(line: str) -> str:
    """A line in several of 80 columns at most, but for long words such as paths."""
    return textwrap.fill(
        line, WIDTH, subsequent_indent="    ", break_long_words=False, break_on_hyphens=False
    )


def rejects_table(rejects: Sequence[Reject]) -> Table:
    """The same lines, one a row, with the beginning of the game's text."""
    heads = ("Collection", "File", "Game", "Line", "What", "Reason", "Begins")
    rows = [
        (r.collection, r.file, r.game_number, r.line, r.kind, r.reason, r.excerpt[:EXCERPT_SHOWN])
        for r in rejects
    ]
    return plain_table("Games that were rejected, cut short, found twice or noted", heads, rows)


def removal_question(collection: Collection) -> str:
    """``Remove club 2026 with its 1,234 games?``"""
    return f"Remove {clean(collection.name)} with its {count(collection.games, 'game')}?"


def removal_text(name: str, removal: Removal) -> str:
    """What `remove` did, in a line."""
    kept = f", {removal.kept:,} kept because another collection has them" if removal.kept else ""
    return f"Removed {clean(name)}: {count(removal.games, 'game')} deleted{kept}."


def verify_text(report: VerifyReport) -> str:
    """What `verify` found, in lines."""
    lines = [
        f"{count(report.games, 'game')} and {count(report.visits, 'visit')} checked, "
        f"{count(report.replayed, 'game')} replayed."
    ]
    lines += [f"Wrong: {problem}" for problem in report.problems] or ["The library is sound."]
    if report.twins_in_all:
        lines.append(
            f"{count(report.twins_in_all, 'pair')} of games may be one game written twice "
            "(same players and date, one begins the other):"
        )
        lines += [_twin_line(twin) for twin in report.twins]
    return "\n".join(lines)


def _twin_line(twin: Twin) -> str:
    moves = [(plies + 1) // 2 for plies in (twin.plies, twin.other_plies)]
    players = f"{clean(twin.white)} - {clean(twin.black)}"
    return f"  {players}, {twin.date}: {moves[0]} moves and {moves[1]} moves"
