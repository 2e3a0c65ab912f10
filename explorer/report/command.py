"""A command as a person types it."""

from __future__ import annotations

import os
import shlex
import subprocess


def quoted(*words: str) -> str:
    """Words as a person types them in the shell of this system."""
    return subprocess.list2cmdline(words) if os.name == "nt" else shlex.join(words)
