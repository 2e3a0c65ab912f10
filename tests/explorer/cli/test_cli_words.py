"""The words of a command: what is off is said in one line, with the next step."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
import typer
from typer.exceptions import TyperException

from explorer import __version__
from explorer.cli import main as program
from explorer.cli.complaints import complaint
from explorer.cli.exits import Exit
from explorer.cli.options import Side
from explorer.cli.values import one_of, whole
from ingest.errors import UsageError

COMMANDS = ["demo", "add", "collections", "rejects", "remove", "forget", "verify"]
COMMANDS += ["replies", "orders", "games", "mistake", "costly", "habits", "plans"]
COMMANDS += ["handout", "report", "student", "class", "week", "browse", "diagram", "worksheet"]
COMMANDS += ["remake", "lesson", "export"]
GROUPED = ["lesson check", "lesson draft", "lesson page", "export parquet"]


@pytest.mark.parametrize(
    ("words", "line"),
    [
        (["ad"], "ad: no such command; did you mean add? replybook --help lists them"),
        (["Replies"], "Replies: no such command; did you mean replies?"),
        (["frobnicate"], "frobnicate: no such command; replybook --help lists them"),
        (
            ["replies", "--tpo", "3"],
            "--tpo: no such option of replybook replies; did you mean --top",
        ),
        (["games", "--zzz"], "--zzz: no such option of replybook games; replybook games --help"),
        (["--versoin"], "--versoin: no such option before the command; did you mean --version?"),
        (["--library", "x", "replies"], "options of a command go after it"),
        (["replies", "--top"], "--top: nothing stands after it; write its value there"),
        (["add", "x.pgn", "--strict=3"], "'--strict' does not take a value"),
        (["add"], "replybook add: PATH is missing; replybook add --help says"),
        (["add", "x.pgn"], "replybook add: --collection NAME is missing;"),
        (["remove"], "replybook remove: NAME is missing;"),
        (["remove", "a", "b", "c"], "too many words (b c); put in quotes what belongs together"),
    ],
)
def test_wrong_words_get_one_line_and_code_2(replybook, complains, words, line) -> None:
    complains(replybook(*words), Exit.USAGE, line)


@pytest.mark.parametrize(
    ("words", "line"),
    [
        (["replies", "--top", "many"], "--top many: not a whole number from 1 to 1000000; write"),
        (["replies", "--top", "0"], "--top 0: not a whole number"),
        (["replies", "--top", "-3"], "--top -3: not a whole number"),
        (["orders", "--min-games", "1.5"], "--min-games 1.5: not a whole number"),
        (["games", "--at-most-moves", "0"], "write for example --at-most-moves 15"),
        (["add", "x", "--collection", "c", "--moves", "101"], "from 1 to 100; write"),
        (["add", "x", "--collection", "c", "--unrated-as", "5000"], "from 1 to 4000; write"),
        (
            ["add", "x", "--collection", "c", "--format", "csv"],
            "no such choice; write text or json",
        ),
        (["report", "--follow-moves", "7"], "--follow-moves 7: not a whole number from 0 to 6"),
        (["replies", "--format", "xml"], "--format xml: no such choice; write table, csv, json or"),
        (["replies", "--columns", "few"], "--columns few: no such choice; write main or all"),
        (["games", "--sort", "age"], "--sort age: no such choice; write rating, date or length"),
        (["games", "--names", "none"], "--names none: no such choice; write initials or full"),
        (["report", "--view", "green"], "--view green: no such choice; write white or black"),
        (["replies", "--as", "green"], "--as green: no such choice; write white or black"),
        (["replies", "--as", "white"], "--as: this is the colour of a player; add --player NAME"),
        (["replies", "--level", "strong"], "'strong': not a level; write 800-1199, under-800"),
        (["replies", "--level", "1200-800"], "'1200-800': not a level"),
        (["replies", "--opponents", "weak"], "'weak': not a level"),
        (["replies", "--bands", "900,800"], "--bands 900,800: ratings must rise"),
        (["replies", "--pace", "fast"], "'fast': no such pace; write one of"),
        (["replies", "--since", "yesterday"], "'yesterday': not a date; write 2025-09-14"),
        (["replies", "--until", "2024-13"], "'2024-13': not a date"),
        (["replies", "--since", "2024-02-30"], "'2024-02-30': not a date"),
        (
            ["replies", "--since", "2024", "--until", "2023"],
            "--since 2024: later than --until 2023",
        ),
        (["replies", "--separator", "ab"], "--separator 'ab': not one character; write"),
        (["replies", "--separator", "x"], "--separator 'x': not one character"),
        (["replies", "-o", "x.html"], "x.html: for a page, use the command report"),
        (["games", "-o", "x.pgn"], "x.pgn: for a PGN file, use: replybook games --pgn FILE"),
        (["games", "--pgn", "e4"], "--pgn e4: not the name of a PGN file; write for example"),
        (
            ["replies", "-o", "x.ods"],
            "the ending says no format; use one of .csv, .json, .md, .txt",
        ),
        (["report", "-o", "x.csv"], "x.csv: a page ends in .html; for a table, use the command"),
        (["report", "--arrow", "h9h1"], "--arrow h9h1: not two squares; write for example h5f7"),
        (["report", "--mark", "z9"], "--mark z9: not a square"),
        (["replies", "e4", "--letters", "xx"], "--letters xx: no such language; choose one of"),
    ],
)
def test_values_out_of_range_get_one_line_and_code_2(replybook, complains, words, line) -> None:
    said = replybook(*words)
    complains(said, Exit.USAGE, line)
    assert said.out == ""


@pytest.mark.parametrize(
    ("words", "code", "line"),
    [
        (["e4", "e5", "Nf6"], 2, "move 2, White: Nf6 is not legal; did you mean Nf3?"),
        (["1.e4 e5 2.Ke2 Kf7"], 2, "move 2, Black: Kf7 is not legal; did you mean Ke7?"),
        (["8/8/8/8/8/8/8/8 w - - 0 1"], 2, "White has no king; correct it, or type the moves"),
        (["rnbqkbnr/8/8", "w", "-", "-"], 2, "neither moves, nor a FEN"),
        (["rnbqkbnr/pppppppp/8/8/8/8/PPPPPPPP w - - 0 1"], 2, "7 ranks instead of 8"),
        (["Nothing at all"], 2, "Nothing at all: neither moves, nor a FEN"),
        (["no.pgn"], 3, "no.pgn: no such file; check its name and folder"),
        (["a3", "a6", "h3", "h6"], 1, "no game reached this position"),
        (["e4", "--level", "3000+"], 1, "none of the 4 games that reached it passes the filters"),
        (["e4", "--player", "Zorn, Ida"], 1, "player 'Zorn, Ida': no such name in the library"),
        (["e4", "--collection", "evening"], 2, "no such collection; there are: club evening"),
    ],
)
def test_a_position_that_cannot_be_answered_gets_one_line(
    ask, complains, words, code, line
) -> None:
    complains(ask("replies", *words), code, line)


def test_marks_in_typed_moves_are_understood(ask) -> None:
    """``?`` and ``!`` in typed moves, as a shell hands them on."""
    said = ask("replies", "f3?", "e5", "g4??", "--format", "json")
    assert said.code == Exit.DONE
    assert '"line": "1. f3 e5 2. g4"' in said.out


def test_bare_replybook_says_what_it_is_where_the_library_lies_and_the_next_step(
    replybook, tmp_path: Path
) -> None:
    said = replybook()
    assert said.code == Exit.DONE
    assert len(said.out.splitlines()) == 5
    assert f"{tmp_path / 'library.duckdb'} (none yet)" in said.out
    assert "replybook add GAMES.pgn --collection NAME" in said.out
    (tmp_path / "library.duckdb").touch()
    assert "replybook replies e4 e5 Nf3" in replybook().out


def test_version_is_the_packages(replybook) -> None:
    assert replybook("--version").out == f"replybook {__version__}\n"


@pytest.mark.parametrize("command", ["", *COMMANDS, *GROUPED])
def test_help_is_short_and_fits_80_columns(replybook, command) -> None:
    said = replybook(*command.split(), "--help")
    assert said.code == Exit.DONE
    assert max(map(len, said.out.splitlines())) <= 80
    assert len(said.out.splitlines()) < 55
    assert not re.search(r"list\[|<str>|x>=", said.out)


def test_help_lists_every_command_with_a_whole_sentence(replybook) -> None:
    lines = replybook("--help").out.split("Commands:\n")[1].splitlines()
    assert [line.split()[0] for line in lines] == COMMANDS
    assert all(line.endswith(".") for line in lines)


def test_what_typer_may_raise_besides_keeps_its_own_words() -> None:
    assert complaint(TyperException("Odd.")) == (
        "replybook: odd; replybook --help says what belongs there"
    )


def test_numbers_and_choices_are_read_with_blanks_and_in_any_case() -> None:
    assert whole("--top", 1, 10, 5)(" 7 ") == 7
    assert one_of("--as", Side)(" White") is Side.WHITE
    with pytest.raises(UsageError, match="--as red: no such choice; write white or black"):
        one_of("--as", Side)("red")


def test_a_bug_keeps_its_traceback(replybook, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(_: object) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr(program, "library_path", broken)
    with pytest.raises(ZeroDivisionError):
        replybook()


def test_an_exit_code_of_a_command_is_the_programs(replybook, monkeypatch) -> None:
    def leave(_: object) -> None:
        raise typer.Exit(Exit.NOTHING_FOUND)

    monkeypatch.setattr(program, "library_path", leave)
    assert replybook().code == Exit.NOTHING_FOUND


def test_the_console_script_ends_with_the_code(replybook, monkeypatch) -> None:
    monkeypatch.setattr("sys.argv", ["replybook", "frobnicate"])
    with pytest.raises(SystemExit) as ended:
        program.run()
    assert ended.value.code == Exit.USAGE
