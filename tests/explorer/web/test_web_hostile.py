"""Hostile tags, comments, names of files and collections are harmless on every page."""

from __future__ import annotations

from collections.abc import Callable
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import urlencode

import pytest
from starlette.testclient import TestClient

from explorer.web.app import FILES
from ingest.pipeline import AddOptions, add_collection

SCRIPT = "<script>alert(1)</script>"
QUOTES = "\"'><img src=x onerror=alert(1)>"
TURNED = "evil\u202egnp.exe\u2066"
LONG = "N" * 10_000
ESCAPES = "\x1b]0;title\x07\x1b[31mred"
HOSTILE = (SCRIPT, QUOTES, TURNED, LONG, ESCAPES, "{{ 7 * 7 }}{% include 'sheet.html.j2' %}")
BAD_MOVES = f"1. e4 e5 2. Ke7 {{{SCRIPT}}} 1-0"
TAGS = ("Event", "Site", "Round", "White", "Black", "TimeControl", "Termination")


class Looked(HTMLParser):
    """What a page is made of."""

    def __init__(self) -> None:
        super().__init__()
        self.scripts: list[str] = []
        self.handlers: list[str] = []
        self.links: list[str] = []
        self.images = 0
        self.text: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        values = {name: value or "" for name, value in attrs}
        self.handlers += [name for name in values if name.startswith("on")]
        self.links += [values[name] for name in ("href", "action", "src") if name in values]
        self.images += tag in ("img", "iframe", "object", "embed", "base")
        if tag == "script":
            self.scripts.append(values.get("src", ""))

    def handle_data(self, data: str) -> None:
        self.text.append(data)


def tagged(value: str, number: int) -> str:
    value = value.replace("\\", "").replace('"', '\\"')
    tags = "".join(f'[{name} "{value}"]\n' for name in TAGS)
    tags += f'[Date "2024.01.{number:02}"]\n[Result "1-0"]\n'
    return f"{tags}\n1. e4 {{{SCRIPT}}} e5 2. Nf3 1-0\n\n"


@pytest.fixture(scope="module")
def hostile_library(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("hostile")
    file = folder / f"a{TURNED}'&<b>.pgn"
    texts = [tagged(value, number) for number, value in enumerate(HOSTILE, start=1)]
    file.write_text("".join(texts) + f'[White "{SCRIPT}"]\n\n{BAD_MOVES}\n\n', "utf-8")
    for collection in (QUOTES, SCRIPT):
        add_collection(folder / "library", [str(file)], collection, AddOptions(plies=20))
    return folder / "library"


@pytest.fixture
def lessons(tmp_path: Path) -> Path:
    text = f'[Event "{SCRIPT}"]\n\n1. e4 {{{SCRIPT} {QUOTES}}} e5 (1... c5 {{{LONG}}}) 2. Nf3 *\n'
    (tmp_path / f"l{TURNED}'&<b>.pgn").write_text(text, "utf-8")
    return tmp_path


PAGES = (
    "/position",
    "/position?line=e4&player=" + "A" * 150,
    "/class",
    "/plans",
    "/mistakes",
    "/mistake?line=e4",
    *(f"/game/{number}?ply=1" for number in range(1, 8)),
    "/lessons",
    "/lessons?line=e4",
    "/student",
    "/library",
    "/library/rejects",
    *(
        f"/{path}?{urlencode({name: value})}"
        for value in (*HOSTILE[:3], *HOSTILE[4:], "'; DROP TABLE games; --", "\0")
        for path, name in (
            ("position", "line"),
            ("position", "fen"),
            ("position", "level"),
            ("position", "collection"),
            ("position", "player"),
            ("go", "go"),
            ("mistake", "punish"),
            ("student", "name"),
            ("lesson", "file"),
            ("library/rejects", "collection"),
            ("game/1", "ply"),
        )
    ),
)


@pytest.mark.parametrize("names", ["initials", "full"])
def test_nothing_hostile_gets_through(
    serve: Callable[..., TestClient], hostile_library: Path, lessons: Path, names: str
) -> None:
    page = serve(hostile_library, lessons=lessons)
    listed = page.get("/lessons").text
    file = urlencode({"file": next(lessons.iterdir()).name, "as": "white"})
    assert "for White" in listed
    for address in (*PAGES, f"/lesson?{file}"):
        joint = "&" if "?" in address else "?"
        answer = page.get(f"{address}{joint}names={names}", follow_redirects=True)
        assert answer.status_code in (200, 400, 404), (address, answer.text[-500:])
        harmless(answer.text, address)


def harmless(text: str, address: str) -> None:
    looked = Looked()
    looked.feed(text)
    told = "".join(looked.text)
    assert set(looked.scripts) <= {path for path in FILES if path.endswith(".js")}, address
    assert looked.handlers == [], address
    assert looked.images == 0, address
    assert all(link.startswith(("/", "#")) for link in looked.links), address
    assert not set(told) & set("\u202e\u2066\x1b\x07\0"), address
    assert "\n49" not in told, address
    assert "Traceback" not in told, address


def test_a_saved_page_of_hostile_games_is_harmless_too(
    serve: Callable[..., TestClient], hostile_library: Path
) -> None:
    page = serve(hostile_library)
    text = page.get("/position?line=e4&out=paper&names=full").text
    looked = Looked()
    looked.feed(text)
    assert looked.scripts == []
    assert looked.handlers == []
    assert looked.images == 0


@pytest.mark.parametrize(
    "name",
    [
        "../secret.pgn",
        "..%2Fsecret.pgn",
        "sub/../../secret.pgn",
        "/etc/passwd",
        "link.pgn",
        "folder/secret.pgn",
        "notes.txt",
        "",
        "x" * 300 + ".pgn",
        "a\0.pgn",
    ],
)
def test_no_file_outside_the_folder_is_read(
    serve: Callable[..., TestClient], library: Path, tmp_path: Path, name: str
) -> None:
    inside = tmp_path / "lessons"
    inside.mkdir()
    secret = tmp_path / "secret.pgn"
    secret.write_text('[Event "secret"]\n\n1. e4 *\n')
    (inside / "notes.txt").write_text("1. e4 *")
    (inside / "link.pgn").symlink_to(secret)
    (inside / "folder").symlink_to(tmp_path, target_is_directory=True)
    page = serve(library, lessons=inside)
    answer = page.get("/lesson", params={"file": name, "as": "white"}, follow_redirects=True)
    assert answer.status_code == 404
    assert "secret" not in page.get("/lessons").text


def test_a_pipe_in_the_folder_is_no_lesson(
    serve: Callable[..., TestClient], library: Path, tmp_path: Path
) -> None:
    """Reading it would wait without end."""
    import os

    if not hasattr(os, "mkfifo"):
        pytest.skip("no pipes with names on this system")
    os.mkfifo(tmp_path / "pipe.pgn")
    page = serve(library, lessons=tmp_path)
    assert page.get("/lesson?file=pipe.pgn&as=white").status_code == 404
    assert "pipe" not in page.get("/lessons").text
