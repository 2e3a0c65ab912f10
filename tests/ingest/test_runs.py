"""Sorted runs: appending, merging, the summary, the rewrite."""

from pathlib import Path
from types import SimpleNamespace

import pytest

from ingest import loader, runs, schema
from ingest.digest import digest
from ingest.errors import LibraryError
from ingest.runs import Run, overlapping, tail_to_merge
from ingest.verify import verify
from tests.support.libraries import Game, add, ask, random_games, write


def run(number: int, rows: int, first: int = 0, last: int = 100) -> Run:
    return Run(number, rows, first, last, True)


def test_overlap_counts_runs_at_one_key() -> None:
    assert overlapping([]) == 0
    assert overlapping([run(1, 5, 0, 9), run(2, 5, 10, 19), run(3, 5, 9, 10)]) == 2
    assert overlapping([run(n, 1) for n in range(7)]) == 7


def test_few_runs_are_left_as_they_are() -> None:
    assert tail_to_merge([run(n, 10) for n in range(runs.MOST_RUNS)]) == []


def test_a_large_old_run_is_not_merged_with_small_new_ones() -> None:
    many = [run(1, 1_000_000), *(run(n, 10) for n in range(2, runs.MOST_RUNS + 2))]
    assert tail_to_merge(many) == many[1:]


def test_too_many_large_runs_are_merged_even_so() -> None:
    many = [run(n, 10**7 >> n) for n in range(runs.MOST_RUNS + 1)]
    tail = tail_to_merge(many)
    assert tail == many[-len(tail) :]
    assert len(many) - len(tail) + 1 == runs.MOST_RUNS - runs.SPARE_RUNS


@pytest.fixture
def weekly(tmp_path: Path) -> list[Path]:
    """A big file and twenty small ones that overlap with it."""
    files = []
    for n in range(21):
        path = tmp_path / f"{n}.pgn"
        path.write_text(random_games(n % 7, 150 if n == 0 else 4) + random_games(n, 3))
        files.append(path)
    return files


def test_weekly_adds_keep_runs_few_and_the_library_the_same(
    weekly: list[Path], tmp_path: Path
) -> None:
    one_by_one, at_once = tmp_path / "one", tmp_path / "all"
    merged = False
    before = 0
    for file in weekly:
        add(one_by_one, file)
        with schema.open_for_reading(one_by_one) as connection:
            now = len(runs.all_runs(connection))
        assert now <= runs.MOST_RUNS
        merged = merged or 1 < now < before
        before = now
    assert merged
    assert verify(one_by_one).problems == ()
    add(at_once, *weekly)
    assert digest(one_by_one) == digest(at_once)


def test_the_summary_counts_what_at_least_five_games_reached(tmp_path: Path) -> None:
    """Also when a later file brings a position over the bound."""
    library = tmp_path / "library"
    moves = "1. e4 e5", "1. e4 c5", "1. e4 e6"
    for n in range(3):
        games = [Game(white=f"Player {n} {move}", moves=move) for move in moves]
        add(library, write(tmp_path / f"{n}.pgn", *games))
        expected = "SELECT key, count(*) FROM visits GROUP BY key HAVING count(*) >= 5 ORDER BY key"
        assert ask(library, "SELECT * FROM positions ORDER BY key") == ask(library, expected)
    assert ask(library, "SELECT games FROM positions ORDER BY games") == [(9,), (9,)]


def test_positions_are_counted_the_same_in_slices(
    weekly: list[Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole, sliced = tmp_path / "whole", tmp_path / "sliced"
    add(whole, *weekly[:3])
    monkeypatch.setattr(runs, "SLICE_ROWS", 50)
    for file in weekly[:3]:
        add(sliced, file)
    assert digest(whole) == digest(sliced)


def test_a_rewrite_leaves_one_run_and_the_same_library(weekly: list[Path], tmp_path: Path) -> None:
    library = tmp_path / "library"
    add(library, *weekly[:3])
    before = digest(library)
    runs.tidy(library, rewrite=True)
    assert ask(library, "SELECT count(*) FROM runs") == [(1,)]
    assert verify(library).problems == ()
    assert digest(library) == before
    assert not (tmp_path / "library.new").exists()
    assert not add(library, weekly[4]).files[0].already_in
    assert verify(library).problems == ()


def test_an_empty_library_can_be_rewritten(tmp_path: Path) -> None:
    schema.create(tmp_path / "library")
    runs.tidy(tmp_path / "library", rewrite=True)
    assert verify(tmp_path / "library").problems == ()


def test_runs_that_make_up_most_of_the_library_are_merged_by_a_rewrite(
    weekly: list[Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(runs, "MOST_RUNS", 2)
    monkeypatch.setattr(runs, "SPARE_RUNS", 1)
    monkeypatch.setattr(loader, "RUN_ROWS", 1000)
    monkeypatch.setattr("ingest.reading.BLOCK_BYTES", 4000)
    monkeypatch.setattr("ingest.unpacking.CHUNK_BYTES", 2000)
    library = tmp_path / "library"
    add(library, weekly[0])
    assert ask(library, "SELECT count(*) FROM runs") == [(1,)]
    assert verify(library).problems == ()


def test_too_many_free_blocks_bring_a_rewrite(
    weekly: list[Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    library = tmp_path / "library"
    add(library, *weekly[:2])
    monkeypatch.setattr(runs, "SMALL_FILE", 0)
    monkeypatch.setattr(runs, "MOST_FREE", -1.0)
    size = library.stat().st_size
    add(library, *weekly[2:4])
    assert ask(library, "SELECT count(*) FROM runs") == [(1,)]
    assert library.stat().st_size <= 2 * size


def test_without_room_for_a_copy_the_library_stays_as_it_is(
    weekly: list[Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Which is no error: the games are in."""
    library = tmp_path / "library"
    monkeypatch.setattr(runs, "SMALL_FILE", 0)
    monkeypatch.setattr(runs, "MOST_FREE", -1.0)
    with monkeypatch.context() as full:
        full.setattr(runs.shutil, "disk_usage", lambda _: SimpleNamespace(free=0))
        add(library, *weekly[:2])
    assert ask(library, "SELECT count(*) FROM runs") == [(2,)]
    add(library, weekly[2])
    assert ask(library, "SELECT count(*) FROM runs") == [(1,)]


def test_a_rewrite_waits_for_a_reader_that_keeps_the_file(
    weekly: list[Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As happens on Windows; and gives up in one line."""
    library = tmp_path / "library"
    add(library, weekly[1])
    real, refusals = runs.os.replace, [PermissionError(13, "Access is denied")] * 3

    def refuse(source: Path, target: Path) -> None:
        if refusals:
            raise refusals.pop()
        real(source, target)

    monkeypatch.setattr(runs.time, "sleep", lambda _: None)
    monkeypatch.setattr(runs.os, "replace", refuse)
    runs.rewrite_library(library)
    assert verify(library).problems == ()
    refusals.extend([PermissionError(13, "Access is denied")] * 100)
    with pytest.raises(LibraryError, match="permission"):
        runs.rewrite_library(library)
    assert not (tmp_path / "library.new").exists()
    assert verify(library).problems == ()
