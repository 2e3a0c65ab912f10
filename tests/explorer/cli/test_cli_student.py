"""`student`: words, formats, names that stay hidden; each trouble is one line."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import pytest

from explorer.cli.exits import Exit
from explorer.cli.place import sample_games
from ingest.pipeline import AddOptions, add_collection
from tests.support.club import Played as Game
from tests.support.club import pgn

STUDENT = "Thistlewood, Mina"
OTHERS = ("Appleyard", "Dobbs", "Larkfield")
LESSON = ("--lesson", str(sample_games() / "lesson_italian.pgn"), "--as", "white")


@pytest.fixture(scope="session")
def sample(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("sample")
    files = [str(path) for path in sorted(sample_games().glob("*.pgn.gz"))]
    add_collection(folder / "sample.duckdb", files, "sample", AddOptions())
    return folder / "sample.duckdb"


@pytest.fixture
def on_sample(replybook, sample: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setenv("REPLYBOOK_LIBRARY", str(sample))
    return replybook


def test_it_tells_what_is_played_forgotten_and_stopped_within_80_columns(on_sample) -> None:
    said = on_sample("student", STUDENT, *LESSON, "--since", "2026-02")
    assert (said.code, said.err) == (Exit.DONE, "")
    for words in (
        "The games of M. T.\nGames: any pace.\nYou played 240 games: 120 with White",
        "1. d4 f5, the Dutch Defence, goes well for you",
        "31 of them at move 4, with 4. Nc3 instead of 4. d3.",
        "2... f6: You have stopped: not once in the 22 chances",
        "Since 1 February 2026 better: listed mistakes made, 0 of 22; before, 27 of 38.",
        "What to practise next",
        "rarer moves are not shown; JSON has all.",
    ):
        assert words in " ".join(said.out.split("\n  ")), words
    assert max(map(len, said.out.splitlines())) <= 80


def test_of_eight_games_nothing_is_compared(on_sample) -> None:
    said = on_sample("student", "jo larkfield", *LESSON)
    assert "8 games: that is too few to say what is usual for you" in said.out
    for words in ("costs", "better", "practise", "goes well for", "otherwise", "Month by month"):
        assert words not in said.out


@pytest.mark.parametrize("format", ["table", "csv", "json", "markdown"])
def test_every_format_goes_to_the_screen_and_to_a_file_without_names(
    on_sample, tmp_path: Path, format: str
) -> None:
    """The student's, the opponents' and those of others of the club."""
    shown = on_sample("student", STUDENT, "--habits", "--format", format)
    ending = {"table": "txt", "markdown": "md"}.get(format, format)
    said = on_sample("student", STUDENT, "--habits", "-o", f"x.{ending}")
    assert (said.out, said.err) == ("", f"Written: x.{ending}\n")
    assert (tmp_path / f"x.{ending}").read_text("utf-8") == shown.out
    for name in ("Thistlewood", "Mina", *OTHERS):
        assert name not in shown.out


def test_csv_has_every_move_of_the_tree(on_sample) -> None:
    out = on_sample("student", STUDENT, "--format", "csv").out
    rows = list(csv.DictReader(io.StringIO(out.removeprefix("\ufeff"))))
    told = json.loads(on_sample("student", STUDENT, "--format", "json").out)
    moves = [m for tree in told["plays"] for one in tree["choices"] for m in one["moves"]]
    assert len(rows) == len(moves)
    assert rows[0]["Move"] == "1. e4"
    assert rows[0]["Differs clearly"] == "clearly"
    assert {row["Side"] for row in rows} == {"white", "black"}


def test_json_has_the_fields_of_the_answer(on_sample) -> None:
    told = json.loads(on_sample("student", STUDENT, *LESSON, "--format", "json").out)
    assert (told["student"], told["names"], told["level"]) == ("M. T.", 1, "800-999")
    assert told["filters"]["player"] == "M. T."
    assert told["lost"][0]["row"]["white"] in (None, "M. T.")
    assert told["better"]["months"][0]["since"] == "2025-09-01"
    assert "source" not in told


def test_full_names_are_shown_when_asked_for(on_sample) -> None:
    told = json.loads(on_sample("student", STUDENT, "--names", "full", "--format", "json").out)
    assert (told["student"], told["names"]) == (STUDENT, [STUDENT])
    assert "The games of Mina Thistlewood" in on_sample("student", STUDENT, "--names", "full").out


def test_it_is_a_page_and_a_worksheet(on_sample, tmp_path: Path) -> None:
    said = on_sample("student", STUDENT, *LESSON, "-o", "x.html", "--worksheet", "sheet.html")
    assert said.out.split() == ["sheet.html", "x.html"]
    for name in ("x.html", "sheet.html"):
        text = (tmp_path / name).read_text("utf-8")
        assert text.startswith("<!doctype html>") or text.startswith("<!DOCTYPE html>")
        assert "Thistlewood" not in text


def test_without_anything_to_practise_there_is_no_sheet(on_sample, tmp_path: Path) -> None:
    said = on_sample("student", "Larkfield, Jo", "--worksheet", "sheet.html", "-o", "x.json")
    assert "sheet.html: not written; there is nothing to practise yet" in said.err
    assert not (tmp_path / "sheet.html").exists()


def class_file(folder: Path, text: str) -> str:
    (folder / "class.toml").write_text(text, "utf-8")
    return str(folder / "class.toml")


def test_the_class_file_says_more_of_a_student(on_sample, tmp_path: Path) -> None:
    """Other spellings, the lesson and its side; what the command line says goes before."""
    lesson = (sample_games() / "lesson_italian.pgn").read_text("utf-8")
    (tmp_path / "italian.pgn").write_text(lesson, "utf-8")
    file = class_file(
        tmp_path,
        f'[[player]]\nname = "{STUDENT}"\nalso = ["M. Thistlewood"]\n'
        'lesson = "italian.pgn"\nlesson_side = "white"\n'
        '[[player]]\nname = "Larkfield, Jo"\nlevel = "under-800"\n',
    )
    said = on_sample("student", STUDENT, "--also", "Mi Na", "--students", file, "--format", "json")
    assert said.err == (
        "M. Thistlewood: no such name in the library; left out\n"
        "Mi Na: no such name in the library; left out\n"
    )
    told = json.loads(said.out)
    assert told["lesson"]["title"] == "Lesson: the quiet Italian for White"
    assert told["not_found"] == 2
    told = json.loads(
        on_sample("student", "jo larkfield", "--students", file, "--format", "json").out
    )
    assert (told["level"], told["level_by"], told["lesson"]) == ("under 800", "class", None)


@pytest.mark.parametrize(
    ("words", "code", "says"),
    [
        (["Thistlewod, Mina"], Exit.NOTHING_FOUND, "Thistlewood, Mina (240 games)"),
        ([STUDENT, "--lesson", "x.pgn"], Exit.USAGE, "which side does it teach"),
        ([STUDENT, "--as", "white"], Exit.USAGE, "add --lesson"),
        ([STUDENT, "--lesson", "x.pgn", "--as", "white"], Exit.BAD_INPUT, "x.pgn"),
        ([STUDENT, "--since", "soon"], Exit.USAGE, "not a date"),
        ([STUDENT, "--worksheet", "x.pdf"], Exit.USAGE, "ends in .html"),
        ([STUDENT, "-o", "x.html", "--worksheet", "./x.html"], Exit.USAGE, "that is the page"),
        ([STUDENT, "--until", "2020"], Exit.NOTHING_FOUND, "no game of theirs"),
        ([STUDENT, "--students", "x.toml"], Exit.BAD_INPUT, "no such file"),
        ([], Exit.USAGE, "NAME"),
    ],
)
def test_trouble_is_one_line(on_sample, complains, words, code, says) -> None:
    complains(on_sample("student", *words), code, says)


def test_who_is_not_in_the_class_file_is_refused(on_sample, complains, tmp_path: Path) -> None:
    file = class_file(tmp_path, '[[player]]\nname = "Larkfield, Jo"\n')
    said = on_sample("student", STUDENT, "--students", file)
    complains(said, Exit.USAGE, "not in", "leave --students out")


HOSTILE = '=cmd|"/c calc"!A1 <script>alert(1)</script> \u202e{{7*7}}'


@pytest.mark.parametrize("format", ["table", "csv", "json", "markdown"])
def test_a_hostile_name_does_no_harm(
    replybook, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, format: str
) -> None:
    name = HOSTILE.replace('"', "'")
    games = [Game("1. e4 e5", name, "Vane, Amber", 900, 900)] * 1
    (tmp_path / "x.pgn").write_text(pgn(games), "utf-8")
    add_collection(tmp_path / "x.duckdb", [str(tmp_path / "x.pgn")], "club", AddOptions())
    monkeypatch.setenv("REPLYBOOK_LIBRARY", str(tmp_path / "x.duckdb"))
    said = replybook("student", name, "--names", "full", "--format", format)
    assert said.code == Exit.DONE
    assert "\u202e" not in said.out
    if format == "csv":
        assert not any(line.startswith(("=", '"=')) for line in said.out.splitlines())
    page = replybook("student", name, "--names", "full", "-o", "x.html")
    assert page.code == Exit.DONE
    assert "<script>alert" not in (tmp_path / "x.html").read_text("utf-8")


def test_two_people_of_one_name_are_warned_of(
    replybook, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    games = [
        Game("1. e4", "Vane, Amber", "Fenn, Dario", 900, 900, "1-0", "2024.01.01"),
        Game("1. d4", "Vane, Amber", "Fenn, Dario", 1900, 900, "1-0", "2024.03.01"),
    ]
    (tmp_path / "x.pgn").write_text(pgn(games), "utf-8")
    add_collection(tmp_path / "x.duckdb", [str(tmp_path / "x.pgn")], "club", AddOptions())
    monkeypatch.setenv("REPLYBOOK_LIBRARY", str(tmp_path / "x.duckdb"))
    said = " ".join(replybook("student", "amber vane").out.split())
    assert "This may be two people of one name: a rating of 900 (1 January 2024)" in said
    assert "follow each other within a year have ratings more than 500 apart" in said
