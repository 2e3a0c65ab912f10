"""A bounded part of the hunt for files that break the way in; `tests/fuzz.py` says what holds."""

from __future__ import annotations

import pytest

from tests.fuzz import examine

CASES = 50


@pytest.mark.parametrize("seed", range(4))
def test_damaged_files_break_nothing(seed: int) -> None:
    """No exception but ours, nothing lost, both readers alike, whatever the damage."""
    games = sum(examine(seed, number)["games"] for number in range(CASES))
    assert games > CASES
