"""Exercises as PGN: each a game that starts at its position (PGN standard, section 9.7)."""

from __future__ import annotations

from explorer.positions.exercise import Exercise
from explorer.positions.position import numbered
from explorer.query.exercises import Worksheet
from explorer.report import exercise_words as said
from explorer.report.pgn import as_pgn


def worksheet_pgn(sheet: Worksheet, title: str) -> str:
    """The exercises one after the other, in English letters; the solution is the mainline.

    ``title`` becomes the Event tag. A comment after the answer gives the reason.
    """
    each = enumerate(sheet.exercises, start=1)
    return "".join(_exercise_pgn(number, one, title) for number, one in each)


def _exercise_pgn(number: int, exercise: Exercise, title: str) -> str:
    start = exercise.position.board().fen(en_passant="fen")
    tags = {
        "Event": title or said.TITLE,
        "Site": "?",
        "Date": "????.??.??",
        "Round": str(number),
        "White": "?",
        "Black": "?",
        "Result": "*",
        "FEN": start,
        "SetUp": "1",
    }
    first, rest = exercise.sans[:1], exercise.sans[1:]
    told = [said.reason(exercise), said.comment(exercise.comment), *said.asides(exercise)]
    # A brace would end the comment (section 5).
    comment = " ".join(filter(None, told)).replace("{", "(").replace("}", ")")
    moves = numbered(exercise.sans, start)
    if comment:
        moves = f"{numbered(first, start)} {{ {comment} }} {_after(exercise, rest)}"
    return as_pgn(tags, f"{moves} *")


def _after(exercise: Exercise, sans: tuple[str, ...]) -> str:
    """The moves after the answer; Black's needs a number after a comment (section 8.2.2.2)."""
    if not sans:
        return ""
    board = exercise.position.board()
    board.push_uci(exercise.solution[0])
    return numbered(sans, board.fen())
