"""`replies`, `orders`, `games`: the formats, the files, the filters, the widths."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import chess.pgn
import pytest

from explorer.cli.exits import Exit
from explorer.query.filter_texts import parse_day

FILTERS = [
    ["--level", "under-2000", "--level", "unrated"],
    ["--opponents", "800-1999"],
    ["--bands", "900,1300"],
    ["--pace", "rapid", "--pace", "unknown"],
    ["--since", "2023", "--until", "2025-12"],
    ["--collection", "club evening", "--collection", "school"],
    ["--player", "amber vane"],
    ["--player", "Vane, Amber", "--as", "white"],
    ["--top", "1"],
    ["--letters", "de"],
]


@pytest.mark.parametrize("words", FILTERS)
@pytest.mark.parametrize("command", ["replies", "orders", "games"])
def test_every_filter_is_understood_by_every_question(ask, command, words) -> None:
    said = ask(command, "e4", *words)
    assert said.code == Exit.DONE
    assert said.err == ""
    assert max(map(len, said.out.splitlines())) <= 80
    assert said.out.startswith("1. e4")


@pytest.mark.parametrize("position", ["e4 e5 Nf3", "1. e4 e5 2. Nf3", "e2e4 e7e5 g1f3"])
def test_moves_may_be_one_word_or_several_and_any_notation(ask, position) -> None:
    whole, parts = ask("replies", position), ask("replies", *position.split())
    assert whole == parts
    assert whole.out.startswith("1. e4 e5 2. Nf3 - King's Knight Opening\nBlack to move.")


def test_without_a_position_it_is_the_start(ask) -> None:
    assert ask("replies").out.startswith("The starting position\nWhite to move. 8 games")


def test_a_fen_may_be_several_words(ask) -> None:
    fen = "rnbqkbnr/pppppppp/8/8/4P3/8/PPPP1PPP/RNBQKBNR b KQkq - 0 1"
    assert "Black to move" in ask("replies", *fen.split()).out


def test_the_library_may_be_named_in_the_command(replybook, complains, club_library: Path) -> None:
    missing = "there is no library yet; make one with: replybook add FILES --collection NAME"
    complains(replybook("replies"), Exit.LIBRARY_TROUBLE, missing)
    assert replybook("replies", "--library", str(club_library)).code == Exit.DONE


def test_all_columns_add_the_rest_within_80_columns(ask) -> None:
    main, every = ask("replies", "e4").out, ask("replies", "e4", "--columns", "all").out
    assert "Performance" in every
    assert "Performance" not in main
    assert max(map(len, every.splitlines())) <= 80


@pytest.mark.parametrize("command", ["replies", "orders", "games"])
def test_every_format_goes_to_the_screen_and_by_its_ending_to_a_file(
    ask, tmp_path: Path, command
) -> None:
    endings = {"table": "txt", "csv": "csv", "json": "json", "markdown": "md"}
    for format, ending in endings.items():
        shown = ask(command, "e4", "--format", format)
        said = ask(command, "e4", "-o", f"x.{ending}")
        assert said.out == ""
        assert said.err == f"Written: x.{ending}\n"
        assert (tmp_path / f"x.{ending}").read_text("utf-8") == shown.out


def test_a_format_that_is_named_goes_before_the_ending(ask, tmp_path: Path) -> None:
    ask("replies", "e4", "-o", "x.data", "--format", "json")
    assert json.loads((tmp_path / "x.data").read_text())["position"]["line"] == "1. e4"


def test_csv_has_a_byte_order_mark_and_the_separator_asked_for(ask) -> None:
    for word, sign in ((";", ";"), ("tab", "\t"), ("\\t", "\t")):
        said = ask("games", "e4", "--format", "csv", "--separator", word)
        assert said.out.startswith("\ufeffDate" + sign)
        rows = list(csv.reader(io.StringIO(said.out), delimiter=sign))
        assert {len(row) for row in rows} == {11}


def test_rare_replies_and_orders_are_hidden_but_counted(ask) -> None:
    said = ask("orders", "e4", "e5", "Nf3", "Nc6", "--min-games", "2")
    assert "1. e4 e5 2. Nf3 Nc6  " in said.out
    assert "1. Nf3" not in said.out
    assert "1 rarer move order" in said.out
    none = ask("orders", "e4", "--min-games", "100")
    assert none.code == Exit.DONE
    assert "1 rarer move order is counted but not shown." in none.out


def test_games_are_sorted_as_asked(ask) -> None:
    dates = [
        [
            row["date"]
            for row in json.loads(ask("games", "--sort", way, "--format", "json").out)["rows"]
        ]
        for way in ("rating", "date", "length")
    ]
    assert dates[0] != dates[1] != dates[2]
    assert dates[1][0] == "2025.03.02"


def test_games_are_written_as_pgn_that_is_read_back(ask, tmp_path: Path) -> None:
    said = ask("games", "e4", "e5", "--at-most-moves", "6", "--pgn", "short games.pgn")
    assert said.code == Exit.DONE
    assert said.out == ""
    assert said.err.splitlines() == [
        "Written: short games.pgn",
        "3 of 3 games; --top N takes more or fewer.",
    ]
    with (tmp_path / "short games.pgn").open() as file:
        game = chess.pgn.read_game(file)
    assert game is not None
    assert game.headers["White"] == "?"


def test_games_may_go_to_pgn_and_to_a_table_at_once(ask, tmp_path: Path) -> None:
    said = ask("games", "e4", "--pgn", "a.pgn", "-o", "a.csv", "--names", "full")
    assert said.code == Exit.DONE
    assert "Vane, Amber" in (tmp_path / "a.pgn").read_text()
    assert "Vane, Amber" in (tmp_path / "a.csv").read_text("utf-8")


@pytest.mark.parametrize("words", [["replies", "-o"], ["games", "--pgn"], ["report", "-o"]])
def test_a_target_that_cannot_be_written_gets_one_line(
    ask, complains, tmp_path: Path, words
) -> None:
    command, option = words
    ending = {"replies": "csv", "games": "pgn", "report": "html"}[command]
    (tmp_path / f"folder.{ending}").mkdir()
    said = ask(command, "e4", option, f"folder.{ending}")
    complains(said, Exit.BAD_INPUT, f"folder.{ending}: cannot be written: it is a folder; add")
    said = ask(command, "e4", option, f"none/x.{ending}")
    complains(said, Exit.BAD_INPUT, "there is no such folder; make it, or choose another")


@pytest.mark.parametrize(
    ("text", "first", "last"),
    [
        ("2024", "2024-01-01", "2024-12-31"),
        ("2024-02", "2024-02-01", "2024-02-29"),
        ("2024.2", "2024-02-01", "2024-02-29"),
        ("2024-09-14", "2024-09-14", "2024-09-14"),
    ],
)
def test_a_vague_day_is_its_first_or_its_last(text, first, last) -> None:
    assert str(parse_day(text, last=False)) == first
    assert str(parse_day(text, last=True)) == last


@pytest.mark.parametrize("by", ["level", "year", "season", "pace", "collection", "opponents"])
@pytest.mark.parametrize("format", ["table", "csv", "markdown", "json"])
def test_replies_are_broken_down_by_whatever_is_asked(ask, by, format) -> None:
    said = ask("replies", "--by", by.upper(), "--format", format)
    assert (said.code, said.err) == (Exit.DONE, "")
    if format == "json":
        data = json.loads(said.out)
        assert data["filters"]["by"] == by
        banded = by in ("level", "opponents")
        assert any(level["low"] or level["high"] for level in data["levels"]) is banded
        assert [level["label"] for level in data["replies"][0]["levels"]] == [
            level["label"] for level in data["levels"]
        ]


def test_a_breakdown_that_there_is_not_is_one_line(replybook, complains) -> None:
    choices = "write level, year, season, pace, collection or opponents"
    complains(replybook("replies", "--by", "month"), Exit.USAGE, f"no such choice; {choices}")
