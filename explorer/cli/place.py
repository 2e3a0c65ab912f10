"""Where things lie: the library, the sample games, the pages that a command makes."""

from __future__ import annotations

import os
import re
from importlib.resources import files
from pathlib import Path

from ingest.errors import InputError

ENVIRONMENT = "REPLYBOOK_LIBRARY"
LONGEST_NAME = 80


def library_path(option: Path | None) -> Path:
    """The library: the option, else the environment's, else the per-user data folder's."""
    if option is not None:
        return option
    if named := os.environ.get(ENVIRONMENT):
        return Path(named)
    from platformdirs import user_data_path

    return user_data_path("replybook", appauthor=False) / "library.duckdb"


def sample_games() -> Path:
    """The folder of the sample games: inside the installed package, else the checkout's."""
    packaged = Path(str(files("explorer"))) / "sample_games"
    checkout = Path(__file__).resolve().parents[2] / "sample_games"
    for folder in (packaged, checkout):
        if folder.is_dir():
            return folder
    raise InputError(f"{packaged}: the sample games are missing; install Replybook again")


def page_name(*parts: str, ending: str = ".html") -> Path:
    """A telling file name in the current folder: ``replies-e4-e5-Nf3.html``.

    Letters of English, digits and hyphens only, so that every system takes it.
    """
    name = re.sub(r"[^A-Za-z0-9]+", "-", "-".join(parts)).strip("-")
    return Path(name[:LONGEST_NAME].strip("-") + ending)
