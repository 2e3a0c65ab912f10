"""What becomes of every odd file, from its bytes to the library and its ledger."""

from __future__ import annotations

import gzip
import os
from collections import defaultdict
from pathlib import Path

import pytest

from ingest.ledger import rejects
from ingest.pipeline import AddReport
from ingest.splitter import MAX_GAME_BYTES
from ingest.verify import verify
from tests.support.libraries import Game, add, ask, write

ODD = Path(__file__).parents[1] / "odd_pgns"
LAST = "4 plies, 0-1"  # the sound game at the end of most files
NO_TOKEN = "noted: the Result tag says 1-0, no result stands after the moves; the tag counts"
GERMAN = "noted: piece letters: German (or Danish, Norwegian, Swedish)"
EXPECTED = {
    "blank_line_in_moves": ["4 plies, 1-0", LAST],
    "bracket_in_comment": ["2 plies, 1-0", LAST],
    "castling_letters_and_digits": ["8 plies, 1-0", "10 plies, 1-0"],
    "chess960": ["rejected: played by the rules of Chess960, not of standard chess", LAST],
    "comments_of_both_kinds": ["4 plies, 1-0", LAST],
    "cut_in_a_character": [
        "6 plies, 1-0",
        "2 plies, 1-0, cut short: a comment after 1...e5 is never closed",
    ],
    "duplicate_tags": ["2 plies, 1-0", LAST],
    "escape_lines": ["3 plies, 1-0", LAST],
    "illegal_move": ["4 plies, 1-0, cut short: illegal move 3.Bb6", LAST],
    "latin1": ["6 plies, 1-0", LAST],
    "leading_blanks": ["2 plies, 1-0", LAST],
    "letters_dutch": ["10 plies, 1-0, noted: piece letters: Dutch", LAST],
    "letters_french": ["10 plies, 1-0, noted: piece letters: French", LAST],
    "letters_german": [f"10 plies, 1-0, {GERMAN}", LAST],
    "letters_italian": ["10 plies, 1-0, noted: piece letters: Spanish (or Italian)", LAST],
    "letters_spanish": ["10 plies, 1-0, noted: piece letters: Spanish (or Italian)", LAST],
    "line_ends_cr": ["6 plies, 1-0", LAST],
    "line_ends_crlf": ["6 plies, 1-0", LAST],
    "marks_and_numbers": ["7 plies, 1-0", "4 plies, 1-0"],
    "no_blank_line_before_tags": ["2 plies, 1-0", LAST],
    "no_event_tag": ["2 plies, 1-0", "1 plies, 1-0"],
    "no_moves": ["0 plies, 1-0", f"0 plies, 1-0, {NO_TOKEN}", LAST],
    "no_tags": ["2 plies, 1-0", "2 plies, 0-1", "1 plies, no result", "2 plies, draw"],
    "nul_bytes": ["rejected: NUL bytes stand in its text: the file is damaged there", LAST],
    "null_move": ["1 plies, 1-0, cut short: null move 1...--", LAST],
    "own_position": ["2 plies, 1-0", LAST],
    "pgn_standard_sample": ["85 plies, draw"],
    "quotes_and_backslashes": ["2 plies, 1-0", "2 plies, 1-0", LAST],
    "result_differs": [
        "2 plies, 1-0, noted: the Result tag says 1-0, the moves end with 0-1; the tag counts",
        LAST,
    ],
    "result_in_halves": ["2 plies, draw", "2 plies, draw"],
    "result_missing": [f"2 plies, 1-0, {NO_TOKEN}", LAST],
    "several_tags_on_a_line": ["2 plies, 1-0", LAST],
    "tag_damaged": ["2 plies, 1-0", LAST],
    "tag_over_two_lines": ["2 plies, 1-0", LAST],
    "tags_in_line": ["2 plies, 1-0", LAST],
    "unclosed_comment": ["2 plies, 1-0, cut short: a comment after 1...e5 is never closed", LAST],
    "unclosed_variation": [
        "2 plies, 1-0, cut short: a variation after 1...e5 is never closed",
        LAST,
    ],
    "utf16": ["6 plies, 1-0", LAST],
    "utf16_unmarked": ["6 plies, 1-0", LAST],
    "utf8_mark": ["6 plies, 1-0", LAST],
    "web_page": ["2 plies, 1-0", LAST],
    "windows1252": ["6 plies, 1-0", LAST],
}
ENCODINGS = {
    "latin1": "Windows-1252",
    "windows1252": "Windows-1252",
    "utf16": "UTF-16",
    "utf16_unmarked": "UTF-16",
    "utf8_mark": "UTF-8 with byte-order mark",
}
WHITE = {
    "duplicate_tags": "Fir, Flo",
    "latin1": "Åsh, Ännë",
    "quotes_and_backslashes": 'Ash, "Annie"',
    "utf16": "Åsh, Ännë",
    "utf8_mark": "Åsh, Ännë",
    "windows1252": "Žak “Zé”",
}

GAMES = """
SELECT files.name, records.game_number, 0, games.plies || ' plies, ' || CASE games.result
    WHEN 2 THEN '1-0' WHEN 1 THEN 'draw' WHEN 0 THEN '0-1' ELSE 'no result' END
FROM records JOIN games ON games.id = game_id JOIN files ON files.id = file_id
UNION ALL
SELECT name, game_number, 1, kind || ': ' || reason
FROM rejects JOIN files ON files.id = file_id WHERE kind != 'duplicate'
ORDER BY ALL
"""


@pytest.fixture(scope="module")
def everything(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, AddReport]:
    """A library of all odd files, added as one folder."""
    library = tmp_path_factory.mktemp("odd") / "odd.library"
    return library, add(library, ODD)


def test_each_game_of_each_file_is_read_or_its_loss_is_said(everything) -> None:
    """Plies and result of every game, and what the ledger says of it."""
    library, _ = everything
    said: dict[tuple[object, object], list[str]] = defaultdict(list)
    for name, number, _, words in ask(library, GAMES):
        said[Path(str(name)).stem, number].append(str(words))
    found = defaultdict(list)
    for (file, _), words in said.items():
        found[file].append(", ".join(words))
    assert found == EXPECTED


def test_the_identity_holds_for_every_file(everything) -> None:
    library, report = everything
    for file in report.files:
        assert file.error is None
        assert file.found == len(EXPECTED[Path(file.name).stem])
        assert file.found == file.added + file.duplicates + file.rejected + file.left_out
    assert report.totals.add_up()
    assert verify(library).problems == ()


def test_the_ledger_says_the_encoding_of_each_file(everything) -> None:
    library, _ = everything
    rows = ask(library, "SELECT name, encoding FROM files")
    found = {Path(str(name)).stem: encoding for name, encoding in rows}
    assert found == {file: ENCODINGS.get(file, "UTF-8") for file in EXPECTED}


@pytest.mark.parametrize("file", WHITE)
def test_names_are_read_from_damaged_or_foreign_tags(everything, file: str) -> None:
    """Of two tags of one name the latter counts; escapes and encodings are undone."""
    library, _ = everything
    names = ask(
        library,
        "SELECT white.name FROM records JOIN files ON files.id = file_id "
        "JOIN games ON games.id = game_id JOIN players AS white ON white.id = white_id "
        f"WHERE files.name LIKE '%{file}.pgn'",
    )
    assert (WHITE[file],) in names


def test_a_game_beyond_the_limit_is_rejected_and_the_next_is_read(tmp_path: Path) -> None:
    """The ledger says the limit, and shows how the game begins."""
    long = Game(moves="1. e4 {" + "long " * (MAX_GAME_BYTES // 5) + "} e5")
    library = tmp_path / "a.library"
    report = add(library, write(tmp_path / "a.pgn", Game(), long, Game(white="Fenn, Dario")))
    assert (report.totals.found, report.totals.added, report.totals.rejected) == (3, 2, 1)
    (reject,) = rejects(library)
    assert reject.game_number == 2
    assert reject.reason == "its text is longer than 4,194,304 bytes"
    assert reject.excerpt.startswith("[Event")
    assert len(reject.excerpt) == 200


def test_ten_megabytes_of_games_on_one_line_are_all_read(tmp_path: Path) -> None:
    game = Game(moves="1. e4 {" + "a word " * 1500 + "} e5").pgn
    line = (game * 1000).replace("\n", " ")
    assert len(line) > 10_000_000
    report = add(tmp_path / "a.library", write(tmp_path / "a.pgn", line))
    assert (report.totals.found, report.totals.added, report.totals.duplicates) == (1000, 1, 999)


def test_unreadable_files_among_readable_ones_are_named_and_the_rest_goes_on(
    tmp_path: Path,
) -> None:
    """Empty, no text, cut, damaged, a link that leads nowhere; folders linked in a loop."""
    folder = tmp_path / "files"
    (folder / "inner").mkdir(parents=True)
    packed = gzip.compress(Game().pgn.encode())
    for name, data in {
        "a.pgn": Game().pgn.encode(),
        "b.pgn": b"",
        "c.pgn": bytes(range(256)) * 99,
        "d.pgn.gz": packed[: len(packed) // 2],
        "f.zip": b"PK\x03\x04 cut off",
        "inner/z.pgn": Game(white="Fenn, Dario").pgn.encode(),
    }.items():
        (folder / name).write_bytes(data)
    if os.name == "posix":
        (folder / "g.pgn").symlink_to(folder / "nothing.pgn")
        (folder / "inner" / "loop").symlink_to(folder, target_is_directory=True)
    report = add(tmp_path / "a.library", folder)
    bad = {Path(file.name).name: str(file.error) for file in report.files if file.error}
    assert {name: error.split(": ", 1)[1].split(";")[0] for name, error in bad.items()} == {
        "b.pgn": "empty",
        "c.pgn": "a binary file, not PGN",
        "d.pgn.gz": "cut off before its end",
        "f.zip": "damaged, cannot be unpacked",
    } | ({"g.pgn": "a link that leads nowhere"} if os.name == "posix" else {})
    good = [Path(file.name).name for file in report.files if not file.error]
    assert good == ["a.pgn", "z.pgn"]
    assert (report.totals.found, report.totals.added) == (2, 2)
