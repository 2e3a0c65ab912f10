"""What is said of a punishment, in plain sentences: chances, finds, escapes, what it gains."""

from __future__ import annotations

from collections.abc import Iterator

from explorer.query.mistake_model import ChancesLevel, Punishment, Rate, Step
from explorer.query.model import FEW_GAMES, FEW_PLAYERS
from explorer.report import words
from explorer.report.mistake_words import move

CHANCES_NOTE = (
    "A chance is a game in which the mistake was made and the moves of the line so far were "
    "played, and that went on. Escaped: the other side answered otherwise, so the line ended "
    "there; that is not counted as missed. Would know it: the product of the shares."
)


def chosen(punishment: Punishment) -> str | None:
    """How the punishing line was chosen; None when the teacher named it."""
    match punishment.chosen_by:
        case "rules":
            return "This punishment was chosen because it mates."
        case "numbers":
            return (
                "This punishment was chosen by the numbers: of the replies with "
                f"{FEW_GAMES} games and {FEW_PLAYERS} players it has the best lower bound "
                "against expectation."
            )
    return None


def no_punishment(side: str) -> str:
    """What is said when there is no punishing line."""
    return (
        f"No reply of {side} mates, and none was played in {FEW_GAMES} games by {FEW_PLAYERS} "
        "players: name a punishment with --punish."
    )


def punished(punishment: Punishment, side: str, letters: str | None) -> Iterator[str]:
    """Whether it is punished: how the line was chosen, its steps, the whole, what it gains."""
    yield from filter(
        None,
        (
            chosen(punishment),
            *finds(punishment, side, letters),
            would_know(punishment.levels[-1]),
            gain(punishment, side, letters),
        ),
    )


def finds(punishment: Punishment, side: str, letters: str | None) -> Iterator[str]:
    """Each step in a sentence: ``White had the chance 40 times and found 3. Nxe5 22 times``."""
    first, *later = punishment.levels[-1].steps
    named = move(first.number, first.san, letters)
    yield (
        f"{side} had the chance {times(first.found.games)} and found {named} "
        f"{times(first.found.cases)}{_often(first.found)}."
    )
    for step, answer in zip(later, punishment.sans[1::2], strict=False):
        named = move(step.number, step.san, letters)
        after = move(answer_number(step), answer, letters)
        yield (
            f"After {after} there was the chance of {named} {times(step.found.games)}, "
            f"found {times(step.found.cases)}{_often(step.found)}."
        )


def _often(found: Rate) -> str:
    return "" if found.few else f" ({words.percent(found.share)})"


def times(number: int) -> str:
    """``once``, ``40 times``."""
    return "once" if number == 1 else "never" if not number else f"{number:,} times"


def would_know(level: ChancesLevel) -> str | None:
    """How often the whole line would be found; None for one step and for few games."""
    if level.would_know is None or len(level.steps) < 2 or any(s.found.few for s in level.steps):
        return None
    spread = (
        f"{words.hundredths(level.would_know_low)} to {words.hundredths(level.would_know_high)}"
    )
    return (
        f"The whole line would be found in {words.hundredths(level.would_know)} of 100 "
        f"chances ({spread})."
    )


def gain(punishment: Punishment, side: str, letters: str | None) -> str | None:
    """What playing the first move of the punishment brought; None for few games."""
    whole = punishment.levels[-1]
    first = move(whole.steps[0].number, whole.steps[0].san, letters)
    if punishment.worse_than_alternatives:
        return (
            f"As played here, {first} scores worse than the other moves of {side}: "
            "choose or teach another answer."
        )
    gained = whole.gain
    if gained.value is None or gained.low is None or gained.high is None or gained.few:
        return None
    if gained.low > 0:
        points = words.hundredths(gained.value)
        return f"{first} scores {points} points in 100 games more than the other moves."
    return f"In results {first} is not clearly better than the other moves."


def answer_number(step: Step) -> str:
    """The number of the other side's move just before a step: ``3...`` before ``4.``."""
    number = int(step.number.rstrip("."))
    return f"{number}." if step.number.endswith("...") else f"{number - 1}..."


def prepare_for(level: ChancesLevel, side: str, letters: str | None) -> Iterator[str]:
    """Which answers of the erring side to prepare for, the one that escapes most often first."""
    for step in level.steps[1:]:
        escapes = [answer for answer in step.between if answer.escaped]
        if not escapes:
            continue
        most = max(escapes, key=lambda answer: answer.games)
        met = sum(answer.games for answer in step.between)
        share = f" ({words.percent(most.share)})" if met >= FEW_GAMES else ""
        answered = move(answer_number(step), most.san, letters)
        yield (
            f"Prepare for {answered}: {side} escaped so in {most.games:,} of "
            f"{words.count(met, 'game')}{share}."
        )


def other_ways(punishment: Punishment) -> str | None:
    """Games that reached the position after the mistake without it; None for none."""
    if not punishment.other_ways:
        return None
    games = words.count(punishment.other_ways, "game")
    return f"{games} reached the position after the mistake by another move: not counted here."
