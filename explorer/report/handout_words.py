"""What a handout says to the student."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from explorer.positions.position import numbered
from explorer.query.lesson_met import LessonMet, Replies
from explorer.report import lesson_words, words
from explorer.report.book_words import BORROWED_NOTE, BORROWED_SIGN

SHORT = 90  # letters of moves and of the teacher's words below a diagram
LONGEST_WAY = 60  # letters of the moves to a position
START = "the start"
ORDER_NOTE = "Early replies stand first: how often they come is not counted here."


def side(students: str) -> str:
    """``You play White``."""
    return f"You play {words.side(students)}"


def way(sans: Sequence[str], letters: str | None = None) -> str:
    """The moves to a position, the first ones left out where there are many: ``… 6. O-O a6``."""
    whole = words.spelled(numbered(sans), letters)
    numbers = [found.start() for found in re.finditer(r"\d+\. ", whole)]
    if len(whole) <= LONGEST_WAY:
        return whole
    first = next((at for at in numbers if len(whole) - at < LONGEST_WAY), numbers[-1])
    return f"… {whole[first:]}"


def expect(met: LessonMet | None, letters: str | None = None) -> Iterator[str]:
    """How long the student knows what to play, and what to do then."""
    if met is None:
        return
    answer = met.answer
    states = lesson_words.told_at(answer)
    if lesson_words.too_few(answer):
        yield f"There are too few games to say how often you still know your move {states.move}."
        return
    yield (
        f"Of 100 {lesson_words.games(answer, letters)} against "
        f"{words.players(answer.filters.levels)}, you still know your move {states.move} in "
        f"{words.hundredths(states.answered)}. In {words.hundredths(states.unanswered)} they have "
        "played something else by then: write it down and bring it to class."
    )


def seen(there: Replies | None, uci: str) -> str | None:
    """``84 of 701``: the games behind a share; None where the library has none."""
    if there is None or not there.of:
        return None
    signs = BORROWED_SIGN if there.borrowed else ""
    return f"{there.games.get(uci, 0):,} of {there.of:,}{signs}"


def left_out(rows: int) -> Iterator[str]:
    """How many replies are not in the table."""
    if rows > 0:
        more = f"{rows} more {'reply' if rows == 1 else 'replies'}"
        yield f"The lesson answers {more}."


def notes(met: LessonMet | None, why_not: str, letters: str | None = None) -> Iterator[str]:
    """What the numbers are, or why there are none."""
    if met is None:
        yield f"{why_not} {ORDER_NOTE}".strip()
        return
    yield (
        f"Of 100 games: of 100 {lesson_words.games(met.answer, letters)}, in how many it comes so "
        "far if you play the moves of this sheet. Seen there: games with the reply, of all that "
        "went on from the position before it."
    )
    if any(there.few for there in met.replies.values()):
        yield lesson_words.FEW_NOTE
    if any(there.borrowed for there in met.replies.values()):
        yield BORROWED_NOTE
