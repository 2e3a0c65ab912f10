"""What DuckDB raises -> our errors, one line each: the one place where that is done."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import duckdb

from ingest.errors import (
    NO_MEMORY,
    LibraryBusy,
    LibraryDamaged,
    LibraryError,
    LibraryMissing,
    LibraryVersion,
)

MISSING = "there is no library yet; make one with: replybook add FILES --collection NAME"
_KNOWN: tuple[tuple[type[LibraryError], tuple[str, ...], str], ...] = (
    (
        LibraryMissing,
        ("database does not exist", "No such file or directory"),
        MISSING,
    ),
    (
        LibraryBusy,
        (
            "Could not set lock on file",
            "being used by another process",
            "different configuration than existing connections",
        ),
        "another process has the library open; try again when it has ended",
    ),
    (
        LibraryDamaged,
        ("not a valid DuckDB database", "Is a directory", "Table with name meta does not exist"),
        "this is not a Replybook library; give the path of one with --library",
    ),
    (
        LibraryVersion,
        ("Trying to read a database file with version number",),
        "a newer program wrote this library; install the newest version: "
        "pip install --upgrade replybook",
    ),
    (
        LibraryDamaged,
        ("Corrupt database file", "Could not read enough bytes", "Failed to deserialize"),
        "the library's file is damaged; move it away and add the PGN files to a new one",
    ),
    (
        LibraryError,
        ("No space left on device", "There is not enough space on the disk", "[Errno 28]"),
        "the disk is full; what was finished is kept, nothing is half done; "
        "free some space and run the command again",
    ),
    (
        LibraryError,
        (
            "Permission denied",
            "Read-only file system",
            "Access is denied",
            "Operation not permitted",
        ),
        "no permission to write there; choose another place with --library",
    ),
)


@contextmanager
def driver_errors(path: Path | str) -> Iterator[None]:
    """Turn what DuckDB raises about the library into one of our errors, one line each."""
    try:
        yield
    except (duckdb.InterruptException, RuntimeError) as error:
        # How DuckDB passes on Ctrl-C when it is at work itself.
        if isinstance(error, duckdb.InterruptException) or "Query interrupted" in str(error):
            raise KeyboardInterrupt from error
        if "can't start new thread" in str(error):
            raise LibraryError(f"{path}: {NO_MEMORY}") from error
        raise
    except (duckdb.Error, OSError, MemoryError) as error:
        if isinstance(error, duckdb.InvalidInputException) and "KeyboardInterrupt" in str(error):
            raise KeyboardInterrupt from error  # in a function of ours that DuckDB calls
        ours = _translated(path, error)
        if ours is None:
            raise
        raise ours from error


def _translated(path: Path | str, error: Exception) -> LibraryError | None:
    """Our error for the driver's; None for a mistake of our own, which keeps its traceback."""
    text = " ".join(str(error).split())
    for kind, phrases, sentence in _KNOWN:
        if any(phrase in text for phrase in phrases):
            return kind(f"{path}: {sentence}")
    if isinstance(error, duckdb.OutOfMemoryException | MemoryError):
        return LibraryError(f"{path}: {NO_MEMORY}")
    if isinstance(error, duckdb.ProgrammingError | duckdb.DataError | duckdb.NotSupportedError):
        return None
    return LibraryError(f"{path}: the database reports: {text[:200]}; run: replybook verify")
