"""What the command's exit code says."""

from __future__ import annotations

from enum import IntEnum

from ingest.errors import InputError, LibraryError, NothingFound, ReplybookError


class Exit(IntEnum):
    """The exit codes, the same for every command."""

    DONE = 0
    NOTHING_FOUND = 1
    USAGE = 2
    BAD_INPUT = 3
    LIBRARY_TROUBLE = 4
    INTERRUPTED = 130


def exit_for(error: ReplybookError) -> Exit:
    """The exit code of one of our errors."""
    if isinstance(error, NothingFound):
        return Exit.NOTHING_FOUND
    if isinstance(error, InputError):
        return Exit.BAD_INPUT
    if isinstance(error, LibraryError):
        return Exit.LIBRARY_TROUBLE
    return Exit.USAGE
