"""Which records are one game."""

from collections.abc import Iterator
from pathlib import Path

import duckdb
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ingest import schema
from ingest.duplicates import KnownGames, Verdict, date_codes, refines

YEAR, MONTH, DAY, OTHER_DAY, OTHER_YEAR = 20200000, 20200300, 20200305, 20200306, 20210000


@pytest.fixture
def connection(tmp_path: Path) -> Iterator[duckdb.DuckDBPyConnection]:
    schema.create(tmp_path / "library")
    with schema.open_for_writing(tmp_path / "library") as opened:
        yield opened


def judge(
    known: KnownGames, records: list[tuple[int, int, int]], sha: str = "a", first_id: int = 1
) -> Verdict:
    """Records as (fingerprint, date, number)."""
    fingerprints, dates, numbers = (np.array(column) for column in zip(*records, strict=True))
    source = known.source_number(sha * 64)
    return known.judge(
        fingerprints.astype(np.uint64), dates.astype(np.int32), numbers, source, first_id
    )


@pytest.mark.parametrize(
    ("fuller", "vaguer", "expected"),
    [
        (DAY, DAY, True),
        (DAY, MONTH, True),
        (DAY, YEAR, True),
        (DAY, 0, True),
        (MONTH, YEAR, True),
        (0, 0, True),
        (DAY, OTHER_DAY, False),
        (YEAR, MONTH, False),
        (0, YEAR, False),
        (OTHER_YEAR, YEAR, False),
        (DAY, OTHER_YEAR, False),
        (20200405, MONTH, False),
    ],
)
def test_a_date_refines_what_it_repeats_and_adds_to(
    fuller: int, vaguer: int, expected: bool
) -> None:
    assert refines(fuller, vaguer) is expected


def test_date_codes_hold_zeros_for_what_is_not_given() -> None:
    codes = date_codes(
        np.array([2020, 2020, 0], np.uint16),
        np.array([3, 0, 0], np.uint8),
        np.array([5, 0, 0], np.uint8),
    )
    assert codes.tolist() == [DAY, YEAR, 0]


def test_games_with_different_fingerprints_are_all_new(
    connection: duckdb.DuckDBPyConnection,
) -> None:
    verdict = judge(KnownGames(connection), [(5, DAY, 1), (3, DAY, 2), (4, 0, 3)], first_id=7)
    assert verdict.new.all()
    assert verdict.game_id.tolist() == [7, 8, 9]


def test_a_duplicate_within_a_batch_stands_under_the_first(
    connection: duckdb.DuckDBPyConnection,
) -> None:
    verdict = judge(KnownGames(connection), [(5, DAY, 1), (3, DAY, 2), (5, DAY, 3), (5, 0, 4)])
    assert verdict.new.tolist() == [True, True, False, False]
    assert verdict.game_id.tolist() == [1, 2, 1, 1]
    assert verdict.equals == {2: (0, 1), 3: (0, 1)}


def test_a_duplicate_is_found_across_batches_and_files(
    connection: duckdb.DuckDBPyConnection,
) -> None:
    known = KnownGames(connection)
    for start in range(0, 1000, 10):
        judge(known, [(n * 7919 + 1, DAY, n + 1) for n in range(start, start + 10)], "a", start + 1)
    verdict = judge(
        known, [(999 * 7919 + 1, DAY, 1), (5 * 7919 + 1, YEAR, 2), (2, DAY, 3)], "b", 1001
    )
    assert verdict.new.tolist() == [False, False, True]
    assert verdict.game_id.tolist() == [1000, 6, 1001]
    assert not verdict.replaced


def test_a_fuller_date_gives_a_stored_game_its_tags(connection: duckdb.DuckDBPyConnection) -> None:
    known = KnownGames(connection)
    judge(known, [(5, YEAR, 1)], "a")
    assert judge(known, [(6, 0, 1), (5, DAY, 2)], "b", 2).replaced == [(1, 1)]
    assert judge(known, [(5, MONTH, 3)], "c", 3).replaced == []


def test_a_fuller_date_gives_a_game_of_the_same_batch_its_tags(
    connection: duckdb.DuckDBPyConnection,
) -> None:
    verdict = judge(KnownGames(connection), [(5, YEAR, 1), (5, DAY, 2)])
    assert verdict.new.tolist() == [True, False]
    assert verdict.tags_of.tolist() == [1, 1]


def test_of_equal_dates_the_smaller_sha_and_number_give_the_tags(
    connection: duckdb.DuckDBPyConnection,
) -> None:
    known = KnownGames(connection)
    judge(known, [(5, DAY, 2)], "b")
    assert judge(known, [(5, DAY, 1)], "c").replaced == []
    assert judge(known, [(5, DAY, 1)], "b").replaced == [(1, 0)]
    assert judge(known, [(5, DAY, 9)], "a").replaced == [(1, 0)]


def test_of_one_file_read_twice_the_reading_with_more_options_gives_the_tags(
    connection: duckdb.DuckDBPyConnection,
) -> None:
    known = KnownGames(connection)
    for options, replaced in (("", []), (" pace=rapid", [(1, 0)]), ("", [])):
        source = known.source_number("a" * 64 + options)
        fingerprints = np.array([5], np.uint64)
        verdict = known.judge(
            fingerprints, np.array([DAY], np.int32), np.array([1], np.int64), source, 1
        )
        assert verdict.replaced == replaced


def test_two_dates_that_disagree_are_two_games_that_know_of_each_other(
    connection: duckdb.DuckDBPyConnection,
) -> None:
    known = KnownGames(connection)
    judge(known, [(5, DAY, 1)], "a")
    verdict = judge(known, [(5, OTHER_DAY, 1), (5, YEAR, 2)], "b", 2)
    assert verdict.new.tolist() == [True, False]
    assert verdict.apart == [2]
    assert verdict.game_id.tolist() == [2, 1]


DATES = st.sampled_from([0, YEAR, MONTH, DAY, OTHER_DAY, 20200400, 20200402, OTHER_YEAR, 20210101])


@given(st.lists(DATES, min_size=1, max_size=8), st.integers(1, 8))
def test_the_games_are_the_dates_that_no_other_refines(dates: list[int], size: int) -> None:
    """However the records are cut into batches."""
    with duckdb.connect() as connection:
        connection.execute(schema.DDL)
        known = KnownGames(connection)
        stored: dict[int, int] = {}  # game -> date
        for start in range(0, len(dates), size):
            batch = list(enumerate(dates))[start : start + size]
            verdict = judge(known, [(5, date, n + 1) for n, date in batch], "a", len(stored) + 1)
            for row in np.flatnonzero(verdict.new).tolist():
                stored[int(verdict.game_id[row])] = batch[verdict.tags_of[row]][1]
            for game, row in verdict.replaced:
                stored[game] = batch[row][1]
        full = [d for d in set(dates) if not any(e != d and refines(e, d) for e in dates)]
        assert sorted(stored.values()) == sorted(full)
