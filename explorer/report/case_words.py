"""What stands beside a mistake's numbers, in plain sentences: facts of the rules, an engine's
opinion, and whether a lesson helped."""

from __future__ import annotations

from collections.abc import Iterator

from explorer.positions.engine import Evaluation
from explorer.positions.facts import PlyFacts
from explorer.query.mistake_model import Helped
from explorer.report import words
from explorer.report.mistake_case import Case
from explorer.report.mistake_words import mistake_move

LEVEL_PAWNS = 0.05  # rounds to nothing
FACTS_NOTE = (
    "Replies: legal replies, named where three or fewer. Material: White's less Black's, in pawns. "
    "Attacks: what the moved piece attacks that is undefended or worth more; at once: two or more."
)


def helped(told: Helped) -> str:
    """Whether the change can be more than chance, in words that claim no more."""
    before, after = told.class_before, told.class_after
    if before.few or after.few or told.beyond.low is None or told.beyond.high is None:
        return (
            f"Too few games of the class to say: {before.games:,} before, {after.games:,} after, "
            f"by {before.players:,} and {after.players:,} players."
        )
    wanted, unwanted = told.beyond.high < 0, told.beyond.low > 0
    if told.what == "punishing":
        wanted, unwanted = unwanted, wanted
    does = "punishes it" if told.what == "punishing" else "makes it"
    change = f"from {words.hundredths(before.share)} to {words.hundredths(after.share)} in 100"
    if not wanted and not unwanted:
        return (
            f"The class {does} in {words.hundredths(after.share)} of 100 cases instead of "
            f"{words.hundredths(before.share)}; beside the other players that can be chance: "
            "nothing is shown either way."
        )
    often = "more" if told.beyond.low > 0 else "less"
    ends = (
        "That is what one would see if the lesson helped; it is no proof that it did."
        if wanted
        else "These numbers give no sign that the lesson helped."
    )
    return (
        f"The class {does} {often} often since then, {change}, beyond the change among other "
        f"players of the same levels. {ends}"
    )


def helped_notes(told: Helped) -> Iterator[str]:
    """Who is compared, and who is left out."""
    yield (
        "The others are players outside the class at the same levels over the same dates. Changes "
        "are in 100 cases, with 95 % intervals, players being the sample."
    )
    if told.undated:
        games = words.count(told.undated, "game")
        yield f"{games} left out: the date is too vague to be before or after."
    if told.not_found:
        members = words.count(len(told.not_found), "member")
        yield f"{members} of the class: no game of theirs under that name."


def opinion(case: Case, letters: str | None = None) -> str | None:
    """What an engine thinks before and after the mistake, marked as its opinion."""
    if case.opinion is None:
        return None
    before, after = case.opinion.evaluations
    made = mistake_move(case.answer, letters)
    best = f", and its move would be {words.spelled(before.best, letters)}" if before.best else ""
    answer = f"; its best answer is {words.spelled(after.best, letters)}" if after.best else ""
    depth = f" at depth {after.depth}" if after.depth else ""
    return (
        f"An engine's opinion, not a count of games ({words.clean(case.opinion.engine)}{depth}): "
        f"before {made} {_stands(before)}{best}; after it {_stands(after)}{answer}."
    )


def _stands(seen: Evaluation) -> str:
    """``White is ahead by 1.5 pawns``."""
    if seen.mate_in is not None:
        if not seen.mate_in:
            return "it is mate"
        return f"{'White' if seen.mate_in > 0 else 'Black'} mates in {abs(seen.mate_in)}"
    if seen.pawns is None:
        return "it gives no score"
    if abs(seen.pawns) < LEVEL_PAWNS:
        return "the sides are level"
    return f"{'White' if seen.pawns > 0 else 'Black'} is ahead by {words.pawns(seen.pawns)}"


def fact(told: PlyFacts, letters: str | None = None) -> str:
    """What the rules say of a position: ``Check, 2 replies: Ke7 and g6. Attacks e5.``"""
    if told.mate or told.stalemate:
        return "Mate." if told.mate else "Stalemate."
    return " ".join([*threats(told, letters), material(told.balance)])


def threats(told: PlyFacts, letters: str | None = None) -> Iterator[str]:
    """Check, the only replies, and what is attacked: ``Attacks e5.``"""
    only = words.listed([words.spelled(san, letters) for san in told.only_replies])
    replies = f"{told.replies} {'reply' if told.replies == 1 else 'replies'}"
    if told.check or only:
        yield f"{'Check, ' if told.check else ''}{replies}{f': {only}' if only else ''}."
    aims, at_once = (
        words.listed([words.spelled(man, letters) for man in men])
        for men in (told.attacks, told.double_attack)
    )
    if at_once:
        yield f"Attacks {at_once} at once."
    elif aims:
        yield f"Attacks {aims}."


def material(balance: int) -> str:
    """``White is ahead by 1 pawn.`` of White's material less Black's."""
    if not balance:
        return "Material even."
    return f"{'White' if balance > 0 else 'Black'} is ahead by {words.pawns(balance)}."
