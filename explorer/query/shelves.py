"""What the library was made of: its collections, the files that were read, what was rejected."""

from __future__ import annotations

from dataclasses import dataclass

from explorer.query.library import Library
from ingest.ledger import Collection, ReadFile, Reject, collections_of, files_of, rejects_of

MOST_FILES = 200
AT_ONCE = 100  # lines of the ledger


@dataclass(frozen=True, slots=True)
class Shelves:
    """The collections, the files (at most MOST_FILES, ``more_files`` otherwise), and the people
    after whom collections are named."""

    collections: tuple[Collection, ...]
    files: tuple[ReadFile, ...]
    more_files: bool
    people: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Rejected:
    """Lines of the ledger about single games, from number ``skip`` on; ``more`` follow."""

    lines: tuple[Reject, ...]
    skip: int
    more: bool
    people: tuple[str, ...]


def shelves(library: Library) -> Shelves:
    """What the library was made of."""
    with library.reading() as (cursor, facts):
        files = files_of(cursor, MOST_FILES + 1)
        return Shelves(
            tuple(collections_of(cursor)),
            tuple(files[:MOST_FILES]),
            len(files) > MOST_FILES,
            facts.people,
        )


def rejected(library: Library, collection: str | None = None, skip: int = 0) -> Rejected:
    """What the ledger says of single games, AT_ONCE of them. UsageError for a collection that
    there is not."""
    with library.reading() as (cursor, facts):
        lines = rejects_of(cursor, collection, AT_ONCE + 1, skip)
        return Rejected(tuple(lines[:AT_ONCE]), skip, len(lines) > AT_ONCE, facts.people)
