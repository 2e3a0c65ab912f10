"""A dataset asked through Spark answers as it does through DuckDB."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from explorer.cli.exits import Exit
from explorer.cli.main import main
from explorer.query.dataset import open_dataset
from explorer.query.library import Library
from explorer.query.orders import orders
from ingest import parquet
from ingest.dataset import SECRET
from ingest.errors import LibraryDamaged, LibraryMissing
from ingest.parquet import export_parquet
from tests.support.libraries import Game, add, write
from tests.support.questions import differences, questions, sample_library, sample_world
from tests.support.random_world import World, make_world
from tests.support.sparks import MASTER, need_spark

# One worker runs them all: a process has one Spark, and each takes time to start.
pytestmark = [pytest.mark.spark, pytest.mark.xdist_group("spark")]

KINDS = {"replies": 15, "mistake": 10, "costly": 3}  # a minute on two cores holds no more
HARD_WORDS = "x' OR 1=1 --", "back\\slash", 'say "hm"', "new\nline", "Żółć", "$1", "%", ""


@pytest.fixture(scope="module")
def spark() -> Callable[[str], Library]:
    """Opens datasets through the one session of Spark that all tests here share."""
    need_spark()
    from explorer.query.spark import open_with_spark

    return lambda address: open_with_spark(address, MASTER)


@pytest.fixture(scope="module", params=["small", "samples"])
def world(
    request: pytest.FixtureRequest,
    spark: Callable[[str], Library],
    tmp_path_factory: pytest.TempPathFactory,
) -> Iterator[tuple[World, str]]:
    """Random games and the sample games, in a library and in a dataset of several parts."""
    folder = tmp_path_factory.mktemp("world")
    if request.param == "small":
        made = make_world(folder, 8)
    else:
        made = sample_world(sample_library(folder), 9)
    with pytest.MonkeyPatch.context() as patch, made.library:
        patch.setattr(parquet, "PART_ROWS", 150 if request.param == "small" else 100_000)
        export_parquet(made.library.path, folder / "set")
        yield made, str(folder / "set")


@pytest.fixture(scope="module")
def names(tmp_path_factory: pytest.TempPathFactory) -> str:
    """A dataset of games by players whose names are hard to write in SQL."""
    folder = tmp_path_factory.mktemp("names")
    games = (Game(white="O'Hara, Zoë", round="1"), Game(white="Null, Ed", black_rating="-"))
    add(folder / "games.db", write(folder / "games.pgn", *games))
    export_parquet(folder / "games.db", folder / "set")
    return str(folder / "set")


def test_the_answers_are_those_of_the_library(
    world: tuple[World, str], spark: Callable[[str], Library]
) -> None:
    """Random questions have the same answers: counts exactly, other numbers to 1e-12."""
    made, address = world
    answered = 0
    with spark(address) as opened:
        for question in questions(made, KINDS):
            expected = question.answer(made.library)
            assert differences(expected, question.answer(opened)) == [], question
            answered += not isinstance(expected, tuple)
    assert answered > 15


@contextmanager
def both(address: str, spark: Callable[[str], Library]) -> Iterator[list[Any]]:
    """Cursors of DuckDB and of Spark to the same dataset."""
    with ExitStack() as stack:
        opened = [stack.enter_context(asked) for asked in (open_dataset(address), spark(address))]
        yield [stack.enter_context(asked.reading())[0] for asked in opened]


SELECTS = (
    "SELECT * FROM visits WHERE key = $key ORDER BY game_id",
    "SELECT id, white_id, white_rating, result, played, mainline, fingerprint, start_fen "
    "FROM games ORDER BY id",
    "SELECT count(*), sum(ply), max(mated), min(swing) FROM visits",
    "SELECT id::UINTEGER, 1::UTINYINT, 2::USMALLINT, 18446744073709551615::UBIGINT FROM games "
    "ORDER BY id",
)


@pytest.mark.parametrize("sql", SELECTS)
def test_answers_have_the_types_of_duckdb(
    world: tuple[World, str], spark: Callable[[str], Library], sql: str
) -> None:
    """Arrays have DuckDB's types, names and masks, and rows its values."""
    made, address = world
    key = made.position().key
    params = {"key": key} if "$key" in sql else {}
    with both(address, spark) as cursors:
        arrays = [cursor.execute(sql, params).fetchnumpy() for cursor in cursors]
        rows = [cursor.execute(sql, params).fetchall() for cursor in cursors]
    assert rows[0] == rows[1]
    assert list(arrays[0]) == list(arrays[1])
    for expected, found in zip(arrays[0].values(), arrays[1].values(), strict=True):
        assert expected.dtype == found.dtype
        assert np.array_equal(np.ma.getmaskarray(expected), np.ma.getmaskarray(found))


def test_temporary_tables_stay_with_their_cursor(
    names: str, spark: Callable[[str], Library]
) -> None:
    """What is put aside can be joined with the files, and read back, until the question ends."""
    with spark(names) as opened:
        with opened.reading() as (cursor, _):
            cursor.execute("CREATE OR REPLACE TEMP TABLE a AS SELECT unnest($1) AS id", [[1, 2, 9]])
            cursor.execute("CREATE OR REPLACE TEMP TABLE b AS SELECT id, plies FROM games")
            joined = "SELECT count(*), sum(b.plies)::INTEGER FROM a JOIN b USING (id)"
            assert cursor.execute(joined).fetchall() == [(2, 22)]
            through = "SELECT id, b.plies FROM games JOIN b USING (id) JOIN a USING (id) ORDER BY 1"
            assert cursor.execute(through).fetchone() == (1, 11)
            cursor.interrupt()
        with opened.reading() as (cursor, _), pytest.raises(Exception, match="does not exist"):
            cursor.execute("SELECT * FROM b")


@pytest.mark.parametrize("word", [*HARD_WORDS, "oharazoe"])
def test_words_stay_words(names: str, spark: Callable[[str], Library], word: str) -> None:
    """Whatever stands in a value is compared, never read as SQL."""
    sql = (
        "SELECT $1 AS word, count(*) AS n FROM players "
        "WHERE same = $1 OR name IN (SELECT unnest($2))"
    )
    params = [word, [word, "O'Hara, Zoë"]]
    with both(names, spark) as cursors:
        expected, found = (cursor.execute(sql, params).fetchall() for cursor in cursors)
    assert expected == found


def test_spark_reads_only_the_part_in_which_a_key_lies(
    world: tuple[World, str], spark: Callable[[str], Library]
) -> None:
    """The plan of a look-up has the part as a condition on folders, the key as one on files."""
    from explorer.query.pruning import narrowed
    from explorer.query.spark import Tables
    from explorer.query.translate import translated

    made, address = world
    key = made.position().key
    plans = []

    def planned(self: Tables, sql: str) -> object:
        plans.append(self.spark.sql(sql)._jdf.queryExecution().executedPlan().toString())
        return rows(self, sql)

    rows = Tables.rows
    with pytest.MonkeyPatch.context() as patch, spark(address) as opened:
        patch.setattr(Tables, "rows", planned)
        with opened.reading() as (cursor, _):
            cursor.execute("SELECT move FROM visits WHERE key = $key", {"key": key}).fetchall()
    assert translated(narrowed("SELECT 1 FROM visits", None, 1), None).tables == {"visits"}
    assert "PartitionFilters: [isnotnull(part" in plans[0]
    assert "PushedFilters: [" in plans[0]
    assert "EqualTo(key," in plans[0]


def test_the_commands_say_the_same(names: str, spark: object, capsys) -> None:
    """`replies`, `mistake` and `costly` print through Spark what they print without it."""
    for words in ("replies e4 e5 --by pace", "mistake e4 e5", "costly --min-games 1"):
        said = []
        for through in ((), ("--engine", "spark", "--master", MASTER)):
            code = main([*words.split(), "--dataset", names, *through])
            said.append((code, *capsys.readouterr()))
        assert said[0] == said[1]
        assert said[0][0] == Exit.DONE


def test_a_dataset_in_pieces_is_one_line(
    tmp_path: Path, world: tuple[World, str], spark: Callable[[str], Library]
) -> None:
    """No dataset, and one with broken files, are said in one line."""
    made, address = world
    with pytest.raises(LibraryMissing, match="there is no dataset of Replybook there"):
        spark(str(tmp_path))
    broken = shutil.copytree(address, tmp_path / "set", ignore=shutil.ignore_patterns(SECRET))
    with spark(str(broken)) as opened:
        for file in broken.glob("visits/*/*"):
            file.write_bytes(b"PAR1" + b"x" * 200)
        with pytest.raises(LibraryDamaged, match=r"set: the dataset is damaged; export it again"):
            orders(opened, made.position(), made.filters())


ENDS = """
import os, signal, sys
from explorer.cli.main import main
from explorer.query import spark_session

words = ["replies", "--dataset", sys.argv[1], "--engine", "spark", "--master"]
print(int(main([*words, "mars[2]"])))
spark_session.session.cache_clear()
print(int(main([*words, "local[2]"])))
from pyspark import SparkContext
os.kill(SparkContext._gateway.proc.pid, signal.SIGKILL)
SparkContext._gateway.proc.wait()
print(int(main([*words, "local[2]"])))
"""


def test_a_place_without_spark_and_one_that_dies_are_one_line(
    names: str, spark: object, tmp_path: Path
) -> None:
    """A master that is none, and a Spark that is killed, end the command with one line each."""
    done = subprocess.run(
        [sys.executable, "-c", ENDS, names],
        env={**os.environ, "SPARK_LOCAL_DIRS": str(tmp_path)},  # what is killed leaves things there
        capture_output=True,
        text=True,
        check=False,
    )
    lines = done.stderr.splitlines()
    assert lines[0].startswith("--engine spark: Spark does not start (")
    assert "Master must" in lines[0]
    assert lines[1:] == [f"{names}: Spark has ended while it was asked; run the command again"]
    codes = [line for line in done.stdout.splitlines() if line.isdecimal()]
    assert codes == ["4", "0", "4"]
