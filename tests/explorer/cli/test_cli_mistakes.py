"""`mistake` and `costly`: words, formats, pages, engines, classes; each trouble is one line."""

from __future__ import annotations

import csv
import io
import json
import os
import webbrowser
from pathlib import Path

import chess.pgn
import pytest

from explorer.cli.exits import Exit
from ingest.pipeline import AddOptions, add_collection
from tests.support.club import evening, pgn
from tests.support.engines import make_engine

SCHOLAR = "e4 e5 Bc4 Nc6 Qh5 Nf6"


@pytest.fixture(scope="session")
def many(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Black's 2... f6 loses 60 games, 2... Nc6 wins 60; the last move differs, so none is twice."""
    folder = tmp_path_factory.mktemp("many")
    tails = [f"{file}{rank}" for file in "abcdfgh" for rank in (3, 4)]
    games = []
    for i in range(60):
        tail = f"{tails[i % 14]} {'abcdgh'[i // 14]}6"
        games.append(evening(f"e4 e5 Nf3 f6 {tail}", "1-0", i))
        games.append(evening(f"e4 e5 Nf3 Nc6 {tail.replace('c6', 'd6')}", "0-1", i))
    (folder / "many.pgn").write_text(pgn(games), "utf-8")
    add_collection(folder / "many.duckdb", [str(folder / "many.pgn")], "many", AddOptions())
    return folder / "many.duckdb"


@pytest.fixture
def on_many(replybook, many: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setenv("REPLYBOOK_LIBRARY", str(many))
    return replybook


def test_a_mistake_is_told_within_80_columns(ask) -> None:
    said = ask("mistake", SCHOLAR)
    assert said.code == Exit.DONE
    assert said.err == ""
    assert said.out.startswith("1. e4 e5 2. Bc4 Nc6 3. Qh5 Nf6 - ")
    assert "This punishment was chosen because it mates." in said.out
    assert max(map(len, said.out.splitlines())) <= 80


@pytest.mark.parametrize("command", [["mistake", "e4", "e5", "Nf3", "f6"], ["costly", "e4"]])
def test_every_format_goes_to_the_screen_and_by_its_ending_to_a_file(
    on_many, tmp_path: Path, command
) -> None:
    for format, ending in {"table": "txt", "csv": "csv", "json": "json", "markdown": "md"}.items():
        shown = on_many(*command, "--format", format)
        said = on_many(*command, "-o", f"x.{ending}")
        assert (said.out, said.err) == ("", f"Written: x.{ending}\n")
        assert (tmp_path / f"x.{ending}").read_text("utf-8") == shown.out


def test_a_page_says_how_to_make_it_again(on_many, tmp_path: Path) -> None:
    said = on_many("mistake", "e4", "e5", "Nf3", "f6", "-o", "f6.html", "--view", "black")
    assert said.out == "f6.html\n"
    page = (tmp_path / "f6.html").read_text("utf-8")
    assert "replybook mistake e4 e5 Nf3 f6 -o f6.html --view black" in page
    assert "Black at the bottom" in page


def test_open_makes_a_page_with_a_telling_name(on_many, tmp_path: Path, monkeypatch) -> None:
    opened: list[str] = []
    monkeypatch.setattr(webbrowser, "open", opened.append)
    assert on_many("mistake", "e4 e5 Nf3 f6", "--open").out == "mistake-e4-e5-Nf3-f6.html\n"
    assert on_many("costly", "--open", "-o", "c.html").out == "c.html\n"
    assert [Path(one).name for one in opened] == ["mistake-e4-e5-Nf3-f6.html", "c.html"]


def test_the_punishment_is_followed_and_read_in_other_letters(ask) -> None:
    said = ask("mistake", SCHOLAR, "--punish", "Qxf7#", "--format", "json")
    found = json.loads(said.out)
    assert found["punishment"]["chosen_by"] == "teacher"
    assert found["punishment"]["levels"][-1]["steps"][0]["found"]["cases"] == 1
    german = ask("mistake", "e4 e5 Lc4 Sc6 Dh5 Sf6", "--punish", "Dxf7#", "--letters", "de")
    assert "4. Dxf7#" in german.out


def test_a_square_is_followed(ask) -> None:
    found = json.loads(ask("mistake", SCHOLAR, "--square", "f7", "--format", "json").out)
    assert found["facts"][4]["square"] == {"man": "f7", "white": ["Bc4", "Qh5"], "black": ["Ke8"]}


def test_example_games_go_to_a_pgn_file(ask, tmp_path: Path) -> None:
    said = ask("mistake", SCHOLAR, "--pgn", "mates.pgn")
    assert said.err == "Written: mates.pgn\n"
    with (tmp_path / "mates.pgn").open() as file:
        game = chess.pgn.read_game(file)
    assert game is not None
    assert game.headers["White"] == "?"
    assert game.end().board().is_checkmate()
    none = ask("mistake", "e4 e5 Nf3 f6", "--pgn", "none.pgn")
    assert none.err == "none.pgn: not written; no decisive game shows the mistake\n"
    assert not (tmp_path / "none.pgn").exists()


@pytest.mark.skipif(os.name == "nt", reason="the toy engines are Unix scripts")
def test_an_engine_says_its_opinion_and_its_trouble_is_one_line(on_many, tmp_path: Path) -> None:
    line = ("mistake", "e4 e5 Nf3 f6")
    path = str(make_engine(tmp_path, depth=6))
    said = on_many(*line, "--engine", path, "--engine-depth", "6")
    assert "An engine's opinion, not a count of games (Lantern Toy at depth 6)" in said.out
    assert said.err == ""
    broken = on_many(*line, "--engine", str(make_engine(tmp_path, "dies")))
    assert broken.code == Exit.DONE
    assert broken.err.count("\n") == 1
    assert "leave the option out" in broken.err
    assert broken.out == on_many(*line).out


def test_a_class_is_compared_before_and_after(on_many, tmp_path: Path) -> None:
    (tmp_path / "class.toml").write_text(
        '[[player]]\nname = "Amber Vane"\n[[player]]\nname = "Nobody, Ida"\n', "utf-8"
    )
    words = ("--before-after", "2025-07", "--players", "class.toml")
    said = on_many("mistake", "e4 e5 Nf3 f6", *words)
    assert "Making the mistake: before and after 1 July 2025" in said.out
    assert said.err == "class.toml: Nobody, Ida: no such name in the library\n"
    assert "Nobody" not in said.out


def test_the_costly_reply_is_found_and_told(on_many) -> None:
    said = on_many("costly", "--as", "black", "--to-move", "2")
    assert said.code == Exit.DONE
    assert "What Black can practise in the opening" in said.out
    assert "2... f6  1. e4 e5 2. Nf3 f6" in said.out
    rows = list(csv.DictReader(io.StringIO(on_many("costly", "--format", "csv").out[1:])))
    assert rows[0]["Instead"] == "2... Nc6"


def test_fewer_are_looked_at_and_shown_when_asked(on_many) -> None:
    none = on_many("costly", "--min-games", "61")
    assert "No reply up to move 8 had enough games to be looked at." in none.out
    few = json.loads(
        on_many("costly", "--false-alarms", "0.5 %", "--top", "1", "--format", "json").out
    )
    assert few["false_alarms"] == 0.5
    assert len(few["found"]) <= 1


def test_what_costs_little_is_counted_and_listed_when_asked(on_many) -> None:
    command = ("costly", "--as", "black", "--to-move", "2", "--format", "json", "--at-least")
    every, none = (json.loads(on_many(*command, points).out) for points in ("0", "100"))
    assert (len(every["found"]), every["too_small"], every["at_least"]) == (1, 0, 0)
    assert len(none["found"]) + none["too_small"] == 1
    assert "Listed is what was found" in on_many(*command[:5]).out


def test_two_levels_are_compared(on_many, tmp_path: Path) -> None:
    words = ("costly", "--compare", "under-1000", "1000-1199")
    assert "From under 1000 to 1000-1199: what to practise" in on_many(*words).out
    assert json.loads(on_many(*words, "--format", "json").out)["higher"] == "1000-1199"
    assert on_many(*words, "-o", "step.html").out == "step.html\n"
    assert "what to practise" in (tmp_path / "step.html").read_text("utf-8")


@pytest.mark.parametrize(
    ("words", "line"),
    [
        (["mistake"], "a mistake is a move"),
        (["mistake", "e4", "--square", "z9"], "--square z9: not a square; write for example d4"),
        (["mistake", "e4", "--engine-depth", "0"], "--engine-depth 0: not a whole number"),
        (["mistake", "e4", "--pgn", "x.txt"], "--pgn x.txt: not the name of a PGN file"),
        (["mistake", "e4", "--punish", "e5 Nf3"], "begins and ends with a move of the side"),
        (["mistake", "e4", "--before-after", "2025"], "--players FILE: it is missing"),
        (["mistake", "e4", "--players", "x.toml"], "--before-after DATE: it is missing"),
        (["mistake", "e4", "--open", "-o", "x.csv"], "--open: only a page can be opened"),
        (["costly", "--to-move", "0"], "--to-move 0: not a whole number from 1 to 100"),
        (["costly", "--false-alarms", "60"], "--false-alarms 60: not a number of per cent"),
        (["costly", "--false-alarms", "0"], "above 0 and under 50"),
        (["costly", "--at-least", "101"], "--at-least 101: not a number of points from 0 to 100"),
        (["costly", "--at-least", "-1"], "--at-least -1: not a number of points"),
        (["costly", "--compare", "weak", "2000+"], "'weak': not a level"),
        (
            ["costly", "--compare", "800-999", "1000-1199", "--level", "800-999"],
            "--compare names its own two levels",
        ),
        (["costly", "--as", "green"], "--as green: no such choice"),
    ],
)
def test_wrong_words_get_one_line_and_code_2(ask, complains, words, line) -> None:
    said = ask(*words)
    complains(said, Exit.USAGE, line)
    assert said.out == ""


@pytest.mark.parametrize(
    ("words", "code", "line"),
    [
        (["mistake", "a3", "a6", "h3"], Exit.NOTHING_FOUND, "no game reached this position"),
        (
            ["mistake", "e4", "--before-after", "2025", "--players", "none.toml"],
            Exit.BAD_INPUT,
            "none.toml: no such file",
        ),
        (["costly", "a3", "a6"], Exit.NOTHING_FOUND, "no game reached this position"),
    ],
)
def test_what_cannot_be_answered_gets_one_line(ask, complains, words, code, line) -> None:
    complains(ask(*words), code, line)
