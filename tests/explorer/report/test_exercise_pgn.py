"""Exercises as PGN: any program can read them, the solution is the mainline."""

from __future__ import annotations

import io

import chess.pgn

from explorer.positions.position import fen_of
from explorer.report.exercise_pgn import worksheet_pgn
from tests.support.worksheets import long_worksheet, make_worksheet, weighed_worksheet


def games(text: str) -> list[chess.pgn.Game]:
    stream = io.StringIO(text)
    return [game for game in iter(lambda: chess.pgn.read_game(stream), None) if game]


def test_each_exercise_is_read_back_with_its_position_and_solution() -> None:
    for sheet in (make_worksheet(), weighed_worksheet(), long_worksheet(40)):
        read = games(worksheet_pgn(sheet, sheet.title))
        assert len(read) == len(sheet.exercises)
        for game, one in zip(read, sheet.exercises, strict=True):
            assert not game.errors
            assert game.headers["SetUp"] == "1"
            assert fen_of(game.board()) == one.position.fen
            assert tuple(move.uci() for move in game.mainline_moves()) == one.solution


def test_the_tags_are_in_order_and_name_nobody() -> None:
    """PGN standard, section 8.1.1: the seven tag roster, then by name in ASCII order."""
    game = games(worksheet_pgn(make_worksheet(), 'Lesson: "first" replies'))[1]
    assert list(game.headers) == [
        *("Event", "Site", "Date", "Round", "White", "Black", "Result", "FEN", "SetUp")
    ]
    # Section 7: a quote is escaped, which python-chess leaves as it is.
    assert game.headers["Event"] == 'Lesson: \\"first\\" replies'
    assert (game.headers["Round"], game.headers["White"]) == ("2", "?")
    assert games(worksheet_pgn(make_worksheet(), ""))[0].headers["Event"] == "Your move"


def test_the_comment_after_the_answer_gives_the_reason() -> None:
    game = games(worksheet_pgn(make_worksheet(), ""))[0]
    first = game.next()
    assert first is not None
    assert " ".join(first.comment.split()) == (
        "Attacks e5. Attacks (e5. Also 2. Bc4: Also sound. Not 2. Qh5: Too early."
    )


def test_a_move_of_black_has_its_number_after_a_comment_only() -> None:
    """PGN standard, section 8.2.2.2."""
    text = worksheet_pgn(make_worksheet(), "")
    assert "} 2... Nc6 3. Bc4" in " ".join(text.split())
    assert "\n3. Bc4 *\n" in text


def test_no_line_is_longer_than_the_standard_allows() -> None:
    """PGN standard, section 8.2.1: under 80 characters, but for tags, whose FEN is one word."""
    lines = worksheet_pgn(long_worksheet(40), "x").splitlines()
    assert max(len(line) for line in lines if not line.startswith("[")) < 80
