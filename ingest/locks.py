"""The sidecar lock: one `add` (or other change) at a time, and readers see it.

`<library>.lock` holds the number of the process that is changing the library.
It stands for the whole command, while DuckDB's own lock comes and goes with
each file: without it readers would starve the writer. Two that begin in the same
instant may both think that they have it; the one whose number does not stand in
it is refused before it opens the library again.
"""

from __future__ import annotations

import errno
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from ingest.errors import LibraryBusy, LibraryError

_ours: set[Path] = set()  # held by this process


def lock_path(library: Path) -> Path:
    """Where the library's sidecar lies."""
    return library.with_name(library.name + ".lock")


def holder(library: Path) -> int | None:
    """The number of the living process that is changing the library, if any."""
    number = _written(lock_path(library))
    if number is None:
        return None
    if number == os.getpid():  # else left behind by an earlier process of our number
        return number if lock_path(library).resolve() in _ours else None
    return number if _alive(number) else None


def _written(path: Path) -> int | None:
    """The number that stands in a sidecar."""
    try:
        return int(path.read_text("ascii"))
    except (OSError, ValueError):
        return None


def refuse_if_held(library: Path) -> None:
    """LibraryBusy when another command is changing the library just now."""
    if (number := holder(library)) is not None:
        raise LibraryBusy(
            f"{library}: games are being added (process {number}); "
            "try again when that command has ended"
        )


def refuse_if_lost(library: Path) -> None:
    """LibraryBusy when this process held the sidecar and another command has taken it."""
    path = lock_path(library)
    if path.resolve() in _ours and _written(path) != os.getpid():
        raise _just_began(library)


def _just_began(library: Path) -> LibraryBusy:
    return LibraryBusy(f"{library}: another command just began; try again when it has ended")


@contextmanager
def held(library: Path) -> Iterator[None]:
    """Hold the library's sidecar; LibraryBusy when another living process does."""
    path = lock_path(library)
    refuse_if_held(library)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.unlink(missing_ok=True)  # stale, or not there
        won = _make(path)
    except OSError as error:
        raise LibraryError(f"{library}: {_trouble(error)}") from error
    if not won:
        raise _just_began(library)
    _ours.add(path.resolve())
    try:
        yield
    finally:
        _ours.discard(path.resolve())
        if _written(path) == os.getpid():
            with suppress(OSError):
                path.unlink()


def _make(path: Path) -> bool:
    """Write our number into a sidecar that is not there yet; False when another is first."""
    try:
        file = path.open("x", encoding="ascii")
    except FileExistsError:
        return False
    try:
        with file:
            file.write(str(os.getpid()))
    except OSError:
        path.unlink()
        raise
    return True


def _trouble(error: OSError) -> str:
    """Why the sidecar cannot be made beside the library, and what to do."""
    if isinstance(error, FileExistsError | NotADirectoryError):
        return "a file stands where its folder should be; choose another place with --library"
    if error.errno == errno.ENOSPC:
        return "the disk is full; free some space and run the command again"
    return f"cannot be written there ({error.strerror}); choose another place with --library"


def _alive(number: int) -> bool:
    """Whether a process of that number is running."""
    if number <= 0:
        return False
    if sys.platform == "win32":  # pragma: no cover - os.kill would end the process there
        return _alive_on_windows(number)
    try:
        os.kill(number, 0)
    except ProcessLookupError:
        return False
    except (PermissionError, OverflowError):
        pass  # another user's; or no number of this system, which errs on the safe side
    return True


if sys.platform == "win32":  # pragma: no cover

    def _alive_on_windows(number: int) -> bool:
        import ctypes

        query_limited_information, still_active = 0x1000, 259
        kernel = ctypes.windll.kernel32
        handle = kernel.OpenProcess(query_limited_information, False, number)
        if not handle:
            return False
        code = ctypes.c_ulong()
        kernel.GetExitCodeProcess(handle, ctypes.byref(code))
        kernel.CloseHandle(handle)
        return code.value == still_active
