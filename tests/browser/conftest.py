"""A headless Chromium, and the local page served to it as the command serves it."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from ingest.pipeline import AddOptions, add_collection
from tests.support import hostile
from tests.support.club import CLUB, pgn

BROWSERS = ("chromium-headless-shell", "chromium", "chromium-browser", "google-chrome")
ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
START = "from explorer.cli.main import run; run()"


# For a module and no longer: while it is there an event loop is running, in which the tests
# of engines cannot begin theirs.
@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    path = next(filter(None, map(shutil.which, BROWSERS)), None)
    if path is None:
        reason = "no Chromium found; install chromium-headless-shell"
        if os.environ.get("CI"):
            pytest.fail(reason)
        pytest.skip(reason)
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        running = playwright.chromium.launch(executable_path=path, args=ARGUMENTS)
        yield running
        running.close()


@pytest.fixture(scope="session")
def shelf(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a library of invented and of hostile games, and a folder of lessons."""
    folder: Path = tmp_path_factory.mktemp("shelf")
    for name, games in (
        ("club evening", [*CLUB, *hostile.like_games()]),
        (hostile.COLLECTION, hostile.games()),
    ):
        (folder / "games.pgn").write_text(pgn(games), "utf-8")
        library = folder / "club.duckdb"
        add_collection(library, [str(folder / "games.pgn")], name, AddOptions(plies=20))
    (folder / "lessons").mkdir()
    (folder / "lessons" / hostile.FILE_NAME).write_text(hostile.LESSON, "utf-8")
    (folder / "lessons" / "plain.pgn").write_text("1. e4 e5 2. Nf3 Nc6 3. Bc4 *\n", "utf-8")
    return folder


@pytest.fixture(scope="module")
def local(shelf: Path, browser: Any) -> Iterator[str]:
    """The address of the local page of the library, without a path."""
    words = ["browse", "--no-open", "--library", str(shelf / "club.duckdb")]
    serving = subprocess.Popen(
        [sys.executable, "-c", START, *words, "--lessons", str(shelf / "lessons")],
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
    )
    assert serving.stdout is not None
    address = serving.stdout.readline().strip()
    assert address.startswith("http://127.0.0.1:")
    yield address.rpartition("/")[0]
    serving.send_signal(signal.SIGINT)
    serving.wait(timeout=30)
    serving.stdout.close()
