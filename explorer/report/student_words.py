"""The footnotes about a student's games: what the numbers are, and what they are not."""

from __future__ import annotations

from collections.abc import Iterator

from explorer.query.habits_model import HabitsAnswer
from explorer.query.model import FEW_GAMES
from explorer.query.student_model import StudentAnswer
from explorer.query.student_who import APART_ON_A_DAY, FAR_APART
from explorer.report import habits_words, words
from explorer.report import student_sentences as said
from explorer.report.privacy import Veil
from explorer.report.sentences import FEW_SIGN, expectation, origin

LESSON = (
    "A game is in the lesson as long as each of its positions is one of the lesson's, by any move "
    "order; who first plays a move that leads out of it has left it, and what comes later does "
    "not count."
)
TWO_PEOPLE = (
    "Two people of one name are thought of where two games of one rating scale and pace that "
    f"follow each other within a year have ratings more than {FAR_APART} apart, or two on one day "
    f"at two sites ratings more than {APART_ON_A_DAY} apart, or where the name stands on both "
    "sides of a game."
)


def notes(answer: StudentAnswer, veil: Veil) -> Iterator[str]:
    """The footnotes: what the numbers are, and what they are not."""
    short = answer.short
    if not answer.few:
        yield (
            f"{FEW_SIGN} fewer than {FEW_GAMES} games, or too few others: too few to say. Ranges "
            "are 95 % intervals; each game of yours stands for itself, of the others players are "
            "the sample. The others never include you; pace chooses their games too, the other "
            "filters only yours."
        )
        yield (
            "Score: wins and half the draws, 0 to 1. Against expectation: score less expected "
            "score, where both players are rated."
        )
        yield expectation(answer.source)
        yield from _tests(answer)
    if answer.doubts:
        yield TWO_PEOPLE
    for many, why in (
        (short.set_up, "began from a set-up position and counted in the results only"),
        (short.undated, "without a whole date, and so in no month"),
        (short.both_sides, "left out, because the same name stands on both sides"),
    ):
        if many:
            yield f"{words.count(many, 'game')} {why}."
    yield from origin(answer.source, veil)
    if answer.habits and answer.habits.player_games >= FEW_GAMES:
        yield from _habit_notes(answer.habits)


def _tests(answer: StudentAnswer) -> Iterator[str]:
    yield (
        "Your choices are set beside those of the others by Fisher's exact test, and results by a "
        "test against expectation; both allow for how many positions were looked at "
        "(Benjamini-Hochberg)."
    )
    costs, listed = answer.costs, answer.mistakes
    if answer.lesson:
        yield LESSON
    yield (
        f"What costs: of your moves in the {words.count(costs.positions, 'position')} that you met "
        f"at least {costs.at_least} times, {costs.tested} could be compared with a better reply "
        "of the others. Points lost in 100 games: how often you play it times what it costs the "
        "others."
    )
    if listed.looked_for:
        yield (
            f"Mistakes of your level: replies that the games of {said.players_of(listed.level)}, "
            f"yours with them, show to be costly; {listed.looked_for} in all. “Stopped” means that "
            "of all orders of your chances fewer than 1 in 20 would end with so long a run "
            "without it."
        )


def _habit_notes(told: HabitsAnswer) -> Iterator[str]:
    """What the habits are that the page speaks of; the others are left to their own page."""
    for habit in told.habits:
        if habits_words.apart(habit):
            yield f"{words.sentence(habit.words)[:-1]}: {habit.definition}."
    yield (
        "Habits are counted in games that last so long, and spoken of where p, adjusted for all "
        "of them, is below 0.05; what each is stands on the page of the command habits."
    )
