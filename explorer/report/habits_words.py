"""What is said of habits, in plain sentences: how often, with strength, one player beside others.

A difference is worded as something to practise and is never a verdict.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from explorer.numbers.trend import SIGNIFICANT
from explorer.query.habits_model import Habit, HabitLevel, HabitsAnswer, Own
from explorer.query.model import FEW_GAMES
from explorer.report import words
from explorer.report.mistake_words import MUTED_NOTE, one_player, p_value
from explorer.report.privacy import Veil
from explorer.report.sentences import expectation, origin

TITLE = "Habits in the opening"
IN_SHORT = (
    "castled_by_10",
    "queen_out_before_5",
    "same_piece_twice_by_8",
    "left_to_be_taken_by_15",
    "mated_by_15",
)
# What a teacher would have a player practise; the habits that nobody minds have none.
AIMS = {
    "castled_by_8": "castling by move 8",
    "castled_by_10": "castling by move 10",
    "castled_by_12": "castling by move 12",
    "queen_out_before_5": "keeping the queen at home in the first four moves",
    "same_piece_twice_by_8": "moving another piece each time",
    "developed_by_8": "bringing pieces out by move 8",
    "centre_pawn_by_5": "a pawn in the centre by move 5",
    "king_moved_by_12": "castling before the king moves",
    "left_to_be_taken_by_15": "looking at what the other side can take",
    "mated_by_15": "looking for the other side's threats of mate",
    "rook_down_by_15": "keeping the pieces",
}
STRENGTH = {"grows": "Commoner", "fades": "Rarer"}
COUNTED = (
    "A game counts once for each of its two players, at that player's level, and only if it "
    "lasts as many moves of that player as a habit asks for. Games from a set-up position are "
    "left out."
)
CAUTION = (
    "It tells what goes together and is no proof of cause: those who stood badly may have had no "
    "time for it."
)
RESULTS = (
    "Differs by: the score against expectation with the habit less that without it, allowing for "
    "what players of each level score with each colour; of the pieces developed, with more than "
    "the mean less with fewer. Being mated decides the score by itself, so none is told. Ranges "
    "are 95 % intervals; players, not games, are the sample."
)
HINT = (
    "A dot is the share at one level, low ratings on the left; the line through it shows how "
    "sure that is. Hollow: too few to say. Each panel has its own scale; pieces developed are "
    "drawn as a share of the seven."
)


def who(answer: HabitsAnswer, veil: Veil) -> str:
    """The player looked at: initials, a name, or ``the student``."""
    return veil.person(answer.player) or "the student"


def title(answer: HabitsAnswer, veil: Veil) -> str:
    """``Habits in the opening: J. D. beside others``."""
    return f"{TITLE}: {who(answer, veil)} beside the others" if answer.player else TITLE


def lead(answer: HabitsAnswer, veil: Veil) -> Iterator[str]:
    """The sentences that come first."""
    if answer.player is not None:
        yield from beside(answer, veil)
    yield in_short(answer)
    yield from by_strength(answer)


def in_short(answer: HabitsAnswer) -> str:
    """A few habits in one sentence."""
    told = [
        f"{habit.words} in {words.hundredths(habit.whole.share)}"
        for habit in answer.habits
        if habit.id in IN_SHORT and not habit.whole.few
    ]
    games = f"{words.count(answer.games, 'game')} by {words.count(answer.players, 'player')}"
    if not told:
        return f"{games}: too few to say what is usual."
    return f"{games}. In 100 games that last so long: {'; '.join(told)}."


def by_strength(answer: HabitsAnswer) -> Iterator[str]:
    """Which habits become commoner with strength and which rarer."""
    for direction, told in STRENGTH.items():
        habits = [habit.words for habit in answer.habits if habit.trend.direction == direction]
        if habits:
            yield f"{told} with strength: {'; '.join(habits)}."


def trend(habit: Habit) -> str:
    """``Commoner with strength: from 17 % (under 800) to 38 % (2000 and over).``"""
    if habit.trend.p is None:
        return "Too few levels with enough games to say how it goes with strength."
    if habit.trend.direction == "none":
        return "Neither clearly commoner nor clearly rarer with strength."
    first, last = (f"{amount(level)} ({level.label})" for level in ends(habit))
    return f"{STRENGTH[habit.trend.direction]} with strength: from {first} to {last}."


def ends(habit: Habit) -> tuple[HabitLevel, HabitLevel]:
    """The lowest and the highest rated level with enough games."""
    rated = [level for level in habit.levels[:-1] if level.low or level.high]
    enough = [level for level in rated if not level.found.few]
    return enough[0], enough[-1]


def amount(told: HabitLevel | Own) -> str:
    """``53 %``, ``3.4 pieces``."""
    if told.mean is None:
        return words.percent(told.rate.share if told.rate else None)
    return words.NOTHING if told.mean.value is None else f"{told.mean.value:.1f} pieces"


def beside(answer: HabitsAnswer, veil: Veil) -> Iterator[str]:
    """One player beside the others of the level: what to practise, what is in hand."""
    name = who(answer, veil)
    games = words.count(answer.player_games, "game")
    where = "at level" if answer.player_games == 1 else "most of them at level"
    most = f"{name[:1].upper()}{name[1:]}: {games}, {where} {answer.player_level}."
    if answer.player_games < FEW_GAMES:
        yield f"{most} That is too few to say more than what happened in them."
        return
    yield most
    practise = [habit for habit in answer.habits if apart(habit) < 0]
    in_hand = [habit for habit in answer.habits if apart(habit) > 0]
    if practise:
        yield f"Something to practise: {_compared(practise)}."
    if in_hand:
        aims = "; ".join(AIMS[habit.id] for habit in in_hand)
        yield f"Better in hand than among the others: {aims}."
    if not practise and not in_hand:
        yield f"In none of these does {name} clearly differ from the others of that level."


def apart(habit: Habit) -> float:
    """Below 0 where the player is surely behind the others, above where ahead, else 0."""
    found = habit.own.difference if habit.own and not habit.own.few else None
    if found is None or found.value is None or found.p is None or found.p >= SIGNIFICANT:
        return 0.0
    return habit.wanted * found.value


def _compared(habits: Sequence[Habit]) -> str:
    return "; ".join(_pair(habit, habit.own) for habit in habits if habit.own)


def _pair(habit: Habit, own: Own) -> str:
    """``castling by move 10 (31 %, the others 52 %)``."""
    what = f"{habit.words}: " if habit.wanted < 0 else ""
    return f"{AIMS[habit.id]} ({what}{amount(own)}, the others {amount(own.others)})"


def notes(answer: HabitsAnswer, veil: Veil) -> Iterator[str]:
    """The footnotes: what was counted, every definition, the tests, where it comes from."""
    yield MUTED_NOTE
    yield COUNTED
    for habit in answer.habits:
        yield definition(habit)
    yield f"{RESULTS} {CAUTION}"
    if any(habit.trend.p is not None for habit in answer.habits):
        yield (
            "Commoner or rarer with strength: a test for a trend over the levels with enough "
            "games, with their mean ratings as scores (Cochran-Armitage; for the mean the same "
            "test of means); each p is adjusted for all habits (Benjamini-Hochberg)."
        )
    if answer.player is not None:
        yield (
            f"In the comparison each game of {who(answer, veil)} stands for itself, because one "
            "player is one case only; the others are counted by player. Newcombe's interval; "
            "spoken of only where p, adjusted for all habits, is below 0.05. A player's games are "
            "more alike than that: take it as a hint for what to look at in them."
        )
    yield expectation(answer.source)
    yield from origin(answer.source, veil)


def definition(habit: Habit) -> str:
    """What a habit is, how it goes with strength, and who is told apart."""
    told = [f"{words.sentence(habit.words)[:-1]}: {habit.definition}."]
    if habit.trend.direction != "none" and habit.trend.p is not None:
        how = STRENGTH[habit.trend.direction]
        told.append(f"{how} with strength, {p_value(habit.trend.p)}.")
    if habit.whole.mated:
        games = words.count(habit.whole.of, "game")
        told.append(f"Told apart as mated: {habit.whole.mated:,} of {games}.")
    if habit.whole.rate and (mostly := one_player(habit.whole.rate)):
        told.append(f"{words.sentence(mostly)}")
    return " ".join(told)
