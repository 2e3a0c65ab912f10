"""What went from a library to a dataset or back, as text."""

from __future__ import annotations

from pathlib import Path

from explorer.report.words import count
from ingest.parquet import Moved


def exported_text(moved: Moved, folder: Path) -> str:
    """What was written, and what to do with it."""
    size = (moved.bytes or 0) / 1_000_000
    return (
        f"{_held(moved)} in {count(moved.parts, 'part')}, {size:,.1f} MB.\n"
        f"Dataset: {folder}\n"
        f"Ask it:  replybook replies e4 e5 --dataset {folder}"
    )


def made_text(moved: Moved, library: Path) -> str:
    """What the new library holds."""
    return f"{_held(moved)}, all as they were.\nLibrary: {library}"


def _held(moved: Moved) -> str:
    return f"{count(moved.games, 'game')} and {count(moved.visits, 'visit')}"
