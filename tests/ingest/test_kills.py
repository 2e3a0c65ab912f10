"""Pulled plugs, a small version of ``python -m tests.kills``."""

import os
from pathlib import Path

import pytest

from tests import kills


@pytest.mark.skipif(os.name == "nt", reason="a killed process keeps its files there for a while")
def test_a_killed_add_leaves_whole_files_and_the_same_add_again_completes_it(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """At any moment, with and without a library before."""
    assert all(kill.good for kill in kills.pull_plugs(400, 2, tmp_path))
    assert "in all                         2       2           2" in capsys.readouterr().out


def test_removing_and_adding_again_does_not_let_the_file_grow(tmp_path: Path) -> None:
    """Nor changes what the library says."""
    sizes = kills.go_round(400, 5, tmp_path)
    assert max(sizes) <= 2 * sizes[0]
