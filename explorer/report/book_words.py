"""The words between a lesson's moves: shares, signs in words, captions."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator

import chess

from explorer.positions.lesson import WARNINGS
from explorer.query.lesson_met import Replies
from explorer.report import exercise_words, words
from explorer.report.sentences import FEW_SIGN

BORROWED_SIGN = "†"
BORROWED_NOTE = f"{BORROWED_SIGN} With games of neighbouring levels."
BEGINS = "Here it begins"
# PGN standard, section 10: the signs that a teacher sets by hand.
SIGNS = {
    1: "a good move",
    2: "a poor move",
    3: "a very good move",
    4: "a very poor move",
    5: "a speculative move",
    6: "a questionable move",
    7: "forced",
    10: "a drawish position",
    13: "an unclear position",
    14: "White has a slight advantage",
    15: "Black has a slight advantage",
    16: "White has a moderate advantage",
    17: "Black has a moderate advantage",
    18: "White has a decisive advantage",
    19: "Black has a decisive advantage",
}
_PIECE_MOVE = re.compile(r"(?<![^\W\d_])[KQRBN][a-h]?[1-8]?x?[a-h][1-8](?!\w)|(?<==)[QRBN](?!\w)")


def san(board: chess.Board, move: chess.Move, letters: str | None = None) -> str:
    """``Nf3``."""
    return words.spelled(board.san(move), letters)


def move(board: chess.Board, move: chess.Move, letters: str | None = None) -> str:
    """``2. Nf3``, ``2... Nc6``."""
    return f"{board.fullmove_number}{'.' if board.turn else '...'} {san(board, move, letters)}"


def after(board: chess.Board, played: chess.Move, letters: str | None = None) -> str:
    """``After 2... Nc6``."""
    return f"After {move(board, played, letters)}"


def met(in_100: float | None) -> str:
    """``: in 4.1 of 100 games``; empty where that cannot be said."""
    return "" if in_100 is None else f": in {words.fine_hundredths(in_100 / 100)} of 100 games"


def share(replies: Replies, uci: str) -> str:
    """``52 % of 701``; ``14 of 29*`` of too few; a dagger where neighbouring levels helped."""
    games = replies.games.get(uci, 0)
    signs = BORROWED_SIGN if replies.borrowed else ""
    if replies.few:
        return f"{games:,} of {replies.of:,}{FEW_SIGN}{signs}"
    if not games:
        return f"not seen in {replies.of:,}{signs}"
    return f"{words.percent(games / replies.of)} of {replies.of:,}{signs}"


def label(nags: Collection[int], alternative: bool) -> str:
    """What stands before a move of the student: ``Not``, ``Also``; nothing before a taught one."""
    if WARNINGS & set(nags):
        return "Not"
    return "Also" if alternative else ""


def marks(nags: Collection[int]) -> Iterator[str]:
    """The signs of a move in words, in brackets: ``(a poor move)``."""
    for nag in sorted(nags):
        if nag in SIGNS:
            yield f"({SIGNS[nag]})"


def comment(text: str, letters: str | None = None) -> str:
    """The teacher's words; moves in them with the piece letters of a language."""
    return prose(exercise_words.comment(text), letters)


def prose(text: str, letters: str | None = None) -> str:
    """A sentence with the moves in it in the piece letters of a language."""
    return _PIECE_MOVE.sub(lambda found: words.spelled(found[0], letters), text)


def part_title(number: int, event: str) -> str:
    """A game's title, or its number."""
    title = words.clean(event)
    return f"Game {number}" if title in ("", "?", "-") else title
