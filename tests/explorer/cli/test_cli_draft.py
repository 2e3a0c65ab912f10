"""`lesson draft`: the file, the curve, the next command; each trouble is one line."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from explorer.cli.command_line import quoted
from explorer.cli.exits import Exit
from explorer.positions.lesson import read_lesson
from ingest.pipeline import AddOptions, add_collection
from tests.support.club import pgn
from tests.support.drafting import many

DRAFT = ("lesson", "draft", "--as", "white", "--level", "800-999", "--model-level", "1200-1399")


@pytest.fixture(scope="session")
def open_games(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("open")
    games = [
        *many("1. e4 e5 2. Nf3 Nc6 3. Bb5 a6", 40),
        *many("1. e4 e5 2. Nf3 Nc6 3. Bc4 Bc5", 35),
        *many("1. e4 c5 2. Nf3 d6", 45),
    ]
    (folder / "open.pgn").write_text(pgn(games), "utf-8")
    add_collection(folder / "open.duckdb", [str(folder / "open.pgn")], "open", AddOptions())
    return folder / "open.duckdb"


@pytest.fixture
def on_open(replybook, open_games: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setenv("REPLYBOOK_LIBRARY", str(open_games))
    return replybook


def test_it_writes_the_lesson_under_a_telling_name_and_says_what_comes_next(on_open) -> None:
    said = on_open(*DRAFT, "--start", "e4 e5", "--positions=9")
    assert said.code == Exit.DONE
    written, following = said.err.splitlines()
    assert written == "Written: lesson-white-e4-e5-800-999.pgn"
    words = ["lesson", "check", "lesson-white-e4-e5-800-999.pgn", "--as", "white"]
    wanted = quoted("replybook", *words, "--level", "800-999", "--start", "e4 e5")
    assert following == f"Next: {wanted}"
    assert said.out.startswith("Draft of a lesson for White after 1. e4 e5\n")
    assert max(map(len, said.out.splitlines())) <= 80
    lesson = read_lesson("lesson-white-e4-e5-800-999.pgn", "white")
    assert [place.taught.san for place in lesson.taught if place.taught] == ["e4", "Nf3", "Bb5"]


def test_the_next_command_runs(on_open) -> None:
    said = on_open(*DRAFT, "-o", "x.pgn", "--worth", "1%", "--never=d4", "--allow-fading")
    words = said.err.splitlines()[1].removeprefix("Next: replybook ").split()
    assert words == ["lesson", "check", "x.pgn", "--as", "white", "--level", "800-999"]
    assert on_open(*words).code == Exit.DONE


def test_a_file_that_is_there_is_kept_unless_it_may_be_replaced(on_open, complains) -> None:
    Path("x.pgn").write_text("worked on for an evening")
    complains(on_open(*DRAFT, "-o", "x.pgn"), Exit.USAGE, "x.pgn", "--replace")
    assert Path("x.pgn").read_text() == "worked on for an evening"
    assert on_open(*DRAFT, "-o", "x.pgn", "--replace").code == Exit.DONE
    assert Path("x.pgn").read_text().startswith("[Event ")


def test_the_curve_comes_in_every_format(on_open) -> None:
    said = on_open(*DRAFT, "-o", "1.pgn", "--format", "csv")
    assert said.out.startswith("\ufeffNo.,Answer,After,In 100 games,")
    assert len(said.out.splitlines()) == 5
    fields = json.loads(on_open(*DRAFT, "-o", "2.pgn", "--format", "json").out)
    assert [step["san"] for step in fields["steps"]] == ["e4", "Nf3", "Bb5", "Nf3"]
    assert on_open(*DRAFT, "-o", "3.pgn", "--format", "markdown").out.startswith("**Draft")


def test_moves_are_taken_from_a_preferred_file_and_typed_in_other_letters(on_open) -> None:
    Path("own.pgn").write_text("1. Nf3 Nc6 2. e4 e5 3. d4 *")
    said = on_open(
        *DRAFT, "--prefer", "own.pgn", "--start", "e4 e5 Sf3 Sc6", "--letters", "de", "-o", "x.pgn"
    )
    assert "3. d4 1. e4 e5 2. Sf3 Sc6 100" in " ".join(said.out.split())
    assert "From the preferred file." in " ".join(Path("x.pgn").read_text().split())


@pytest.mark.parametrize(
    ("words", "code", "told"),
    [
        (("-o", "lesson.html"), Exit.USAGE, "a lesson ends in .pgn"),
        (("--worth", "much"), Exit.USAGE, "--worth much: not a number from 0 to 100"),
        (("--worth", "101"), Exit.USAGE, "--worth 101"),
        (("--worth", "nan"), Exit.USAGE, "--worth nan"),
        (("--positions", "0"), Exit.USAGE, "--positions 0"),
        (("--model-level", "high"), Exit.USAGE, "--model-level: level 'high'"),
        (("--prefer", "no.pgn"), Exit.BAD_INPUT, "no.pgn"),
        (("--never", "e4 e5 Ke3"), Exit.USAGE, "Ke3"),
        (("--never", "e4 e5"), Exit.USAGE, "its last move is the opponent's"),
        (("--start", "h4 h5"), Exit.NOTHING_FOUND, "no game reached this position"),
        (("--start", "e4 e5 Nf3 Nc6", "--to-move", "2"), Exit.USAGE, "--to-move 2"),
        (("--player", "Vane, Amber"), Exit.USAGE, "--player"),
    ],
)
def test_each_trouble_is_one_line_and_writes_nothing(
    on_open, complains, words: tuple[str, ...], code: Exit, told: str
) -> None:
    complains(on_open(*DRAFT, *words), code, told)
    assert not list(Path().glob("*.pgn"))


def test_the_students_colour_must_be_named(on_open, complains) -> None:
    complains(on_open("lesson", "draft"), Exit.USAGE, "--as")


def test_two_runs_write_the_same_file(on_open) -> None:
    for name in ("a.pgn", "b.pgn"):
        on_open(*DRAFT, "-o", name)
    assert Path("a.pgn").read_bytes() == Path("b.pgn").read_bytes()
