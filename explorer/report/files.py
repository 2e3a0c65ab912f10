"""Text to a file, whole or not at all."""

from __future__ import annotations

import contextlib
import errno
import os
from pathlib import Path

from ingest.errors import InputError


def write_text(path: Path, text: str) -> None:
    """Write UTF-8 beside the target and rename, so that no half file is ever seen.

    InputError when the folder or the target cannot be written, as on Windows
    when a spreadsheet holds it open; the old file is then kept.
    """
    # Through a link, so that the link stays and its file is renewed.
    target = Path(os.path.realpath(path))
    beside = target.with_name(f".{target.name}.{os.getpid()}.part")
    try:
        if target.is_dir():
            raise IsADirectoryError
        beside.write_bytes(text.encode())
        os.replace(beside, target)
    except OSError as error:
        with contextlib.suppress(OSError):
            beside.unlink(missing_ok=True)
        raise InputError(f"{path}: cannot be written: {_trouble(error)}") from error


def _trouble(error: OSError) -> str:
    """Why a file cannot be written, and what to do."""
    if isinstance(error, IsADirectoryError):
        return "it is a folder; add the name of a file"
    if isinstance(error, FileNotFoundError | NotADirectoryError):
        return "there is no such folder; make it, or choose another"
    if error.errno == errno.EROFS:
        return "the place is read-only; choose another"
    if error.errno == errno.ENOSPC:
        return "the disk is full; free some space, or choose another place"
    return f"{error.strerror}; close the program that has it open, or choose another file"
