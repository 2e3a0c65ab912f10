"""`add`: the summary, its JSON, and one line for each file that cannot be used."""

from __future__ import annotations

import bz2
import gzip
import io
import json
import os
import sys
import zipfile
from pathlib import Path

import pytest

from explorer.cli import console, progress
from explorer.cli.exits import Exit
from ingest import fastread, locks
from ingest.pipeline import Progress
from tests.support.club import AMBER, BIRK, CLUB, SCHOOL, Played, pgn

COUNTS = ("found", "added", "duplicates", "rejected", "left_out", "cut_short")
IN_CLUB = ("--collection", "club")


def write(path: Path, *games: Played) -> str:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(pgn(games or CLUB), "utf-8")
    return str(path)


def test_the_summary_counts_each_file_and_all_together(replybook, tmp_path: Path) -> None:
    write(tmp_path / "a.pgn")
    write(tmp_path / "b.pgn", *CLUB[:2], *SCHOOL)
    said = replybook("add", "a.pgn", "b.pgn", *IN_CLUB)
    assert said.code == Exit.DONE
    assert said.err == ""
    assert "a.pgn: 7 found = 7 added + 0 duplicates + 0 rejected + 0 left out\n" in said.out
    assert "b.pgn: 3 found = 1 added + 2 duplicates" in said.out
    assert "In all: 10 found = 8 added + 2 duplicates" in said.out
    assert "See them all: replybook rejects" in said.out
    assert f"Library: {tmp_path / 'library.duckdb'}, collection: club" in said.out


def test_a_missing_fast_reader_is_said_and_costs_only_time(
    replybook, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(fastread, "FAST_READER", False)
    write(tmp_path / "a.pgn")
    said = replybook("add", "a.pgn", *IN_CLUB)
    assert said.code == Exit.DONE
    assert "python-chess reads the games, which is slower" in said.err
    assert "7 found = 7 added" in said.out


def test_json_holds_the_identity_for_each_file_and_in_all(replybook, tmp_path: Path) -> None:
    broken = Played("1. e5 d4", AMBER, BIRK)
    cut = Played("1. e4 e5 2. Nf3 Nc6 3. Bb5 Kxe4", AMBER, BIRK, 900, 910)
    write(tmp_path / "Über.pgn", *CLUB, CLUB[0], broken, cut)
    write(tmp_path / "b.pgn", *SCHOOL)
    answer = json.loads(replybook("add", "Über.pgn", "b.pgn", *IN_CLUB, "--format", "json").out)
    first = answer["files"][0]
    assert first["name"] == "Über.pgn"
    for counted in (*answer["files"], answer):
        told = sum(counted[name] for name in ("added", "duplicates", "rejected", "left_out"))
        assert counted["found"] == told
    assert [first[name] for name in COUNTS] == [10, 9, 0, 1, 0, 1]
    for name in COUNTS:
        assert answer[name] == sum(file[name] for file in answer["files"])


def test_strict_rejects_what_is_else_cut_short_and_names_the_first(
    replybook, tmp_path: Path
) -> None:
    write(tmp_path / "a.pgn", Played("1. e4 e5 2. Nf3 Ke4", AMBER, BIRK), *SCHOOL)
    said = replybook("add", "a.pgn", *IN_CLUB, "--strict")
    assert "a.pgn: 2 found = 1 added + 0 duplicates + 1 rejected + 0 left out\n" in said.out
    assert "Rejected:\n  a.pgn, game 1, line 1: " in said.out
    assert "See them all: replybook rejects" in said.out


def test_a_game_cut_short_is_counted_among_the_added(replybook, tmp_path: Path) -> None:
    write(tmp_path / "a.pgn", Played("1. e4 e5 2. Nf3 Ke4", AMBER, BIRK))
    assert "0 left out; 1 of the added cut short\n" in replybook("add", "a.pgn", *IN_CLUB).out


def test_a_file_that_is_already_in_is_said_so_and_is_no_error(replybook, tmp_path: Path) -> None:
    write(tmp_path / "a.pgn")
    replybook("add", "a.pgn", *IN_CLUB)
    said = replybook("add", "a.pgn", *IN_CLUB)
    assert said.code == Exit.DONE
    assert "a.pgn: already in\n" in said.out


def test_options_reach_the_library(replybook, tmp_path: Path) -> None:
    write(tmp_path / "a.pgn", Played("1. e4 e5", AMBER, BIRK, tags=(("TimeControl", "?"),)))
    words = ("--moves", "1", "--pace", "blitz", "--unrated-as", "700", "--rating-scale", "club")
    assert replybook("add", "a.pgn", *IN_CLUB, *words).code == Exit.DONE
    said = replybook("replies", "--pace", "blitz", "--level", "under-800", "--format", "json")
    assert json.loads(said.out)["games"] == 1


def test_what_the_filters_leave_out_is_counted(replybook, tmp_path: Path) -> None:
    write(tmp_path / "a.pgn")
    words = ("--only-level", "under-1300", "--only-pace", "rapid", "--limit", "1")
    said = replybook("add", "a.pgn", *IN_CLUB, *words, "--sample", "1")
    assert "a.pgn: 7 found = 1 added + 0 duplicates + 0 rejected + 6 left out\n" in said.out
    assert "already in" in replybook("add", "a.pgn", *IN_CLUB, *words, "--sample", "1.0").out
    said = replybook("add", "a.pgn", *IN_CLUB, "--only-pace", "blitz", "--only-pace", "rapid")
    assert "7 found = 6 added + 1 duplicates + 0 rejected + 0 left out\n" in said.out


@pytest.mark.parametrize(
    ("option", "value", "line"),
    [
        ("--only-level", "1199-800", "level '1199-800': not a level; write 800-1199"),
        ("--only-pace", "slow", "pace 'slow': no such pace; write one of"),
        ("--sample", "10", "--sample 10: not a fraction above 0 and at most 1; write"),
        ("--sample", "", "--sample : not a fraction above 0 and at most 1; write"),
        ("--limit", "0", "--limit 0: not a whole number from 1 to"),
    ],
)
def test_a_filter_that_cannot_be_meant_gets_one_line(
    replybook, complains, tmp_path: Path, option, value, line
) -> None:
    write(tmp_path / "a.pgn")
    complains(replybook("add", "a.pgn", *IN_CLUB, option, value), Exit.USAGE, line)
    assert not (tmp_path / "library.duckdb").exists()


def test_globs_and_blanks_in_paths_are_understood_without_a_shell(
    replybook, tmp_path: Path
) -> None:
    """As in a shell that expands nothing."""
    write(tmp_path / "my games" / "a one.pgn", *CLUB)
    write(tmp_path / "my games" / "b.pgn", *SCHOOL)
    said = replybook("add", "my games/*.pgn", *IN_CLUB)
    assert "In all: 8 found = 8 added" in said.out


def test_games_come_through_a_pipe(replybook, monkeypatch: pytest.MonkeyPatch) -> None:
    stream = io.TextIOWrapper(io.BytesIO(pgn(CLUB).encode()))
    monkeypatch.setattr(sys, "stdin", stream)
    said = replybook("add", "-", *IN_CLUB)
    assert "standard input: 7 found = 7 added" in said.out


def _empty(path: Path) -> None:
    path.write_bytes(b"")


def _blank(path: Path) -> None:
    path.write_bytes(b" \n\n")


def _binary(path: Path) -> None:
    path.write_bytes(bytes(range(256)) * 40)


def _prose(path: Path) -> None:
    path.write_text("A text about a club evening.\n")


def _cut_gz(path: Path) -> None:
    path.write_bytes(gzip.compress(pgn(CLUB * 3).encode())[:-30])


def _damaged_bz2(path: Path) -> None:
    path.write_bytes(bz2.compress(pgn(CLUB).encode())[:60] + b"?" * 40)


@pytest.mark.parametrize(
    ("name", "make", "line"),
    [
        ("a.pgn", _empty, "a.pgn: empty; there is nothing to add"),
        ("a.pgn", _blank, "a.pgn: empty but for blanks; there is nothing to add"),
        ("a.pgn", _binary, "a.pgn: a binary file, not PGN; name a file of games"),
        ("a.pgn", _prose, "a.pgn: a text without a game in it; name a PGN file"),
        ("a.pgn.gz", _cut_gz, "a.pgn.gz: cut off before its end; get the file again"),
        ("a.pgn.bz2", _damaged_bz2, "a.pgn.bz2: damaged, cannot be unpacked; get the file again"),
    ],
)
def test_a_file_that_cannot_be_used_gets_one_line_and_the_others_go_in(
    replybook, complains, tmp_path: Path, name, make, line
) -> None:
    make(tmp_path / name)
    write(tmp_path / "good.pgn")
    said = replybook("add", name, "good.pgn", *IN_CLUB)
    complains(said, Exit.BAD_INPUT, line)
    assert f"{name}: nothing kept\n" in said.out
    assert "good.pgn: 7 found = 7 added" in said.out


def test_files_that_cannot_be_used_make_no_library(replybook, complains, tmp_path: Path) -> None:
    _prose(tmp_path / "a.pgn")
    said = replybook("add", "a.pgn", *IN_CLUB)
    complains(said, Exit.BAD_INPUT, "a.pgn: a text without a game in it")
    assert "Library:" not in said.out
    assert os.listdir(tmp_path) == ["a.pgn"]


def test_a_file_that_unpacks_to_far_more_than_its_size_needs_an_option(
    replybook, complains, tmp_path: Path, monkeypatch
) -> None:
    monkeypatch.setattr("ingest.unpacking.RATIO_FROM", 1 << 20)
    (tmp_path / "a.pgn.gz").write_bytes(gzip.compress(pgn(CLUB).encode() + b" " * (2 << 20)))
    line = "a.pgn.gz: unpacks to more than 200 times its size, as no games do; if you trust it"
    complains(replybook("add", "a.pgn.gz", *IN_CLUB), Exit.BAD_INPUT, line)
    said = replybook("add", "a.pgn.gz", *IN_CLUB, "--any-size")
    assert "7 found = 7 added" in said.out


@pytest.mark.parametrize(
    ("path", "line"),
    [
        ("no.pgn", "no.pgn: no such file or folder; look at the spelling"),
        ("*.pgn", "*.pgn: no such file or folder"),
        ("", "'': an empty name; name a file, a folder, or - for a pipe"),
        ("folder", "folder: no PGN file in this folder; name one with files that end in .pgn"),
        ("a.zip", "a.zip: no PGN file in this archive; name one with"),
    ],
)
def test_a_path_that_leads_to_no_games_gets_one_line_and_no_library(
    replybook, complains, tmp_path: Path, path, line
) -> None:
    (tmp_path / "folder").mkdir()
    (tmp_path / "folder" / "notes.txt").write_text("1. e4")
    with zipfile.ZipFile(tmp_path / "a.zip", "w") as archive:
        archive.writestr("notes.txt", "1. e4")
    complains(replybook("add", path, *IN_CLUB), Exit.BAD_INPUT, line)
    assert not (tmp_path / "library.duckdb").exists()


def test_an_empty_pipe_gets_one_line(replybook, complains, monkeypatch) -> None:
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO()))
    line = "standard input: empty; there is nothing to add"
    complains(replybook("add", "-", *IN_CLUB), Exit.BAD_INPUT, line)


def test_an_empty_collection_name_is_refused(replybook, complains, tmp_path: Path) -> None:
    write(tmp_path / "a.pgn")
    said = replybook("add", "a.pgn", "--collection", " ")
    complains(said, Exit.USAGE, "--collection: the name is empty; give the games a name")


def test_another_number_of_moves_than_the_librarys_is_refused(
    replybook, complains, tmp_path: Path
) -> None:
    write(tmp_path / "a.pgn")
    replybook("add", "a.pgn", *IN_CLUB, "--moves", "5")
    said = replybook("add", "a.pgn", *IN_CLUB, "--moves", "10")
    complains(said, Exit.USAGE, "keeps 5 moves of each game, not 10; leave --moves out")


@pytest.mark.parametrize("command", ["add a.pgn --collection club", "replies e4", "verify"])
@pytest.mark.parametrize(
    ("library", "line"),
    [
        ("notes.txt", "notes.txt: this is not a Replybook library; give the path of one"),
        ("folder", "folder: this is not a Replybook library; give the path of one"),
    ],
)
def test_a_library_that_is_none_gets_one_line(
    replybook, complains, tmp_path: Path, command, library, line
) -> None:
    write(tmp_path / "a.pgn")
    (tmp_path / "notes.txt").write_text("a text, no library")
    (tmp_path / "folder").mkdir()
    said = replybook(*command.split(), "--library", library)
    complains(said, Exit.LIBRARY_TROUBLE, line)


def test_a_library_below_a_file_gets_one_line(replybook, complains, tmp_path: Path) -> None:
    write(tmp_path / "a.pgn")
    said = replybook("add", "a.pgn", *IN_CLUB, "--library", "a.pgn/library.duckdb")
    complains(said, Exit.LIBRARY_TROUBLE, "a file stands where its folder should be; choose")


def test_a_read_only_folder_gets_one_line(
    replybook, complains, tmp_path: Path, monkeypatch
) -> None:
    """The system's refusal is played, because some users may write anywhere."""
    write(tmp_path / "a.pgn")

    def refuse(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", refuse)
    said = replybook("add", "a.pgn", *IN_CLUB)
    complains(said, Exit.LIBRARY_TROUBLE, "cannot be written there (Permission denied); choose")


def test_a_second_add_is_refused_while_one_runs(replybook, complains, tmp_path: Path) -> None:
    write(tmp_path / "a.pgn")
    with locks.held(tmp_path / "library.duckdb"):
        said = replybook("add", "a.pgn", *IN_CLUB)
    complains(said, Exit.LIBRARY_TROUBLE, "games are being added (process", "try again when")


def test_without_a_terminal_progress_is_a_quiet_line_now_and_then(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    clock = iter([0.0, 1.0, 11.0, 11.0, 12.0])
    monkeypatch.setattr(progress, "now", lambda: next(clock))
    with progress.watch() as hear:
        for games in (500, 12_500, 13_000):
            hear(Progress("big.pgn", games, 0, None))
    assert capsys.readouterr().err == "big.pgn: 12,500 games so far\n"


def test_on_a_terminal_a_bar_shows_games_speed_and_bytes(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each file's speed is its own: the second one began when the first was last heard of."""
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True)
    monkeypatch.setenv("TERM", "xterm")
    monkeypatch.setenv("COLUMNS", "100")
    clock = iter([0.0, 2.0, 3.0])
    monkeypatch.setattr(progress, "now", lambda: next(clock))
    with progress.watch() as hear:
        hear(Progress("a.pgn", 4_000, 1_000_000, 2_000_000))
        hear(Progress("b.pgn", 3_000, 2_000_000, 2_000_000))
    said = capsys.readouterr().err
    assert "b.pgn" in said
    assert "2.0/2.0 MB" in said
    assert "3,000 games" in said
    assert "3,000 a second" in said


def test_a_console_says_one_line_whatever_it_holds(capsys: pytest.CaptureFixture[str]) -> None:
    console.say("a\nb\x1b[2Jc")
    assert capsys.readouterr().err == "a b [2Jc\n"
