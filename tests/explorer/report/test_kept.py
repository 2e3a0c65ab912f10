"""The command that a page keeps comes out as it went in."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from explorer.report.kept import kept_command
from explorer.report.sheet import PageOptions
from explorer.report.worksheet_page import worksheet_page
from ingest.errors import InputError
from tests.support.worksheets import make_worksheet

META = '<html><head><meta name="generator" content="Replybook">'


def kept(tmp_path: Path, text: str) -> tuple[str, ...] | None:
    page = tmp_path / "page.html"
    page.write_text(text, "utf-8")
    return kept_command(page)


@pytest.mark.parametrize(
    "words",
    [
        ("worksheet", "my lesson.pgn", "--as", "white"),
        ("report", "e4", "--level", "2000+", "-o", 'it\'s "so" <b>&amp;.html'),
        ("report", "C:\\club\\x.pgn", "", "Grünfeld $HOME `ls`"),
    ],
)
def test_the_words_come_out_as_they_went_in(tmp_path: Path, words: tuple[str, ...]) -> None:
    options = PageOptions("replybook", date(2026, 3, 1), words=words)
    assert kept(tmp_path, worksheet_page(make_worksheet(), options)) == words


def test_a_page_without_words_keeps_none(tmp_path: Path) -> None:
    options = PageOptions("replybook", date(2026, 3, 1))
    page = worksheet_page(make_worksheet(), options)
    assert kept(tmp_path, page) == ()
    assert kept(tmp_path, worksheet_page(make_worksheet(), replace(options, words=("a",)))) == (
        "a",
    )


@pytest.mark.parametrize(
    "text",
    ["", "<html>", "\0\0", '<meta name="replybook-command" content="report">',
     '<body><meta name="generator" content="Replybook">', "<meta name>"],
)  # fmt: skip
def test_a_page_that_is_not_ours_is_none(tmp_path: Path, text: str) -> None:
    assert kept(tmp_path, text) is None


def test_only_the_first_command_of_the_head_counts(tmp_path: Path) -> None:
    one, two = (f'<meta name="replybook-command" content="{word}">' for word in ("a b", "c"))
    assert kept(tmp_path, f"{META}{one}{two}") == ("a", "b")
    assert kept(tmp_path, f"{META}</head><body>{two}") == ()


def test_what_cannot_be_read_is_said_in_one_line(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"its command cannot be read \(no closing quotation\)"):
        kept(tmp_path, f'{META}<meta name="replybook-command" content="report \'e4">')
    with pytest.raises(InputError, match=r"gone.html: cannot be read"):
        kept_command(tmp_path / "gone.html")
