"""What DuckDB raises becomes ours."""

from pathlib import Path

import duckdb
import pytest

from ingest.driver import driver_errors
from ingest.errors import LibraryError


@pytest.mark.parametrize(
    ("error", "words"),
    [
        (duckdb.IOException("IO Error: Could not write: No space left on device"), "disk is full"),
        (OSError(28, "No space left on device"), "disk is full"),
        (PermissionError(13, "Permission denied"), "no permission"),
        (OSError(30, "Read-only file system"), "no permission"),
        (duckdb.OutOfMemoryException("Out of Memory Error: could not allocate"), "memory"),
        (MemoryError(), "memory"),
        (duckdb.IOException("something\nnew"), "something new"),
    ],
)
def test_what_the_driver_raises_becomes_one_line_of_ours(error: Exception, words: str) -> None:
    with pytest.raises(LibraryError, match=words) as ours, driver_errors(Path("library")):
        raise error
    assert ours.value.__cause__ is error
    assert "\n" not in str(ours.value)
    assert str(ours.value).startswith("library: ")


@pytest.mark.parametrize(
    "error", [RuntimeError("Query interrupted"), duckdb.InterruptException("Interrupted!")]
)
def test_an_interrupted_query_is_an_interrupt(error: Exception) -> None:
    with pytest.raises(KeyboardInterrupt), driver_errors(Path("library")):
        raise error


def test_a_thread_that_cannot_start_is_too_little_memory() -> None:
    with pytest.raises(LibraryError, match="memory"), driver_errors(Path("library")):
        raise RuntimeError("can't start new thread")


def test_another_runtime_error_stays_what_it_is() -> None:
    with pytest.raises(RuntimeError, match="a bug"), driver_errors(Path("library")):
        raise RuntimeError("a bug")


def test_a_mistake_of_our_own_keeps_its_traceback() -> None:
    with duckdb.connect() as connection:
        with pytest.raises(duckdb.Error), driver_errors(Path("library")):
            connection.execute("SELECT nothing")
        with pytest.raises(duckdb.Error), driver_errors(Path("library")):
            connection.execute("SELECT 200::UTINYINT * 100::UTINYINT")
