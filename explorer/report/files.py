"""Text to a file, whole or not at all."""

from __future__ import annotations

import contextlib
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
            raise IsADirectoryError(0, "it is a folder")
        beside.write_bytes(text.encode())
        os.replace(beside, target)
    except OSError as error:
        with contextlib.suppress(OSError):
            beside.unlink(missing_ok=True)
        reason = error.strerror or type(error).__name__
        raise InputError(
            f"{path}: cannot be written ({reason}); "
            "close the program that has it open, or choose another file with -o"
        ) from error
