"""`plans`: words, formats, a page; each trouble is one line."""

from __future__ import annotations

import json
from itertools import product
from pathlib import Path

import pytest

from explorer.cli.exits import Exit
from ingest.pipeline import AddOptions, add_collection
from tests.support.club import Played, pgn

NAMES = ("Vane, Amber", "Olander, Birk", "Marsh, Cleo", "Fenn, Dario", "Quill, Edda", "Roe, Finn")
LINE = "e4 e5 Nf3 Nc6 Bc4 Bc5"
LONG = "d3 Nf6 O-O d6 c3 O-O Bg5 h6 Bh4 g5 Bg3 Nh5 Nbd2 Nxg3 hxg3 Bg4"


@pytest.fixture(scope="session")
def italians(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """30 Italian games, the one half by players at 900, the other at 1700."""
    folder = tmp_path_factory.mktemp("italians")
    pairs = [pair for pair in product(NAMES, NAMES) if pair[0] != pair[1]]
    games = [
        Played(f"{LINE} {LONG}", *pair, *([900] * 2 if i % 2 else [1700] * 2), "1-0")
        for i, pair in enumerate(pairs)
    ]
    (folder / "italians.pgn").write_text(pgn(games), "utf-8")
    add_collection(folder / "it.duckdb", [str(folder / "italians.pgn")], "italians", AddOptions())
    return folder / "it.duckdb"


@pytest.fixture
def on_italians(replybook, italians: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setenv("REPLYBOOK_LIBRARY", str(italians))
    return replybook


def test_plans_are_told_within_80_columns(on_italians) -> None:
    said = on_italians("plans", LINE, "--level", "800-1199", "--model-level", "1600-1999")
    assert (said.code, said.err) == (Exit.DONE, "")
    assert said.out.startswith("1. e4 e5 2. Nf3 Nc6 3. Bc4 Bc5 - Giuoco Piano\n")
    assert "castles king's side" in said.out
    assert "bishop pinning on g5" in said.out
    assert "Model" in said.out
    assert max(map(len, said.out.splitlines())) <= 80


def test_every_format_goes_to_the_screen_and_by_its_ending_to_a_file(
    on_italians, tmp_path: Path
) -> None:
    for format, ending in {"table": "txt", "csv": "csv", "json": "json", "markdown": "md"}.items():
        shown = on_italians("plans", LINE, "--format", format)
        said = on_italians("plans", LINE, "-o", f"x.{ending}")
        assert (said.out, said.err) == ("", f"Written: x.{ending}\n")
        assert (tmp_path / f"x.{ending}").read_text("utf-8") == shown.out


def test_options_say_how_far_how_many_and_from_which_number_of_games(on_italians) -> None:
    said = on_italians("plans", LINE, "--within-moves", "2", "--top", "1", "--format", "json")
    answer = json.loads(said.out)
    assert answer["within_moves"] == 2
    assert [len(side["plans"]) for side in answer["sides"]] == [1, 1]
    none = on_italians("plans", LINE, "--min-games", "31", "--format", "json")
    assert [len(side["plans"]) for side in json.loads(none.out)["sides"]] == [0, 0]


def test_a_page_says_how_to_make_it_again(on_italians, tmp_path: Path) -> None:
    said = on_italians("plans", *LINE.split(), "-o", "next.html", "--view", "black")
    assert said.out == "next.html\n"
    page = (tmp_path / "next.html").read_text("utf-8")
    assert f"replybook plans {LINE} -o next.html --view black" in page
    assert "Black at the bottom" in page


def test_a_report_tells_what_comes_next_but_not_at_the_start(on_italians, tmp_path: Path) -> None:
    on_italians("report", LINE, "-o", "a.html")
    assert "What comes next" in (tmp_path / "a.html").read_text("utf-8")
    on_italians("report", "-o", "b.html")
    assert "What comes next" not in (tmp_path / "b.html").read_text("utf-8")
    on_italians("report", f"{LINE} d3", "-o", "c.html")  # nobody goes on for eight moves more
    assert "What comes next" not in (tmp_path / "c.html").read_text("utf-8")


@pytest.mark.parametrize(
    ("words", "code", "parts"),
    [
        (["--model-level", "good"], Exit.USAGE, ["--model-level: ", "good"]),
        (["--within-moves", "0"], Exit.USAGE, ["--within-moves 0", "from 1 to 40"]),
        (["--within-moves", "9"], Exit.NOTHING_FOUND, ["30 games reached it", "9 more moves"]),
        (["--level", "2000+"], Exit.NOTHING_FOUND, ["none of the 30 games", "filters"]),
        (["-o", "x.doc"], Exit.USAGE, ["x.doc"]),
    ],
)
def test_trouble_is_one_line(on_italians, complains, words, code, parts) -> None:
    complains(on_italians("plans", LINE, *words), code, *parts)


def test_a_position_that_nobody_reached_is_one_line(on_italians, complains) -> None:
    complains(on_italians("plans", "d4"), Exit.NOTHING_FOUND, "no game reached this position")
