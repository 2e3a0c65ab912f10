"""`habits`: words, formats, the page; each trouble is one line."""

from __future__ import annotations

import json
import webbrowser
from pathlib import Path

import pytest

from explorer.cli.exits import Exit
from ingest.pipeline import AddOptions, add_collection
from tests.support.lively_games import lively_records


@pytest.fixture(scope="session")
def lively(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("lively")
    (folder / "club.pgn").write_text("".join(r.pgn for r in lively_records(4, 120)), "utf-8")
    add_collection(folder / "club.duckdb", [str(folder / "club.pgn")], "club", AddOptions())
    return folder / "club.duckdb"


@pytest.fixture
def on_lively(replybook, lively: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setenv("REPLYBOOK_LIBRARY", str(lively))
    return replybook


def test_habits_are_told_within_80_columns(on_lively) -> None:
    said = on_lively("habits")
    assert (said.code, said.err) == (Exit.DONE, "")
    assert said.out.startswith("Habits in the opening\nPlayers of every level, any pace.\n")
    assert "Castled by move 10" in said.out
    assert max(map(len, said.out.splitlines())) <= 80


@pytest.mark.parametrize("player", [[], ["--player", "Cleo Marsh"]])
def test_every_format_goes_to_the_screen_and_by_its_ending_to_a_file(
    on_lively, tmp_path: Path, player
) -> None:
    for format, ending in {"table": "txt", "csv": "csv", "json": "json", "markdown": "md"}.items():
        shown = on_lively("habits", *player, "--format", format)
        said = on_lively("habits", *player, "-o", f"x.{ending}")
        assert (said.out, said.err) == ("", f"Written: x.{ending}\n")
        assert (tmp_path / f"x.{ending}").read_text("utf-8") == shown.out
        assert "Marsh" not in shown.out


def test_a_player_is_set_beside_all_the_others(on_lively) -> None:
    alone = json.loads(on_lively("habits", "--format", "json").out)
    beside = json.loads(on_lively("habits", "--player", "cleo marsh", "--format", "json").out)
    assert beside["games"] == alone["games"]
    assert beside["player"] == "C. M."
    assert beside["filters"]["player"] is None
    assert beside["habits"][0]["own"]["rate"]["players"] == 1
    assert alone["habits"][0]["own"] is None


def test_the_colour_narrows_both(on_lively) -> None:
    words = ("habits", "--player", "Cleo Marsh", "--as", "white", "--format", "json")
    told = json.loads(on_lively(*words).out)
    assert told["filters"]["as"] == "white"
    assert sum(level["games"] for level in told["levels"]) == told["games"]


def test_a_page_says_how_to_make_it_again_without_the_name(on_lively, tmp_path: Path) -> None:
    said = on_lively("habits", "--player", "Cleo Marsh", "-o", "h.html")
    assert said.out == "h.html\n"
    page = (tmp_path / "h.html").read_text("utf-8")
    assert "C. M. beside the others" in page
    assert "Cleo" not in page
    assert "Marsh" not in page


def test_open_makes_a_page_with_a_telling_name(on_lively, tmp_path: Path, monkeypatch) -> None:
    opened: list[str] = []
    monkeypatch.setattr(webbrowser, "open", lambda url: opened.append(url) or True)
    assert on_lively("habits", "--open").out == "habits.html\n"
    assert (tmp_path / "habits.html").exists()
    assert opened


@pytest.mark.parametrize(
    ("words", "code", "about"),
    [
        (["--level", "3000+"], Exit.NOTHING_FOUND, "none of the"),
        (["--player", "Nobody Here"], Exit.NOTHING_FOUND, "no such name"),
        (["--collection", "nowhere"], Exit.USAGE, "no such collection"),
        (["--as", "white"], Exit.USAGE, "--player"),
        (["--level", "strong"], Exit.USAGE, "not a level"),
        (["--library", "none.duckdb"], Exit.LIBRARY_TROUBLE, "none.duckdb"),
    ],
)
def test_each_trouble_is_one_line(on_lively, complains, words, code, about) -> None:
    complains(on_lively("habits", *words), code, about)
