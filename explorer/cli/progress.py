"""How an `add` says how far it is: a bar on a terminal, quiet lines elsewhere."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from time import monotonic as now
from typing import TYPE_CHECKING

from explorer.cli import console

if TYPE_CHECKING:
    from ingest.pipeline import Progress

QUIET_SECONDS = 10.0


@contextmanager
def watch() -> Iterator[Callable[[Progress], None]]:
    """Yield the callback that `add_collection` reports its progress to."""
    if not sys.stderr.isatty():
        yield _quiet()
        return
    from rich import progress as bars
    from rich.console import Console

    with bars.Progress(
        bars.TextColumn("{task.description}", markup=False),
        bars.BarColumn(),
        bars.DownloadColumn(),
        bars.TextColumn("{task.fields[games]} games", markup=False),
        bars.TextColumn("{task.fields[speed]} a second", markup=False),
        console=Console(stderr=True),
        transient=True,
    ) as bar:
        task = bar.add_task("", games=0, speed=0, total=None)
        began = heard = now()
        name = ""

        def show(state: Progress) -> None:
            nonlocal began, heard, name
            if state.name != name:  # the file began when the one before it was last heard of
                began, name = heard, state.name
            heard = now()
            speed = round(state.games / max(heard - began, 0.01))
            bar.update(
                task,
                description=state.name[-30:],
                completed=state.bytes_done,
                total=state.bytes_total,
                games=f"{state.games:,}",
                speed=f"{speed:,}",
            )

        yield show


def _quiet() -> Callable[[Progress], None]:
    last = now()

    def show(state: Progress) -> None:
        nonlocal last
        if now() - last >= QUIET_SECONDS:
            last = now()
            console.say(f"{state.name}: {state.games:,} games so far")

    return show
