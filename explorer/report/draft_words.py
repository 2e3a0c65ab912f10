"""What is said of a draft, in plain sentences: on the screen and in the lesson's file."""

from __future__ import annotations

from collections.abc import Iterator

from explorer.query.draft_answers import FADED
from explorer.query.draft_model import (
    PREFERRED,
    TEACHER,
    DraftAnswer,
    DraftMove,
    DraftStep,
    Skipped,
)
from explorer.query.mistake_model import ALL_LEVELS
from explorer.query.model import FEW_GAMES, FEW_PLAYERS
from explorer.query.outscored import POPULAR
from explorer.report import words
from explorer.report.mistake_words import last_number
from explorer.report.privacy import Veil
from explorer.report.sentences import FEW_NOTE

CHOSEN_BY = {TEACHER: "you", PREFERRED: "your file"}
GREEDY_NOTE = (
    "Learnt in this order: always the position that is met most often and has no answer yet. "
    "Where no lines merge and no taught move mates, no other positions, as many, give a greater "
    "sum of the answered share over these moves; where lines merge, others may."
)
ANSWER_NOTE = (
    "The answer is the most common move that is not clearly worse than the best, of those with "
    f"{POPULAR:.0%} of the games, 30 games and 5 players at least."
).replace("%", " %")
FADING_NOTE = (
    "A move fades with strength when its share falls from level to level (Cochran-Armitage) to "
    f"less than {FADED:.0%} of what it is at the lowest; --allow-fading lets it in."
).replace("%", " %")


def title(answer: DraftAnswer, letters: str | None = None) -> str:
    """``Draft of a lesson for White after 1. e4``."""
    after = f" after {words.spelled(answer.start, letters)}" if answer.start else ""
    return f"Draft of a lesson for {words.side(answer.side)}{after}"


def opponents(answer: DraftAnswer, veil: Veil) -> str:
    """The filters as a sentence: ``Opponents rated 800 to 1199, any pace.``"""
    return words.opponents_sentence(answer.filters, veil)


def games(answer: DraftAnswer, letters: str | None = None) -> str:
    """``games with White``; ``games that come to 1. e4``."""
    if answer.start:
        return f"games that come to {words.spelled(answer.start, letters)}"
    return f"games with {words.side(answer.side)}"


def given(answer: DraftAnswer) -> int:
    """How many positions the line to start with has."""
    return sum(step.chosen_by == TEACHER for step in answer.steps)


def milestones(answer: DraftAnswer) -> list[int]:
    """After how many positions the curve is told: quarters of those beyond the given ones."""
    before = given(answer)
    more = len(answer.steps) - before
    return sorted({before + max(1, round(more * part / 4)) for part in (1, 2, 3, 4)})


def headline(answer: DraftAnswer) -> str:
    """What half of the positions answer, and what all do, at the move of `told_at`."""
    column, learnt = told_at(answer), len(answer.steps)
    state = answer.states[column]
    between = ""
    if state.low is not None and state.high is not None:
        between = f" ({words.hundredths(state.low)} to {words.hundredths(state.high)})"
    share = words.percent(state.answered)
    whole = f"{_answer(learnt)} {share}{between} up to move {state.move}"
    half = (given(answer) + learnt) // 2
    if half == given(answer):
        return f"{whole}."
    return f"{whole}; {_answer(half)} {words.percent(answer.steps[half - 1].answered[column])}."


def told_at(answer: DraftAnswer) -> int:
    """The place of the last move at which at least half of the games have an answer, or of the
    first move."""
    places = [place for place, state in enumerate(answer.states) if state.answered >= 0.5]
    return max(places, default=0)


def _answer(positions: int) -> str:
    return f"{words.count(positions, 'position')} answer{'s' if positions == 1 else ''}"


def on_average(answer: DraftAnswer) -> str:
    """The objective in words."""
    first, last = answer.moves[0], answer.moves[-1]
    turns = f"At moves {first} to {last}" if first < last else f"At move {first}"
    return (
        f"{turns} a student has an answer {answer.objective:.1f} times on average, of "
        f"{len(answer.moves)}."
    )


def stopped(answer: DraftAnswer) -> str:
    """Why no more is learnt."""
    often = f"{answer.next_in_100:.2g} of 100 games"
    if answer.stopped == "worth":
        return (
            f"Stopped: the next position is met in {often}, which is less than --worth "
            f"{answer.worth:g}."
        )
    if answer.stopped == "positions":
        return (
            f"Stopped at --positions {answer.positions}; the next one to look at is met in {often}."
        )
    return (
        "Stopped: there is no other position up to this move that games come to and that has "
        "an answer."
    )


def answered(step: DraftStep, letters: str | None = None) -> str:
    """The taught move with its number: ``2. Nf3``."""
    number, white = last_number(step.line), step.fen.split()[1] == "w"
    san = words.spelled(step.san, letters)
    return f"{int(number or 0) + 1}. {san}" if white else f"{number}... {san}"


def few(step: DraftStep) -> bool:
    """Whether too few players have chosen the move to claim anything."""
    return step.of < FEW_GAMES or step.players < FEW_PLAYERS


def chosen_by(step: DraftStep) -> str:
    """Who chose the move: ``you``, ``your file``, ``players 1200-1399``."""
    return CHOSEN_BY.get(step.chosen_by, step.level)


def why(skipped: Skipped, letters: str | None = None) -> str:
    """Why a position has no answer."""
    if skipped.why == "few":
        return "no move has enough games"
    return f"{words.spelled(skipped.san or '', letters)} is not to be taught"


def rather(answer: DraftAnswer, letters: str | None = None) -> Iterator[str]:
    """The moves that are left out though players choose them more often."""
    told = [
        f"{words.spelled(step.rather_than, letters)} ({answered(step, letters)} instead)"
        for step in answer.steps
        if step.rather_than
    ]
    if told:
        yield f"More common, but fading with strength: {words.listed(told)}."


def notes(answer: DraftAnswer, letters: str | None = None) -> Iterator[str]:
    """The footnotes."""
    if any(few(step) for step in answer.steps):
        yield FEW_NOTE
    yield from rather(answer, letters)
    yield GREEDY_NOTE
    yield ANSWER_NOTE
    if not answer.allow_fading:
        yield FADING_NOTE
    wider = sum(step.level != answer.model_level for step in answer.steps)
    if wider:
        yield (
            f"{words.count(wider, 'answer')} of players of other levels too: too few games of "
            f"{answer.model_level}."
        )
    if any(move.borrowed for move in answer.lines):
        yield (
            "Where fewer than 30 games of the opponents' level go on, those of neighbouring levels "
            "count too."
        )


def event(answer: DraftAnswer) -> str:
    """The Event tag: ``Lesson for White: 1. e4, opponents rated 800 to 1199``."""
    after = f": {answer.start}" if answer.start else ""
    who = words.players(answer.filters.levels).replace("players", "opponents", 1)
    return f"Lesson for {words.side(answer.side)}{after}, {who}"


def preface(answer: DraftAnswer) -> str:
    """The comment before the first move."""
    side = words.side(answer.side)
    other = "Black" if answer.side == "white" else "White"
    return (
        f"A first draft, to be worked on. After a move of {other}: how many opponents of the level "
        f"choose it, and how often it is met. After a move of {side}: how many players of a level "
        "to learn from choose it."
    )


def comment(move: DraftMove, step: DraftStep | None) -> str:
    """The comment after a move of the lesson's file; empty for none."""
    return " ".join(filter(None, [_told(move, step), _same(move)]))


def _told(move: DraftMove, step: DraftStep | None) -> str:
    if step is not None:
        return _taught(step)
    if not move.of or move.in_100 is None:
        return ""
    near = ", neighbouring levels included" if move.borrowed else ""
    return (
        f"{_of(move.games, move.of)}{near}; met in "
        f"{words.fine_hundredths(move.in_100 / 100)} of 100 games."
    )


def _taught(step: DraftStep) -> str:
    given = {TEACHER: "The line to start with. ", PREFERRED: "From the preferred file. "}
    level = step.level if step.level == ALL_LEVELS else f"level {step.level}"
    counted = f"{_of(step.games, step.of)} of {level}." if step.of else ""
    rather = (
        f" {step.rather_than} is more common, but fades with strength." if step.rather_than else ""
    )
    return f"{given.get(step.chosen_by, '')}{counted}{rather}".strip()


def _of(cases: int, n: int) -> str:
    """``38% of 1,204 games``; no blank, or a line of PGN might come to begin with the sign."""
    return f"{words.hundredths(cases / n)}% of {words.count(n, 'game')}"


def _same(move: DraftMove) -> str:
    return f"The same position as after {move.same_as}." if move.same_as else ""
