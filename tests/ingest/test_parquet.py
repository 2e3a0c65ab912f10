"""A library written as Parquet files and read back is the same library."""

from __future__ import annotations

import json
import os
import shutil
import stat
import sys
from pathlib import Path

import duckdb
import pytest

from ingest import dataset, parquet
from ingest.digest import digest, digest_of
from ingest.errors import InputError, LibraryMissing, UsageError
from ingest.forgetting import forget
from ingest.parquet import export_parquet, key_bits_for, library_from
from tests.support.libraries import (
    BAD,
    CUT,
    Game,
    add,
    ask,
    random_games,
    sound,
    write,
)

FORGOTTEN = Game(white="Zorn, Ida", event="Zorn Memorial")


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a library and its dataset, both to be copied.

    Two collections with duplicates, a rejected game, one cut short and a forgotten name.
    """
    folder = tmp_path_factory.mktemp("made")
    path = folder / "games.db"
    games = folder / "club.pgn"
    games.write_text(random_games(1, 60))
    add(path, games)
    add(path, write(folder / "school.pgn", BAD, CUT, FORGOTTEN, Game(), Game()), collection="s")
    forget(path, ["Zorn, Ida"])
    export_parquet(path, folder / "set")
    return folder


@pytest.fixture
def library(made: Path, tmp_path: Path) -> Path:
    """The library of the test."""
    return Path(shutil.copy(made / "games.db", tmp_path))


@pytest.fixture
def folder(made: Path, tmp_path: Path) -> Path:
    """The dataset of the test."""
    return Path(shutil.copytree(made / "set", tmp_path / "set"))


def test_a_library_comes_back_equal(library: Path, tmp_path: Path) -> None:
    """The library made of a dataset has the digest of the one exported, and is sound."""
    moved = export_parquet(library, tmp_path / "set")
    back = library_from(str(tmp_path / "set"), tmp_path / "new" / "back.db")
    assert digest(tmp_path / "new" / "back.db") == digest(library)
    sound(tmp_path / "new" / "back.db")
    ((games, visits),) = ask(library, "SELECT (SELECT count(*) FROM games), count(*) FROM visits")
    assert (moved.games, moved.visits) == (games, visits) == (back.games, back.visits)
    assert moved.bytes is not None
    assert not (tmp_path / "set.new").exists()


def test_many_parts_come_back_in_order(
    library: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """However many parts there are, the new library is one sorted run."""
    monkeypatch.setattr(parquet, "PART_ROWS", 50)
    moved = export_parquet(library, tmp_path / "set")
    library_from(str(tmp_path / "set"), tmp_path / "back.db")
    assert moved.parts == len(list((tmp_path / "set" / "visits").iterdir())) >= 32
    assert digest(tmp_path / "back.db") == digest(library)
    sound(tmp_path / "back.db")


def test_an_empty_library_comes_back(tmp_path: Path) -> None:
    """A library whose only file held nothing but a rejected game can be exported, too."""
    add(tmp_path / "games.db", write(tmp_path / "bad.pgn", BAD))
    export_parquet(tmp_path / "games.db", tmp_path / "set")
    library_from(str(tmp_path / "set"), tmp_path / "back.db")
    assert digest(tmp_path / "back.db") == digest(tmp_path / "games.db")


def test_the_new_library_goes_on_as_the_old_one(
    library: Path, folder: Path, tmp_path: Path
) -> None:
    """Duplicates are found and forgotten names left out in the library made of a dataset."""
    library_from(str(folder), tmp_path / "back.db")
    again = write(tmp_path / "again.pgn", FORGOTTEN, Game(), Game(white="Zorn, Ida", round="7"))
    for path in (library, tmp_path / "back.db"):
        report = add(path, again, collection="again")
        assert (report.totals.duplicates, report.totals.added) == (3, 0)
    assert digest(tmp_path / "back.db") == digest(library)
    assert ask(tmp_path / "back.db", "SELECT * FROM players WHERE name ILIKE '%zorn%'") == []


def test_the_tables_of_a_dataset_have_the_digest(
    library: Path, folder: Path, tmp_path: Path
) -> None:
    """DuckDB's views over the files say what the library says, type for type."""
    address = str(folder)
    with dataset.connect(address) as connection:
        manifest = dataset.read_manifest(connection, address)
        dataset.make_views(connection, address, manifest)
        secret = dataset.read_secret(connection, address)
        meta = {"schema_version": "1", "plies": str(manifest.plies), **secret}
        connection.execute("CREATE TABLE meta (name VARCHAR, value VARCHAR)")
        connection.executemany("INSERT INTO meta VALUES (?, ?)", list(meta.items()))
        assert digest_of(connection) == manifest.digest == digest(library)


def test_the_files_lie_as_promised(library: Path, folder: Path, tmp_path: Path) -> None:
    """Keys are signed, in order within their part, compressed with zstd, with statistics."""
    bits = json.loads((folder / dataset.MANIFEST).read_text())["key_bits"]
    for part in range(1 << bits):
        file = str(folder / dataset.part_folder(part) / "visits.parquet")
        rows = duckdb.sql(f"SELECT key, move, game_id FROM read_parquet('{file}')").fetchall()
        assert rows == sorted(rows)
        keys = {key % (1 << 64) for key, *_ in rows}
        assert {dataset.part_of(key, bits) for key in keys} == {part}
        assert all(dataset.signed(key) == key - (key >> 63 << 64) for key in keys)
        columns = duckdb.sql(
            "SELECT compression, type, stats_min_value::BIGINT, stats_max_value::BIGINT "
            f"FROM parquet_metadata('{file}') WHERE path_in_schema = 'key'"
        ).fetchall()
        assert columns == [("ZSTD", "INT64", rows[0][0], rows[-1][0])]


def test_the_secret_is_apart_and_its_owners_alone(
    library: Path, folder: Path, tmp_path: Path
) -> None:
    """The manifest holds no secret; the file that does is read by its owner alone."""
    ((key,),) = ask(library, "SELECT value FROM meta WHERE name = 'fingerprint_key'")
    holding = [file.name for file in (folder).rglob("_*") if str(key) in file.read_text()]
    assert holding == [dataset.SECRET]
    if sys.platform != "win32":
        assert stat.S_IMODE((folder / dataset.SECRET).stat().st_mode) == 0o600


def test_the_number_of_parts_grows_with_the_visits() -> None:
    """At least four parts, about half a million visits each, at most 4,096."""
    sizes = (0, 1, 2_000_000, 2_000_001, 40_000_000, 40_000_000_000)
    assert [1 << key_bits_for(size) for size in sizes] == [4, 4, 4, 8, 128, 4096]


def test_what_is_there_is_never_overwritten(library: Path, folder: Path, tmp_path: Path) -> None:
    """A folder with something in it, a file, and a library stay as they are."""
    (tmp_path / "full").mkdir()
    (tmp_path / "full" / "thesis.txt").write_text("years of work")
    for place in (tmp_path / "full", library):
        with pytest.raises(UsageError, match="something is there already; name a new folder"):
            export_parquet(library, place)
    with pytest.raises(UsageError, match="there is a library already"):
        library_from(str(folder), library)
    assert [file.name for file in (tmp_path / "full").iterdir()] == ["thesis.txt"]


def test_an_empty_folder_and_what_a_killed_export_left_are_taken(
    library: Path, tmp_path: Path
) -> None:
    """An empty folder is as good as none; half a dataset beside it goes."""
    (tmp_path / "set").mkdir()
    (tmp_path / "set.new").mkdir()
    (tmp_path / "set.new" / "half").write_text("x")
    export_parquet(library, tmp_path / "set")
    assert not list((tmp_path / "set").glob("half"))
    library_from(str(tmp_path / "set"), tmp_path / "back.db")


def test_half_a_dataset_never_stands(
    library: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """When the last table cannot be written there is no folder, and the reason is one line."""

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(parquet, "finish", full)
    with pytest.raises(InputError, match=r"set: cannot be written \(No space left on device\)"):
        export_parquet(library, tmp_path / "set")
    assert not list(tmp_path.glob("set*"))


def test_a_place_that_takes_no_folder_is_named(library: Path, tmp_path: Path) -> None:
    """Where a parent is a file, the line says so."""
    (tmp_path / "file").write_text("")
    with pytest.raises(InputError, match="cannot be written"):
        export_parquet(library, tmp_path / "file" / "set")


def refused(address: Path, tmp_path: Path) -> str:
    """The one line that says why no library was made; there is none then."""
    with pytest.raises(InputError) as caught:
        library_from(str(address), tmp_path / "back.db")
    assert not list(tmp_path.glob("back.db*"))
    line = str(caught.value)
    assert line.startswith(f"{address}: ")
    assert "\n" not in line
    return line


def test_no_dataset_is_one_line(tmp_path: Path) -> None:
    """A folder without manifest, or none at all, is no dataset."""
    for place in (tmp_path, tmp_path / "nowhere"):
        assert "there is no dataset of Replybook there; make one with" in refused(place, tmp_path)


DAMAGED = {
    "no JSON": lambda folder: (folder / dataset.MANIFEST).write_text("{"),
    "a list": lambda folder: (folder / dataset.MANIFEST).write_text("[]"),
    "bad results": lambda folder: changed(folder, results=[[1, "x", 2]]),
    "results told wrongly": lambda folder: changed(folder, results=[[1, 1, 1]]),
    "another digest": lambda folder: changed(folder, digest="0" * 64),
    "no bits": lambda folder: changed(folder, key_bits=None),
    "rows missing": lambda folder: changed(folder, counts={"visits": 1}),
    "a part missing": lambda folder: (folder / "visits/part=0001/visits.parquet").unlink(),
    "a table missing": lambda folder: (folder / "players/players.parquet").unlink(),
    "a file cut": lambda folder: cut(folder / "games/games.parquet", 0.5),
    "a file emptied": lambda folder: cut(folder / "games/games.parquet", 0.0),
    "another file": lambda folder: foreign(folder / "games/games.parquet"),
    "bytes turned": lambda folder: turned(folder / "visits/part=0002/visits.parquet"),
}


def changed(folder: Path, **values: object) -> None:
    said = json.loads((folder / dataset.MANIFEST).read_text())
    for name, value in values.items():
        said[name] = {**said[name], **value} if isinstance(value, dict) else value
    (folder / dataset.MANIFEST).write_text(json.dumps(said))


def cut(file: Path, share: float) -> None:
    file.write_bytes(file.read_bytes()[: int(file.stat().st_size * share)])


def foreign(file: Path) -> None:
    duckdb.sql(f"COPY (SELECT 1 AS id, 'elm' AS tree) TO '{file}' (FORMAT parquet)")


def turned(file: Path) -> None:
    data = bytearray(file.read_bytes())
    for place in range(20, len(data) // 2):
        data[place] ^= 0x5A
    file.write_bytes(data)


@pytest.mark.parametrize("damage", DAMAGED)
def test_a_damaged_dataset_is_one_line(folder: Path, tmp_path: Path, damage: str) -> None:
    """Whatever is wrong with a dataset, no library is made and one line says why."""
    DAMAGED[damage](folder)
    assert "the dataset is damaged; export it again" in refused(folder, tmp_path)


def test_another_schema_is_one_line(folder: Path, tmp_path: Path) -> None:
    """A dataset of another schema is refused with both numbers."""
    changed(folder, schema_version=9)
    assert "has schema 9, this program reads 1" in refused(folder, tmp_path)


def test_another_duckdb_may_hash_otherwise(library: Path, folder: Path, tmp_path: Path) -> None:
    """The digest of another version of DuckDB is not compared."""
    changed(folder, digest="0" * 64, duckdb="0.0.1")
    library_from(str(folder), tmp_path / "back.db")
    assert digest(tmp_path / "back.db") == digest(library)


def test_without_its_secret_no_library_is_made(folder: Path, tmp_path: Path) -> None:
    """A dataset that was handed on without its secret can only be asked."""
    os.unlink(folder / dataset.SECRET)
    assert "_secret.json is missing" in refused(folder, tmp_path)


def test_a_store_that_cannot_be_reached_is_one_line(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without DuckDB's extension for it, a place in a store is one line."""

    class Alone:
        def execute(self, sql: str) -> None:
            raise duckdb.HTTPException(f"HTTP Error: {sql}: no network")

    monkeypatch.setattr("ingest.schema.connect_to_none", Alone)
    with pytest.raises(Exception, match=r"^s3://club/set: the place cannot be reached; check"):
        dataset.connect("s3://club/set")


def test_the_library_to_export_is_looked_for(tmp_path: Path) -> None:
    """Where there is no library there is nothing to export."""
    with pytest.raises(LibraryMissing):
        export_parquet(tmp_path / "none.db", tmp_path / "set")
    assert not (tmp_path / "set").exists()
