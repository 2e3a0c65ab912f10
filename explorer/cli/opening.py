"""What is asked: a library, or a dataset in its place."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from explorer.cli.place import library_path
from ingest.errors import UsageError

if TYPE_CHECKING:
    from explorer.query.library import Library


def opened(library: Path | None, dataset: str | None) -> Library:
    """What the options name, open for reading and to be closed by ``with``.

    UsageError when both are named; what `open_library` and `open_dataset` raise.
    """
    if dataset is None:
        from explorer.query.library import open_library

        return open_library(library_path(library))
    if library is not None:
        raise UsageError("--dataset: it stands in for a library; leave --library out")
    from explorer.query.dataset import open_dataset

    return open_dataset(dataset)
