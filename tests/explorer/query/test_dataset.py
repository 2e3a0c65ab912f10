"""A dataset answers as the library does from which it was exported."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from random import Random

import duckdb
import pytest

from explorer.query.dataset import open_dataset
from explorer.query.filters import Filters
from explorer.query.games import games
from explorer.query.habits import habits
from explorer.query.library import Library
from explorer.query.orders import orders
from explorer.query.plans import plans
from explorer.query.pruning import Pruned, narrowed
from ingest import parquet
from ingest.dataset import connect, make_views, part_of, read_manifest, signed
from ingest.errors import LibraryDamaged, LibraryMissing
from ingest.parquet import export_parquet
from tests.support.questions import (
    Question,
    differences,
    questions,
    sample_library,
    sample_world,
)
from tests.support.random_world import World, make_world

KINDS = {"replies": 110, "mistake": 60, "costly": 30}
TOP = 1 << 63


def exported(library: Path, folder: Path, rows: int) -> str:
    """The dataset of a library, in parts of so many visits."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(parquet, "PART_ROWS", rows)
        patch.setattr(parquet, "ROW_GROUP", 4096)
        export_parquet(library, folder)
    return str(folder)


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[World, Library]]:
    """Random games in a library and in a dataset of 16 parts."""
    folder = tmp_path_factory.mktemp("small")
    world = make_world(folder, 4)
    address = exported(world.library.path, folder / "set", 150)
    with world.library, open_dataset(address) as dataset:
        yield world, dataset


@pytest.fixture(scope="module")
def samples(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[World, Library]]:
    """The sample games in a library and in a dataset of 8 parts."""
    folder = tmp_path_factory.mktemp("samples")
    library = sample_library(folder)
    address = exported(library, folder / "set", 50_000)
    world = sample_world(library, 5)
    with world.library, open_dataset(address) as dataset:
        yield world, dataset


@pytest.mark.parametrize("games", ["small", "samples"])
def test_the_answers_are_the_same(games: str, request: pytest.FixtureRequest) -> None:
    """200 random questions have the same answers: counts exactly, other numbers to 1e-12."""
    world, dataset = request.getfixturevalue(games)
    answered = 0
    for question in questions(world, KINDS):
        expected = question.answer(world.library)
        assert differences(expected, question.answer(dataset)) == [], question
        answered += not isinstance(expected, tuple)
    assert answered > 80


def test_every_other_question_comes_free(small: tuple[World, Library]) -> None:
    """Orders, games, plans and habits are asked of a dataset as of a library."""
    world, dataset = small
    answered = 0
    for _ in range(15):
        position, filters = world.position(), world.filters()
        for ask in (orders, games, plans, lambda library, _, chosen: habits(library, chosen)):
            question = Question(ask, position, filters)
            expected = question.answer(world.library)
            assert differences(expected, question.answer(dataset)) == [], question
            answered += not isinstance(expected, tuple)
    assert answered > 15


def test_a_key_is_looked_for_where_it_lies(samples: tuple[World, Library]) -> None:
    """A look-up opens one of the files, and reads one stretch of it when the position is rare."""
    _, dataset = samples
    with dataset.reading() as (cursor, _):
        rare, common = (
            cursor.execute(
                f"SELECT key FROM visits GROUP BY key ORDER BY count(*) {way}, key LIMIT 1"
            ).fetchall()[0][0]
            for way in ("", "DESC")
        )
        for key in (rare, common):
            sql = "EXPLAIN ANALYZE SELECT move, mated FROM visits WHERE key = $key"
            ((_, told),) = cursor.execute(sql, {"key": key}).fetchall()
            assert "Scanning Files: 1/8" in told
            read, there = map(int, re.findall(r"Row Groups Scanned: (\d+) / (\d+)", told)[0])
            assert read < there
            assert read == 1 or key == common


CONDITIONS = (
    "key = $one",
    "key = $two AND move <> 0",
    "key = {one} OR ply = 1",
    "NOT key = $one AND ply < 3",
    "key BETWEEN {one} AND {two}",
    "key BETWEEN {two} AND {one}",
    "key BETWEEN 0 AND {two} AND ply > 1",
    "NOT (key BETWEEN {two} AND 18446744073709551615)",
    "key IN ({one}, {two}, 7)",
    "key IN ({two})",
    "ply = 2 AND key NOT IN (7)",
)


@pytest.mark.parametrize("condition", CONDITIONS)
def test_what_is_added_changes_no_answer(small: tuple[World, Library], condition: str) -> None:
    """With and without the places of its keys a condition chooses the same visits."""
    world, dataset = small
    address = str(dataset.path)
    draw = Random(condition)
    with connect(address) as plain, world.library.reading() as (library, _):
        manifest = read_manifest(plain, address)
        make_views(plain, address, manifest)
        pruned = Pruned(plain, manifest.key_bits)
        keys = [key for (key,) in library.execute("SELECT DISTINCT key FROM visits").fetchall()]
        for _ in range(5):
            keys_of = {"one": draw.choice(keys), "two": draw.choice(keys)}
            sql = condition.format(**keys_of)
            params = {name: key for name, key in keys_of.items() if f"${name}" in sql}
            sql = f"SELECT count(*), sum(game_id * ply) FROM visits WHERE {sql}"
            counts = [asked.execute(sql, params).fetchall() for asked in (library, plain, pruned)]
            assert counts[0] == counts[1] == counts[2]


def test_places_stand_beside_fixed_keys() -> None:
    """Equalities, ranges and lists of numbers get parts and signed keys; nothing else does."""
    high = TOP + 5
    assert narrowed("key = $k", {"k": high}, 4) == (
        f"(key = $k AND part = 8 AND signed_key = {5 - TOP})"
    )
    assert narrowed("key = $2", [0, 3], 2) == "(key = $2 AND part = 0 AND signed_key = 3)"
    assert narrowed("key BETWEEN 3 AND 9", None, 2) == (
        "(key BETWEEN 3 AND 9 AND part BETWEEN 0 AND 0 AND signed_key BETWEEN 3 AND 9)"
    )
    assert narrowed(f"key BETWEEN 3 AND {high}", None, 2) == (
        f"(key BETWEEN 3 AND {high} AND part BETWEEN 0 AND 2)"
    )
    assert narrowed(f"key IN (1, {high})", None, 2) == (
        f"(key IN (1, {high}) AND part IN (0, 2) AND signed_key IN (1, {5 - TOP}))"
    )
    for sql in ("key = other", "monkey = 5", "key IN (SELECT 1)", "USING (key)", "key >= 3"):
        assert narrowed(sql, {}, 2) == sql
    assert (signed(TOP), part_of(TOP, 1)) == (-TOP, 1)


def test_a_cursor_has_tables_of_its_own(small: tuple[World, Library]) -> None:
    """What one question puts aside the next does not see."""
    _, dataset = small
    with dataset.reading() as (cursor, _):
        cursor.execute("CREATE TEMP TABLE aside AS SELECT 1 AS one")
        cursor.interrupt()
    with dataset.reading() as (cursor, _), pytest.raises(duckdb.CatalogException):
        cursor.execute("FROM aside")


def test_no_dataset_is_one_line(tmp_path: Path) -> None:
    """Where there is none, the line says how to make one."""
    with pytest.raises(LibraryMissing, match="make one with: replybook export parquet FOLDER"):
        open_dataset(str(tmp_path))


def test_what_breaks_while_asked_is_one_line(tmp_path: Path) -> None:
    """A file that goes or breaks after the opening is said in one line."""
    world = make_world(tmp_path, 6)
    world.library.let_go()
    address = exported(world.library.path, tmp_path / "set", 150)
    with open_dataset(address) as dataset:
        for file in (tmp_path / "set").glob("visits/*/*"):
            file.write_bytes(file.read_bytes()[:100])
        with pytest.raises(LibraryDamaged, match=r"set: the dataset is damaged; export it again"):
            orders(dataset, world.position(), Filters())
