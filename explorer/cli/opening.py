"""What is asked: a library, or a dataset in its place."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from explorer.cli.place import library_path
from ingest.errors import UsageError

if TYPE_CHECKING:
    from explorer.cli.options import Engine
    from explorer.query.library import Library


def opened(
    library: Path | None,
    dataset: str | None,
    engine: Engine | None = None,
    master: str | None = None,
) -> Library:
    """What the options name, open for reading and to be closed by ``with``.

    UsageError when they do not go together; what `open_library`, `open_dataset` and
    `open_with_spark` raise.
    """
    if master is not None and engine is None:
        raise UsageError("--master: it says where Spark runs; add --engine spark")
    if dataset is None and engine is not None:
        raise UsageError("--engine spark: it asks a dataset; name one with --dataset FOLDER")
    if dataset is None:
        from explorer.query.library import open_library

        return open_library(library_path(library))
    if library is not None:
        raise UsageError("--dataset: it stands in for a library; leave --library out")
    if engine is None:
        from explorer.query.dataset import open_dataset

        return open_dataset(dataset)
    from explorer.query.spark_session import check_spark

    check_spark()  # what is imported next needs it
    from explorer.query.spark import open_with_spark

    return open_with_spark(dataset, master)
