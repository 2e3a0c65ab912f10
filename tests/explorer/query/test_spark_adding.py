"""Files read by Spark become the dataset that one machine makes of them."""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import duckdb
import pytest

from explorer.cli.exits import Exit
from explorer.cli.main import main
from ingest.dataset import TABLES
from ingest.digest import digest
from ingest.errors import EngineTrouble
from ingest.loader import Counts
from ingest.parquet import export_parquet, library_from
from ingest.pipeline import AddOptions, AddReport, add_collection
from ingest.tags import Pace
from tests.support.libraries import BAD, CUT, Game, ask, random_games, sound, write
from tests.support.sparks import MASTER, need_spark

# The same worker as the other tests of Spark: they share its one session.
pytestmark = [pytest.mark.spark, pytest.mark.xdist_group("spark")]

VAGUE = {"2023.05.01": "2023.05.??", "2024.??.??": "????.??.??"}
OPTIONS = AddOptions(plies=24, pace=Pace.RAPID, unrated_as=850, rating_scale="club")


@pytest.fixture
def add_with_spark() -> Callable[..., Any]:
    """The call, where there is Spark."""
    need_spark()
    from explorer.query.spark_adding import add_with_spark

    return lambda folder, files, **more: add_with_spark(
        folder, list(map(str, files)), "club", OPTIONS, master=MASTER, **more
    )


@dataclass(frozen=True)
class Alone:
    """What one machine makes of files."""

    files: list[Path]
    library: Path
    report: AddReport


@pytest.fixture(scope="module")
def alone(tmp_path_factory: pytest.TempPathFactory) -> Alone:
    """Seven files that share many games, some with vaguer dates; one of them cannot be read."""
    folder = tmp_path_factory.mktemp("alone")
    games = ["[Event" + text for text in random_games(5, 90).split("[Event")[1:]]
    vaguer = games[:]
    for date, vague in VAGUE.items():
        vaguer = [game.replace(date, vague) for game in vaguer]
    nameless = Game(white="?", round="9")
    files = [
        write(folder / "a.pgn", *vaguer[:40], BAD, nameless),
        write(folder / "b.pgn", *games[20:70], CUT, nameless, nameless),
        write(folder / "c.pgn", *games[:90:3], *vaguer[60:], BAD),
        write(folder / "copy of b.pgn", *games[20:70], CUT, nameless, nameless),
        write(folder / "no games.pgn", "a letter"),
        write(folder / "d.pgn", *(game.replace("2023.05", "2022.05") for game in games[30:50])),
        write(folder / "e.pgn", *games[::-1]),
    ]
    library = folder / "alone.duckdb"
    report = add_collection(library, list(map(str, files)), "club", OPTIONS)
    return Alone(files, library, report)


def rows(folder: Path, table: str) -> list[Any]:
    file = str(folder / table / "**" / "*.parquet")
    secret = "EXCLUDE (fingerprint)" if table == "games" else ""  # each dataset has its own
    return duckdb.sql(f"SELECT * {secret} FROM read_parquet('{file}') ORDER BY ALL").fetchall()


@pytest.mark.parametrize("partitions", [2, 4])
def test_however_shared_out_the_dataset_is_that_of_one_machine(
    alone: Alone, add_with_spark: Callable[..., Any], tmp_path: Path, partitions: int
) -> None:
    """Digest, reports, and each row of each table, the ledger's too; and all counts add up."""
    report, moved = add_with_spark(tmp_path / "set", alone.files, partitions=partitions)
    library_from(str(tmp_path / "set"), tmp_path / "back.duckdb")
    assert digest(tmp_path / "back.duckdb") == digest(alone.library)
    sound(tmp_path / "back.duckdb")
    assert report.files == alone.report.files
    assert report.first_rejects == alone.report.first_rejects
    export_parquet(alone.library, tmp_path / "expected")
    for table in TABLES:
        assert rows(tmp_path / "set", table) == rows(tmp_path / "expected", table)
    assert (report.totals.rejected, report.totals.cut_short) == (2, 1)
    assert report.totals.duplicates > 100
    assert report.totals.add_up()
    ledger = ask(
        tmp_path / "back.duckdb",
        "SELECT sum(found), sum(added), sum(duplicates), sum(rejected), sum(left_out), "
        "sum(cut_short) FROM files",
    )
    assert Counts(*ledger[0]) == report.totals  # type: ignore[arg-type]
    assert moved.games == report.totals.added
    assert sorted(path.name for path in tmp_path.iterdir()) == ["back.duckdb", "expected", "set"]


def test_the_command_says_what_an_add_and_an_export_say(
    alone: Alone, add_with_spark: Callable[..., Any], tmp_path: Path, capsys
) -> None:
    """File by file, then the dataset; a file that cannot be read is named at the end."""
    words = ["--engine", "spark", "--master", MASTER, "--to-parquet", str(tmp_path / "set")]
    files = list(map(str, alone.files[3:5]))
    assert main(["add", *files, "--collection", "club", *words]) == Exit.BAD_INPUT
    said = capsys.readouterr()
    lines = said.out.splitlines()
    assert lines[0].startswith(f"{files[0]}: 53 found = ")
    assert lines[1] == f"{files[1]}: nothing kept"
    assert f"Dataset: {tmp_path / 'set'}" in lines
    assert not any(line.startswith("Library") for line in lines)
    assert said.err.startswith(f"{files[1]}: a text without a game in it")
    assert main(["add", files[1], "--collection", "club", *words[:-1], str(tmp_path / "no")]) == 3
    assert not list(tmp_path.glob("no*"))


def _dies() -> Callable[..., Any]:
    # Made here: what is defined in a function is sent as it is, not by its name.
    def dies(_: object, *, reader: object) -> None:
        os._exit(1)

    return dies


def _lacks() -> Callable[..., Any]:
    def lacks(_: object, *, reader: object) -> None:
        raise ModuleNotFoundError("No module named 'ingest'")

    return lacks


@pytest.mark.parametrize(
    ("work", "line"),
    [
        (_dies(), r"set: a part of Spark has failed and could not be replaced \(Python worker"),
        (_lacks(), r"set: Spark's machines need Replybook, too \(No module named 'ingest'\)"),
    ],
)
def test_a_process_of_spark_that_fails_leaves_nothing(
    alone: Alone,
    add_with_spark: Callable[..., Any],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    work: Callable[..., Any],
    line: str,
) -> None:
    """One line says what happened, and there is neither a dataset nor a beginning of one."""
    monkeypatch.setattr("explorer.query.spark_adding._pieces", work)
    with pytest.raises(EngineTrouble, match=line) as caught:
        add_with_spark(tmp_path / "set", alone.files)
    assert "\n" not in str(caught.value)
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize("place", ["export_parquet", "_sound"])
def test_an_interrupted_one_leaves_nothing(
    alone: Alone,
    add_with_spark: Callable[..., Any],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    place: str,
) -> None:
    """Neither while games are settled nor while the dataset is written."""

    def interrupted(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(f"explorer.query.spark_adding.{place}", interrupted)
    with pytest.raises(KeyboardInterrupt):
        add_with_spark(tmp_path / "set", alone.files[:2])
    assert not list(tmp_path.iterdir())
