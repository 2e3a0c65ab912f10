"""What is said of a lesson, in plain sentences."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace

from explorer.query.lesson_model import LessonAnswer, Outscored, States, Unanswered
from explorer.query.mistake_model import ALL_LEVELS
from explorer.query.model import FEW_GAMES, FEW_PLAYERS
from explorer.query.outscored import POPULAR
from explorer.query.rare_lines import RARE_IN_100
from explorer.report import words
from explorer.report.mistake_words import last_number
from explorer.report.privacy import Veil
from explorer.report.sentences import FEW_SIGN

# A move by a piece, within a sentence.
_SAN = re.compile(r"\b[KQRBN][a-h]?[1-8]?x?[a-h][1-8]\b")

TOLD_AT = 5  # the move of the first sentence
UNSAID = 0.05  # of the games: told with it when so many come where there are too few to say
REACH_NOTE = (
    "Counted as if the student always played the taught move and opponents chose as players of "
    "their level do. Move orders that come to the same position are one."
)
FAVOURED_NOTE = (
    "Favoured: the most common move of the student's level that is not clearly worse than the best "
    "of those with enough games; a dash where none has enough."
)
OUTSCORED_NOTE = (
    "Beside it: the taught move's score against expectation less that of the other one, which "
    f"is played in at least {POPULAR:.0%} of the games there (Welch's test, players being the "
    "sample; Benjamini-Hochberg over all of them)."
).replace("%", " %")
RANGES_NOTE = (
    "Ranges are 95 % intervals (delta method over the shares along all lines); players, not "
    "games, are the sample. Where nothing else was seen, Wilson's limits stand for them."
)
FEW_NOTE = f"{FEW_SIGN} fewer than {FEW_GAMES} games or {FEW_PLAYERS} players: too few to say."


def veiled(answer: LessonAnswer, veil: Veil) -> LessonAnswer:
    """The answer without the names of people in what the file is called and says of itself."""
    warnings = tuple(veil.text(warning) for warning in answer.warnings)
    lesson, title = veil.text(answer.lesson), veil.text(answer.title)
    return replace(answer, lesson=lesson, title=title, warnings=warnings)


def title(answer: LessonAnswer, letters: str | None = None) -> str:
    """``Lesson: the quiet Italian - what it answers``."""
    name = words.clean(answer.title) or words.clean(answer.lesson)
    after = f" after {words.spelled(answer.start, letters)}" if answer.start else ""
    return f"{name} - what it answers{after}"


def opponents(answer: LessonAnswer, veil: Veil) -> str:
    """The filters as a sentence: ``Opponents rated 800 to 1199, any pace.``"""
    return words.opponents_sentence(answer.filters, veil)


def headline(answer: LessonAnswer, letters: str | None = None) -> str:
    """How often the student still has an answer, in one sentence."""
    states = told_at(answer)
    if too_few(answer):
        return (
            f"Too few games to say how often your student still has an answer at move "
            f"{states.move}."
        )
    unsaid = ""
    if states.too_few >= UNSAID:
        unsaid = f"; in {words.hundredths(states.too_few)} there are too few games to say"
    return (
        f"Of 100 {games(answer, letters)}, at move {states.move} your student still has an answer"
        f"{', or has won,' if states.won else ''} in {words.hundredths(states.answered)}"
        f"{_between(states.low, states.high)}{unsaid}."
    )


def too_few(answer: LessonAnswer) -> bool:
    """Whether there are too few games to say how often the student has an answer."""
    return answer.whole.games < FEW_GAMES or told_at(answer).too_few > 0.5


def games(answer: LessonAnswer, letters: str | None = None) -> str:
    """``games with White``; ``games that come to 1. e4 e5``."""
    if answer.start:
        return f"games that come to {words.spelled(answer.start, letters)}"
    return f"games with {words.side(answer.side)}"


def told_at(answer: LessonAnswer) -> States:
    """The states at the move that the first sentence speaks of."""
    states = answer.whole.states
    return next((one for one in states if one.move >= TOLD_AT), states[-1])


def _between(low: float | None, high: float | None) -> str:
    if low is None or high is None:
        return ""
    return f" ({words.hundredths(low)} to {words.hundredths(high)})"


def summary(answer: LessonAnswer, letters: str | None = None) -> Iterator[str]:
    """What the lesson answers, and the reply that it should answer next."""
    yield headline(answer, letters)
    known = words.count(answer.positions, "position")
    yield f"Your student learns a move in {known}."
    if answer.unanswered:
        most = answer.unanswered[0]
        yield (
            f"What comes most often without an answer: {label(most, letters)}, in "
            f"{in_100(most.in_100)} of 100 games."
        )
    elif not answer.unanswered_left_out and not too_few(answer):
        yield "No reply was met that the lesson leaves without an answer."


def in_100(value: float) -> str:
    """A number of 100 games: ``12``, ``0.3``."""
    return words.fine_hundredths(value / 100)


def label(reply: Unanswered, letters: str | None = None) -> str:
    """The reply with its number, ``1... e6``."""
    number = last_number(reply.line)
    san = words.spelled(reply.san, letters)
    if reply.fen.split()[1] == "b":
        return f"{number}... {san}"
    return f"{int(number or 0) + 1}. {san}"


def whole_line(reply: Unanswered, letters: str | None = None) -> str:
    """The line with the reply."""
    white = reply.fen.split()[1] == "w"
    san = label(reply) if white or not reply.line else reply.san
    return words.spelled(f"{reply.line} {san}".strip(), letters)


def answered(reply: Unanswered, letters: str | None = None) -> str | None:
    """The favoured answer with its number, ``2. d4``; None without."""
    if reply.answer is None:
        return None
    dots = "..." if reply.fen.split()[1] == "w" else "."
    return f"{reply.move}{dots} {words.spelled(reply.answer.san, letters)}"


def taught(row: Outscored, letters: str | None = None) -> str:
    """The taught move with its number."""
    number, white = last_number(row.line), row.fen.split()[1] == "w"
    move = int(number or 0) + 1 if white else number
    return f"{move}{'.' if white else '...'} {words.spelled(row.taught, letters)}"


def left_out(answer: LessonAnswer) -> str | None:
    """How many replies are not shown; None for none."""
    rest = answer.unanswered_left_out
    if not rest:
        return None
    more = "One more reply" if rest == 1 else f"{rest:,} more replies"
    return f"{more} without an answer, met less often: --top shows more of them."


def favoured(level: str) -> str:
    """Whose games say what is favoured."""
    return f"The answer that the numbers favour among players of {level_of(level)}"


def level_of(label: str) -> str:
    """``level 800-999``, ``all levels``."""
    return label if label == ALL_LEVELS else f"level {label}"


def outgrown(answer: LessonAnswer) -> str:
    """What moving up means, in a sentence."""
    assert answer.next is not None
    turn = told_at(answer).move
    then = next(one for one in answer.next.states if one.move == turn)
    now = words.hundredths(told_at(answer).answered)
    return (
        f"Against opponents of level {answer.next_level} your student still has an answer at move "
        f"{turn} in {words.hundredths(then.answered)}{_between(then.low, then.high)} of 100 games, "
        f"now in {now}."
    )


def notes(answer: LessonAnswer, letters: str | None = None) -> Iterator[str]:
    """The footnotes on the states and on what is borrowed."""
    for warning in answer.warnings:
        yield _SAN.sub(lambda move: words.spelled(move[0], letters), warning)
    yield (
        "No answer: the opponent played a reply that the lesson does not answer where it answers "
        "others. Ended: the lesson has no more moves there. Too few: at some turn of the "
        f"opponent fewer than {answer.min_games} games went on, neighbouring levels included. "
        "What has left the lesson stays where it is counted."
    )
    yield REACH_NOTE
    if not answer.outscored:
        yield "No taught move clearly scores below another popular one."
    if borrowed := answer.whole.borrowed:
        yield (
            f"{words.count(borrowed, 'position')} with fewer than {answer.min_games} games of the "
            f"level {'takes' if borrowed == 1 else 'take'} those of neighbouring levels too."
        )
    yield RANGES_NOTE


def rare_note() -> str:
    """What a rare line is."""
    return (
        f"Rare: met in fewer than {RARE_IN_100:g} of 100 games. Moves: those of the student that "
        "only this line needs."
    )
