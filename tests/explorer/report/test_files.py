"""A file is written whole or not at all."""

from __future__ import annotations

import errno
import os
from pathlib import Path

import pytest

from explorer.report.files import write_text
from ingest.errors import InputError


def test_text_is_written_as_utf8_with_its_own_line_ends(tmp_path: Path) -> None:
    write_text(tmp_path / "a b.txt", "é\n")
    assert (tmp_path / "a b.txt").read_bytes() == b"\xc3\xa9\n"
    assert [path.name for path in tmp_path.iterdir()] == ["a b.txt"]


def test_a_link_stays_a_link(tmp_path: Path) -> None:
    (tmp_path / "real").write_text("old")
    (tmp_path / "link").symlink_to(tmp_path / "real")
    write_text(tmp_path / "link", "new")
    assert (tmp_path / "real").read_text() == "new"
    assert (tmp_path / "link").is_symlink()


def test_a_target_held_open_gives_one_line_and_keeps_the_old_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    target = tmp_path / "x.csv"
    target.write_text("old")

    def refuse(*_: object) -> None:
        raise PermissionError(13, "The file is in use")

    monkeypatch.setattr(os, "replace", refuse)
    with pytest.raises(InputError, match="The file is in use; close the program"):
        write_text(target, "new")
    assert target.read_text() == "old"
    assert [path.name for path in tmp_path.iterdir()] == ["x.csv"]


def test_a_folder_or_a_missing_folder_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="it is a folder"):
        write_text(tmp_path, "new")
    with pytest.raises(InputError, match="no such folder; make it"):
        write_text(tmp_path / "no" / "x.csv", "new")


@pytest.mark.parametrize(
    ("number", "words"),
    [
        (errno.ENOSPC, "the disk is full; free some space"),
        (errno.EROFS, "the place is read-only; choose another"),
    ],
)
def test_a_full_or_read_only_disk_is_said_and_the_old_file_kept(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, number: int, words: str
) -> None:
    def full(*_: object) -> None:
        raise OSError(number, "the system's own words")

    (tmp_path / "x.csv").write_text("old")
    monkeypatch.setattr(Path, "write_bytes", full)
    with pytest.raises(InputError, match=words):
        write_text(tmp_path / "x.csv", "new")
    assert (tmp_path / "x.csv").read_text() == "old"
