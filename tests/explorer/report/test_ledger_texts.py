"""What is said about an `add`, the ledger and a check."""

from __future__ import annotations

import json
from pathlib import Path

from explorer.report.formats import to_text
from explorer.report.ledger import (
    SHOWN_FILES,
    add_json,
    add_summary,
    collections_table,
    library_text,
    rejects_table,
    rejects_text,
    removal_question,
    removal_text,
    verify_text,
)
from ingest.ledger import Collection, Reject
from ingest.loader import Counts
from ingest.pipeline import AddReport, FileReport, FirstReject
from ingest.removal import Removal
from ingest.verify import Twin, VerifyReport

BAD = "\x1b[31mred\x1b[0m\nline"


def report(*files: FileReport, rejects: tuple[FirstReject, ...] = ()) -> AddReport:
    total = Counts()
    for file in files:
        total += Counts(*(getattr(file, name) for name in Counts.__slots__))
    return AddReport(files, total, rejects, 1.5, "club")


def summary(*files: FileReport, rejects: tuple[FirstReject, ...] = ()) -> list[str]:
    made = report(*files, rejects=rejects)
    return add_summary(made, library_text(Path("l.duckdb"), made)).splitlines()


def test_a_summary_of_plain_files_names_each_and_the_sum() -> None:
    said = summary(FileReport("a.pgn", 1200, 1200), FileReport("b.pgn", 3, 3))
    assert said == [
        "a.pgn: 1,200 found = 1,200 added + 0 duplicates + 0 rejected + 0 left out",
        "b.pgn: 3 found = 3 added + 0 duplicates + 0 rejected + 0 left out",
        "In all: 1,203 found = 1,203 added + 0 duplicates + 0 rejected + 0 left out",
        "Library: l.duckdb, collection: club",
    ]


def test_a_summary_names_the_first_rejects_and_where_the_rest_is() -> None:
    reject = FirstReject("a.pgn", 7, 81, "no move can be read")
    said = summary(FileReport("a.pgn", 9, 7, 1, 1, cut_short=2), rejects=(reject,))
    assert "7 added + 1 duplicates + 1 rejected + 0 left out; 2 of the added cut short" in said[0]
    assert said[2:5] == [
        "Rejected:",
        "  a.pgn, game 7, line 81: no move can be read",
        "See them all: replybook rejects",
    ]


def test_a_summary_of_very_many_files_is_short() -> None:
    said = summary(*(FileReport(f"{n}.pgn", 1, 1) for n in range(SHOWN_FILES + 5)))
    assert len(said) == SHOWN_FILES + 3
    assert said[SHOWN_FILES] == "... and 5 more files"
    exactly = summary(*(FileReport(f"{n}.pgn", 1, 1) for n in range(SHOWN_FILES)))
    assert "more" not in "".join(exactly)


def test_texts_from_files_cannot_forge_lines_or_colours() -> None:
    reject = FirstReject(BAD, 1, 1, BAD)
    said = "\n".join(summary(FileReport(BAD, 1, rejected=1), rejects=(reject,)))
    assert "\x1b" not in said
    assert "\nline" not in said
    twin = Twin(BAD, BAD, "2024.1", 20, 31, 1, 2)
    assert "\x1b" not in verify_text(VerifyReport(2, 9, 2, (), (twin,), 1))
    assert "\x1b" not in removal_text(BAD, Removal(1, 1, 0))


def test_json_has_the_totals_beside_the_files() -> None:
    answer = json.loads(add_json(report(FileReport("é.pgn", 2, 1, 1), FileReport("b", error="x"))))
    assert answer["found"] == 2
    assert answer["files"][0]["name"] == "é.pgn"
    assert answer["files"][1]["error"] == "x"
    assert add_json(report(FileReport("é.pgn"))).isascii()


def test_years_are_not_written_as_counts() -> None:
    club = Collection("club", 2, 1200, 90, 3, 2019, None)
    text = to_text(collections_table([club]))
    assert "1,200" in text
    assert "2019" in text


def test_empty_lists_say_so_in_a_sentence() -> None:
    assert "No games yet; add some with: replybook add" in to_text(collections_table([]))
    assert rejects_text([]) == "Nothing was rejected, cut short or found twice."


def test_the_ledgers_lines_stand_file_by_file_within_80_columns() -> None:
    lines = [
        Reject("club", "a.pgn", 7, 81, "rejected", "no move can be read", "[" * 200),
        Reject("club", "a.pgn", 1200, 14_400, "duplicate", "why " * 20, ""),
        Reject("club", f"{'b' * 90}.pgn", 1, 1, "rejected", BAD, ""),
    ]
    text = rejects_text(lines)
    assert text.startswith(
        "Games: 1 found twice and 2 rejected.\n"
        "\n"
        'a.pgn, in "club":\n'
        "  game 7, line 81, rejected: no move can be read\n"
        "  game 1,200, line 14,400, duplicate: why why"
    )
    assert "\x1b" not in text
    assert [line for line in text.splitlines() if len(line) > 80] == [f'{"b" * 90}.pgn, in "club":']


def test_the_ledgers_table_begins_each_row_with_its_place() -> None:
    reject = Reject("club", "a.pgn", 7, 81, "rejected", "no move", "[Event]" * 30)
    (row,) = rejects_table([reject]).rows
    assert row[:6] == ("club", "a.pgn", 7, 81, "rejected", "no move")
    assert len(str(row[6])) == 60


def test_a_removal_is_asked_and_told_in_a_line() -> None:
    assert removal_question(Collection("club", 1, 1, 2, 0, None, None)) == (
        "Remove club with its 1 game?"
    )
    assert removal_text("club", Removal(1, 1200, 0)) == "Removed club: 1,200 games deleted."
    assert removal_text("club", Removal(1, 0, 3)).endswith(
        "0 games deleted, 3 kept because another collection has them."
    )


def test_a_check_tells_problems_and_probable_twins() -> None:
    twin = Twin("Vane, Amber", "Olander, Birk", "2024.1.10", 20, 31, 1, 2)
    said = verify_text(VerifyReport(9, 120, 9, ("rows: 3",), (twin,), 1)).splitlines()
    assert said == [
        "9 games and 120 visits checked, 9 games replayed.",
        "Wrong: rows: 3",
        "1 pair of games may be one game written twice (same players and date, one begins the "
        "other):",
        "  Vane, Amber - Olander, Birk, 2024.1.10: 10 moves and 16 moves",
    ]
    assert verify_text(VerifyReport(1, 1, 1, (), (), 0)).endswith("The library is sound.")
