"""`lesson`: words, formats, and each trouble in one line."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from explorer.cli.exits import Exit

LESSON = "1. e4 e5 (1... d5 2. exd5) 2. Nf3 (2. Bc4) Nc6 3. Bc4 *\n"


@pytest.fixture
def check(ask, tmp_path: Path):
    """Checks LESSON, or another file, for White."""
    (tmp_path / "lesson.pgn").write_text(LESSON, "utf-8")

    def run(*words: str, file: str = "lesson.pgn", side: str = "white"):
        return ask("lesson", "check", file, "--as", side, *words)

    return run


def test_a_lesson_is_told_within_80_columns(check) -> None:
    said = check("--min-games", "1")
    assert (said.code, said.err) == (Exit.DONE, "")
    assert said.out.startswith("lesson.pgn - what it answers\n")
    assert "Alternatives are not followed: 1. e4 e5 2. Bc4." in said.out
    assert max(map(len, said.out.splitlines())) <= 80


def test_every_format_goes_to_the_screen_and_by_its_ending_to_a_file(check, tmp_path) -> None:
    for format, ending in {"table": "txt", "csv": "csv", "json": "json", "markdown": "md"}.items():
        shown = check("--format", format)
        said = check("-o", f"x.{ending}")
        assert (said.out, said.err) == ("", f"Written: x.{ending}\n")
        assert (tmp_path / f"x.{ending}").read_text("utf-8") == shown.out


@pytest.mark.parametrize(
    ("command", "whose"),
    [
        ("lesson check", "the student's opponents"),
        ("lesson draft", "the student's opponents"),
        ("lesson page", "the student's opponents"),
        ("handout", "the student's opponents"),
        ("worksheet", "the student's opponents"),
        ("plans", "the player whose plan it is"),
        ("habits", "the player whose habits they are"),
        ("replies", "the player to move"),
    ],
)
def test_help_says_whose_level_is_meant(ask, command: str, whose: str) -> None:
    said = " ".join(ask(*command.split(), "--help").out.split())
    assert f"--level LEVEL Level of {whose}: 800-1199" in said


def test_a_page_is_the_work_of_another_command(check, complains) -> None:
    said = check("-o", "x.html")
    complains(said, Exit.USAGE, "x.html: for a page, use the command lesson page instead of")


def test_options_reach_the_answer(check) -> None:
    found = json.loads(
        check(
            "--format", "json", "--to-move", "3", "--start", "e4 e5", "--min-games", "2",
            "--next-level", "1400-1599", "--top", "1", "--level", "under-1500",
        ).out
    )  # fmt: skip
    assert (found["side"], found["start"], found["to_move"]) == ("white", "1. e4 e5", 3)
    assert (found["min_games"], found["next_level"]) == (2, "1400-1599")
    assert found["filters"]["levels"] == ["under-1500"]
    assert [states["move"] for states in found["levels"][-1]["states"]] == [2, 3]
    assert len(found["unanswered"]) <= 1


def test_another_letter_is_read_and_shown(check) -> None:
    assert "1. e4 e5 2. Lc4" in check("--letters", "de", "--start", "e4 e5").out


@pytest.mark.parametrize(
    ("words", "line"),
    [
        (["--to-move", "0"], "--to-move 0: not a whole number from 1 to 100"),
        (["--min-games", "x"], "--min-games x: not a whole number"),
        (["--next-level", "weak"], "level 'weak': not a level"),
        (["--start", "e4 e9"], "e9"),
        (["--start", "e4 e5", "--to-move", "1"], "the student's first move here is number 2"),
        (["-o", "x.html"], "for a page"),
    ],
)
def test_wrong_words_get_one_line(check, complains, words, line) -> None:
    said = check(*words)
    complains(said, said.code, line)
    assert said.code in (Exit.USAGE, Exit.BAD_INPUT)
    assert said.out == ""


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("Once upon a time", "lesson.pgn, line 1: 'Once' is no move"),
        ("", "lesson.pgn"),
        ("1. e4 e5\n2. Nf3 (2. Ke3) *", "line 2: 2. Ke3 is not a legal move after 1. e4 e5"),
        ("*", "no move in it"),
    ],
)
def test_a_bad_lesson_is_one_line_and_code_3(check, complains, tmp_path, text, line) -> None:
    (tmp_path / "bad.pgn").write_text(text, "utf-8")
    complains(check(file="bad.pgn"), Exit.BAD_INPUT, line.replace("lesson.pgn", "bad.pgn"))


def test_a_lesson_that_teaches_the_other_side_is_refused(check, complains, tmp_path) -> None:
    (tmp_path / "one.pgn").write_text("1. e4 *", "utf-8")
    complains(check(file="one.pgn", side="black"), Exit.BAD_INPUT, "teaches Black no move", "--as")


def test_what_is_not_there_is_named(check, complains) -> None:
    complains(check(file="none.pgn"), Exit.BAD_INPUT, "none.pgn: no such file")
    complains(check("--start", "d4"), Exit.BAD_INPUT, "no line of the lesson comes to 1. d4")
    complains(check("--level", "3000+"), Exit.NOTHING_FOUND, "passes the filters")
    complains(check("--library", "no.duckdb"), Exit.LIBRARY_TROUBLE, "no.duckdb")


def test_the_side_must_be_said_and_unknown_words_get_the_nearest(ask, complains) -> None:
    complains(ask("lesson", "check", "x.pgn"), Exit.USAGE, "--as white|black is missing")
    complains(ask("lesson", "chek"), Exit.USAGE, "did you mean check? replybook lesson --help")
    complains(ask("lesson"), Exit.USAGE, "replybook lesson: missing command")
