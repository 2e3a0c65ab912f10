"""The exceptions of both packages. Standard library only.

    ReplybookError              every error that is not a bug; one line for a person
    |-- UsageError              the words of the command are off            (exit 2)
    |   `-- PositionError       a typed position cannot be read
    |-- InputError              a file or stream cannot be used             (exit 3)
    |   `-- TruncatedInput      a compressed stream ends too early
    |-- NothingFound            the question is fine, the answer is empty   (exit 1)
    `-- LibraryError            the library cannot be used                  (exit 4)
        |-- EngineTrouble       what should read it cannot run, or broke down
        |-- LibraryMissing      there is none yet
        |-- LibraryBusy         another process holds it
        |-- LibrarySlow         the answer takes longer than it may
        |-- LibraryVersion      its schema is older or newer than ours
        `-- LibraryDamaged      it is no library, or its invariants fail

A message names the thing, the cause and what to do next, in that order, and
holds no line break.
"""

SHOWN_NAME = 60  # characters
NO_MEMORY = "not enough memory for this; close other programs and run the command again"


def shown(name: str) -> str:
    """A name as an error's line has room for it."""
    return name if len(name) <= SHOWN_NAME else name[: SHOWN_NAME - 1].rstrip() + "\u2026"


class ReplybookError(Exception):
    """Anything that a person can put right."""


class UsageError(ReplybookError):
    """The words of a command, or the arguments of a call, are off."""


class PositionError(UsageError):
    """A typed position cannot be read."""


class InputError(ReplybookError):
    """A file, folder or stream cannot be used."""


class TruncatedInput(InputError):
    """A compressed stream ends before its end."""


class NothingFound(ReplybookError):
    """The question is fine; no game answers it."""


class LibraryError(ReplybookError):
    """The library cannot be used."""


class EngineTrouble(LibraryError):
    """The engine that should read it cannot run, or has broken down."""


class LibraryMissing(LibraryError):
    """There is no library at the given path."""


class LibraryBusy(LibraryError):
    """Another process holds the library."""


class LibrarySlow(LibraryError):
    """The answer takes longer than it may."""


class LibraryVersion(LibraryError):
    """The library's schema is older or newer than this program's."""


class LibraryDamaged(LibraryError):
    """The file is no library, or its invariants do not hold."""
