"""One table in four formats: the same cells, safe wherever they are read."""

from __future__ import annotations

import csv
import io
import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from explorer.report.formats import cell_text, cells_wide, to_csv, to_json, to_markdown, to_text
from explorer.report.grouped import WORDINGS
from explorer.report.tables import (
    Column,
    LevelShare,
    Span,
    Table,
    plain_table,
    replies_table,
)
from tests.support.answers import replies_answer


def one_cell(text: str) -> Table:
    return plain_table("Files", ["Name", "Games"], [(text, 3)])


def rows_of(text: str, separator: str = ",") -> list[list[str]]:
    return list(csv.reader(io.StringIO(text.removeprefix("\ufeff")), delimiter=separator))


@pytest.mark.parametrize(
    ("cell", "kind", "text"),
    [
        (None, "count", "-"),
        (1234, "count", "1,234"),
        (1234, "rating", "1234"),
        (1120.4, "rating", "1120"),
        (0.531, "share", "53 %"),
        (0.48, "score", "0.48"),
        (-0.06, "signed", "-0.06"),
        (-1.42, "pawns", "-1.4"),
        (Span(0.5, 0.56), "share", "50-56 %"),
        (Span(-0.05, 0.01), "signed", "-0.05 to +0.01"),
        (Span(None, None), "share", "-"),
        (LevelShare(None, None, False), "share", "-"),
        (LevelShare(0.11, None, False), "share", "11"),
        (LevelShare(0.11, None, True), "share", "11*"),
        (LevelShare(0.0, 0.016, False), "share", "<1.6"),
        ("a\x1b[1mb\n", "text", "ab"),
    ],
)
def test_a_cell_reads_by_its_kind(cell: object, kind: str, text: str) -> None:
    assert cell_text(cell, Column("head", kind)) == text  # type: ignore[arg-type]


@given(st.lists(st.text(max_size=60), min_size=1, max_size=9), st.integers(40, 120))
def test_no_line_is_wider_than_the_terminal(texts: list[str], width: int) -> None:
    table = plain_table("Title", [f"Head {i}" for i in range(len(texts))], [texts], texts)
    assert all(cells_wide(line) <= width for line in to_text(table, width).splitlines())


def test_no_line_begins_with_a_per_cent_sign() -> None:
    table = plain_table("Shares", ["A"], [], notes=["about 12 % of these and 8.5 % of those"])
    for width in range(12, 40):
        lines = to_text(table, width).splitlines()
        assert not [line for line in lines if line.strip().startswith("%")]
    assert "12 % of" in to_text(table)


def test_columns_that_do_not_fit_follow_in_a_block_with_the_first_column_again() -> None:
    heads = ["Name", *(f"Count{i}" for i in range(20))]
    table = Table("Many", tuple(Column(head, "count") for head in heads), (("a", *range(20)),))
    text = to_text(table)
    assert text.count("Name") == 3
    assert "Count0" in text
    assert "Count19" in text


def test_wide_characters_take_two_columns() -> None:
    assert cells_wide("日本") == 4
    assert cells_wide("e\u0301") == 1
    lines = to_text(one_cell("日本" * 60)).splitlines()
    assert all(cells_wide(line) <= 80 for line in lines)
    note = plain_table("日本" * 30, ["Name"], [("a",)], ["日本" * 30])
    assert all(cells_wide(line) <= 80 for line in to_text(note).splitlines())


def test_an_empty_table_says_so() -> None:
    assert "Nothing to show." in to_text(plain_table("Files", ["Name"], []))


def test_csv_begins_with_a_byte_order_mark() -> None:
    assert to_csv(one_cell("a")).startswith("\ufeffName,Games\n")


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@SUM(A1)", " =1", "\t=1", "＝1", "\x00=1"])
def test_no_text_of_a_csv_is_a_formula(text: str) -> None:
    # OWASP, "CSV Injection": cells that begin with = + - @
    cell = rows_of(to_csv(one_cell(text)))[1][0]
    assert cell.startswith("'")


def test_a_negative_number_of_a_csv_stays_a_number() -> None:
    table = Table("T", (Column("a"), Column("b", "signed")), (("x", -0.06),))
    assert rows_of(to_csv(table))[1] == ["x", "-0.06"]


def test_with_a_semicolon_decimals_have_a_comma() -> None:
    table = Table("T", (Column("a"), Column("b", "share")), (("x;y", 0.5),))
    assert rows_of(to_csv(table, ";"), ";")[1] == ["x;y", "0,5"]


def test_an_interval_is_two_columns_of_a_csv() -> None:
    table = Table(
        "T",
        (Column("Reply"), Column("Share between", "share"), Column("Name")),
        (("f6*", Span(0.1, None), None), ("d6", Span(0.2, 0.3), "x")),
    )
    assert rows_of(to_csv(table)) == [
        ["Reply", "Share from", "Share to", "Name"],
        ["f6", "0.1", "", ""],
        ["d6", "0.2", "0.3", "x"],
    ]


def test_a_csv_without_rows_has_the_same_heads() -> None:
    """A script finds its columns even if no reply is frequent enough."""
    full = rows_of(to_csv(replies_table(replies_answer())))
    empty = rows_of(to_csv(replies_table(replies_answer(replies=()))))
    assert empty == full[:1]


def test_a_rare_share_and_one_not_seen_do_not_read_alike() -> None:
    """Only what was not seen has the sign <, however many games there are."""
    column = Column("800-999", "share", WORDINGS["level"].title)
    assert cell_text(LevelShare(0.0004, None, few=False), column) == "0.04"
    assert cell_text(LevelShare(0.0, 0.00077, few=False), column) == "<0.08"
    assert cell_text(LevelShare(0.0, 0.0158, few=False), column) == "<1.6"
    assert cell_text(LevelShare(0.0000002, None, few=False), column) == "0.00002"


def test_markdown_shows_marks_of_markdown_as_text() -> None:
    text = to_markdown(
        plain_table("a*b", ["x|y"], [("<b>_1_</b>",)], ["# no heading", "1. no list"])
    )
    assert "**a\\*b**" in text
    assert "| x\\|y |" in text
    assert "| &lt;b&gt;\\_1\\_&lt;/b&gt; |" in text
    assert "\\# no heading" in text
    assert "1\\. no list" in text


def test_json_of_a_plain_table_has_one_object_a_row() -> None:
    assert json.loads(to_json(one_cell("a"))) == [{"Name": "a", "Games": 3}]


def test_a_narrow_column_breaks_between_words_first() -> None:
    names = Table(
        "Games",
        (Column("White", "moves"), Column("Event", "moves"), Column("Date")),
        (("Abernathy-Fincham, Ottoline", "Lantern Hill Saturday Juniors " * 2, "2026.03.21"),),
    )
    text = to_text(names, 60)
    assert "Abernathy-Fincham," in text
    assert "\n," not in text
