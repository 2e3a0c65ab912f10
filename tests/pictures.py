"""README's pictures, made again from the sample games: ``python -m tests.pictures``.

The report and the class view, as Chromium draws them (Debian's ``chromium-headless-shell``).
Letters look as the fonts of the machine do; everything else is the same wherever it is made.
"""

from __future__ import annotations

import io
import shutil
import signal
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

from ingest.pipeline import AddOptions, add_collection

SAMPLES = Path(__file__).parents[1] / "sample_games"
GAMES = {"club season": "club_season.pgn.gz", "junior cup": "junior_cup.pgn.gz"}
REPORT, CLASS_VIEW = "report.png", "class_view.png"
LINE = ("e4", "e5", "Nf3")
REPORT_SIZE, SCREEN = (800, 815), (1120, 630)
COLOURS = 32
BROWSER = "chromium-headless-shell"
START = "from explorer.cli.main import run; run()"


def replybook(*words: str) -> list[str]:
    """The command, whatever it is called where it is installed."""
    return [sys.executable, "-c", START, *words]


def main(folder: Path = SAMPLES) -> None:
    """Write both pictures into the folder."""
    from playwright.sync_api import sync_playwright

    with tempfile.TemporaryDirectory() as place, sync_playwright() as playwright:
        library = Path(place) / "club.duckdb"
        for name, file in GAMES.items():
            add_collection(library, [str(SAMPLES / file)], name, AddOptions())
        browser = playwright.chromium.launch(
            executable_path=shutil.which(BROWSER), args=["--no-sandbox", "--disable-gpu"]
        )
        page = browser.new_page()
        (folder / REPORT).write_bytes(small(picture_of_report(page, library)))
        (folder / CLASS_VIEW).write_bytes(small(picture_of_class_view(page, library)))
        browser.close()


def small(picture: bytes) -> bytes:
    """The same as a PNG of a few colours, of which our pages have no more."""
    from PIL import Image

    found = (
        Image.open(io.BytesIO(picture)).convert("RGB").quantize(COLOURS, dither=Image.Dither.NONE)
    )
    buffer = io.BytesIO()
    found.save(buffer, "PNG", optimize=True)
    return buffer.getvalue()


def picture_of_report(page: Any, library: Path) -> bytes:
    """The beginning of the page that `report` makes."""
    made = library.with_name("report.html")
    words = replybook("report", *LINE, "-o", str(made), "--library", str(library))
    subprocess.run(words, check=True, stdout=subprocess.DEVNULL)
    return taken(page, made.as_uri(), REPORT_SIZE)


def picture_of_class_view(page: Any, library: Path) -> bytes:
    """The class view after a key was pressed."""
    words = replybook("browse", "--no-open", "--library", str(library))
    with subprocess.Popen(words, stdout=subprocess.PIPE, text=True) as serving:
        assert serving.stdout is not None
        address = serving.stdout.readline().strip().rpartition("/")[0]
        picture = taken(page, f"{address}/class?line={'+'.join(LINE)}", SCREEN, "Space")
        serving.send_signal(signal.SIGINT)
    return picture


def taken(page: Any, address: str, size: tuple[int, int], key: str = "") -> bytes:
    """What a screen of this size shows of a page, after a key was pressed."""
    page.set_viewport_size({"width": size[0], "height": size[1]})
    page.goto(address)
    if key:
        page.keyboard.press(key)
    picture: bytes = page.screenshot()
    return picture


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else SAMPLES)
