"""Parts are worked on side by side, and only a few of them wait."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from explorer.query.ahead import side_by_side
from ingest.schema import THREADS


def test_what_is_made_comes_in_the_order_of_the_parts() -> None:
    """However long each part takes."""
    parts = [3, 1, 4, 1, 5, 9, 2, 6]
    assert list(side_by_side(lambda part: sum(range(part * 10_000)), parts)) == [
        sum(range(part * 10_000)) for part in parts
    ]
    assert list(side_by_side(str, [])) == []


def test_no_more_parts_are_read_than_the_threads_can_take() -> None:
    """Or all would be in memory before the first is asked for."""
    read = []

    def parts() -> Iterator[int]:
        for part in range(100):
            read.append(part)
            yield part

    made = side_by_side(str, parts())
    for number in range(50):
        assert next(made) == str(number)
        assert len(read) <= number + THREADS + 1


def test_an_error_in_a_thread_reaches_the_caller() -> None:
    """As it was raised."""
    with pytest.raises(ZeroDivisionError):
        list(side_by_side(lambda part: 1 / part, [1, 0, 2]))
