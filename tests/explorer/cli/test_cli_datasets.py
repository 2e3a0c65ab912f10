"""The commands about datasets: a library written as Parquet files, read back and asked."""

from __future__ import annotations

from pathlib import Path

import pytest

from explorer.cli.exits import Exit
from explorer.query.spark_session import session
from ingest.digest import digest
from tests.support.libraries import Game, write


def test_a_library_goes_out_and_comes_back(ask, club_library: Path, tmp_path: Path) -> None:
    """The commands say what went where, and the new library is the old one."""
    said = ask("export", "parquet", "club-set")
    assert said.code == Exit.DONE
    assert said.out.startswith("8 games and 41 visits in 4 parts, 0.0 MB.\nDataset: club-set\n")
    said = ask("add", "--from-parquet", "club-set", "--library", "back.duckdb")
    assert said.out == "8 games and 41 visits, all as they were.\nLibrary: back.duckdb\n"
    assert digest(tmp_path / "back.duckdb") == digest(club_library)


ASKED = (
    "replies e4 --by season",
    "orders e4 e5",
    "games e4 e5 --format json",
    "mistake e4 e5",
    "costly --min-games 1",
    "plans e4 e5 --within-moves 1",
    "habits --format csv",
)


@pytest.mark.parametrize("words", ASKED)
def test_a_dataset_is_asked_in_place_of_a_library(ask, tmp_path: Path, words: str) -> None:
    """The answer is the library's, to the letter; no library need be there."""
    ask("export", "parquet", "club set")
    expected = ask(*words.split())
    said = ask(*words.split(), "--dataset", "club set")
    assert said == expected
    assert said.code == Exit.DONE


@pytest.mark.parametrize(
    ("words", "line"),
    [
        (["replies", "--engine", "spark"], "it asks a dataset; name one with --dataset FOLDER"),
        (["mistake", "e4", "--engine", "spark"], "--engine spark: it asks a dataset; name one"),
        (["costly", "--dataset", "s", "--master", "local"], "--master: it says where Spark runs;"),
        (["costly", "--engine", "flint"], "--engine flint: no such choice; write spark"),
    ],
)
def test_spark_needs_a_dataset_and_the_word_for_it(ask, complains, words, line) -> None:
    complains(ask(*words), Exit.USAGE, line)


def test_without_java_a_command_is_one_line(ask, complains, monkeypatch, tmp_path: Path) -> None:
    """Library trouble: what should read it cannot run."""
    monkeypatch.setenv("JAVA_HOME", str(tmp_path))
    monkeypatch.setattr("explorer.query.spark_session.session", session.__wrapped__)
    monkeypatch.setattr("explorer.query.spark.session", session.__wrapped__)
    ask("export", "parquet", "set")
    said = ask("replies", "--dataset", "set", "--engine", "spark")
    complains(said, Exit.LIBRARY_TROUBLE, "--engine spark: there is no Java in JAVA_HOME (")


@pytest.mark.parametrize(
    ("words", "line"),
    [
        (["--engine", "spark"], "--engine spark: it makes a dataset; name one with --to-parquet"),
        (["--master", "local"], "--engine spark: it makes a dataset; name one with --to-parquet"),
        (["--to-parquet", "set"], "--to-parquet: Spark makes it; add --engine spark, or write a"),
        (
            ["--to-parquet", "set", "--engine", "spark", "--library", "x.duckdb"],
            "--to-parquet: it stands in for a library; leave --library out",
        ),
        (
            ["--to-parquet", "set", "--engine", "spark", "--remember", "Doe"],
            "--remember: a new dataset has forgotten no name; leave it out",
        ),
        (["--to-parquet", ".", "--engine", "spark"], ".: something is there already; name a new"),
        (["-", "--to-parquet", "set", "--engine", "spark"], "-: a pipe cannot be read by several"),
    ],
)
def test_what_spark_adds_becomes_a_new_dataset(ask, complains, tmp_path, words, line) -> None:
    write(tmp_path / "games.pgn", Game())
    complains(ask("add", "games.pgn", "--collection", "club", *words), Exit.USAGE, line)


def test_without_java_or_files_no_dataset_begins(
    ask, complains, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Both are one line, and nothing is left behind."""
    monkeypatch.setenv("JAVA_HOME", str(tmp_path))
    monkeypatch.setattr("explorer.query.spark_adding.session", session.__wrapped__)
    write(tmp_path / "games.pgn", Game())
    words = ("--collection", "club", "--engine", "spark", "--to-parquet", "set")
    said = ask("add", "games.pgn", *words)
    complains(said, Exit.LIBRARY_TROUBLE, "--engine spark: there is no Java in JAVA_HOME (")
    complains(ask("add", "none.pgn", *words), Exit.BAD_INPUT, "none.pgn: no such file or folder")
    assert not list(tmp_path.glob("set*"))


def test_a_dataset_and_a_library_are_too_much(ask, complains) -> None:
    said = ask("replies", "--dataset", "set", "--library", "x.duckdb")
    complains(said, Exit.USAGE, "--dataset: it stands in for a library; leave --library out")


def test_no_dataset_is_library_trouble(ask, complains) -> None:
    said = ask("replies", "--dataset", "nowhere")
    complains(said, Exit.LIBRARY_TROUBLE, "nowhere: there is no dataset of Replybook there; make")


@pytest.mark.parametrize(
    ("words", "code", "line"),
    [
        (["x.pgn", "--from-parquet", "set"], Exit.USAGE, "a dataset is taken as it is; leave PATH"),
        (["--from-parquet", "set", "--strict"], Exit.USAGE, "leave PATH and other options out"),
        (["--from-parquet", "set"], Exit.USAGE, "there is a library already"),
        (
            ["--from-parquet", "set", "--library", "new.duckdb"],
            Exit.BAD_INPUT,
            "set: there is no dataset of Replybook there; make one with: replybook export parquet",
        ),
    ],
)
def test_what_cannot_be_read_is_one_line(ask, complains, words, code, line) -> None:
    complains(ask("add", *words), code, line)


def test_a_folder_with_something_in_it_is_left_alone(ask, complains, tmp_path: Path) -> None:
    """Nothing is written where something lies."""
    (tmp_path / "notes.txt").write_text("mine")
    complains(ask("export", "parquet", "."), Exit.USAGE, ".: something is there already; name a")
