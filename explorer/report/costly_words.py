"""What is said of costly replies, in plain sentences: things to practise, never a verdict."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from explorer.query.mistake_model import CompareAnswer, Costly, CostlyAnswer, Outgrown
from explorer.query.model import FEW_GAMES, FEW_PLAYERS, TELLING_SWING
from explorer.report import words
from explorer.report.mistake_words import last_number, one_player
from explorer.report.sentences import FEW_SIGN
from ingest.levels import UNRATED

OVERLAP = "Costs along one line overlap and do not add up."
LOST_NOTE = (
    "Points lost in 100 games: how often the position is reached in 100 games of such players "
    "with that colour, times the share that plays this, times what it costs in points."
)
COST_NOTE = (
    "Beside the others: the score against expectation less that of the other replies in the same "
    "position; swing, in pawns, likewise."
)
INSTEAD_NOTE = (
    "Instead: the most common reply that is not clearly worse than the best of those with enough "
    "games. Punished by: the answer that mates, or else scores best for certain; found: how often "
    "it was played."
)
MUTED_NOTE = f"{FEW_SIGN} fewer than {FEW_GAMES} games or {FEW_PLAYERS} players: too few to say."
LEVEL_NOTE = (
    "These costs allow for what players of each level score with White and with Black beyond "
    "their expected scores. The page of one mistake does not: its row of several levels together "
    "can differ from them a little, its row of one level does not."
)
FOUND_BY = {
    "results": "by results",
    "material": "by material",
    "both": "by results and by material",
}


def label(costly: Costly, letters: str | None = None) -> str:
    """The reply with its number: ``2... f6``."""
    return numbered(costly, costly.san, letters)


def numbered(costly: Costly, san: str, letters: str | None = None) -> str:
    """A reply in the position of a costly one, with the same number."""
    san = words.spelled(san, letters)
    number = last_number(costly.line)
    dots = "..." if costly.position.to_move == "black" else "."
    return f"{number}{dots} {san}" if number else san


def answered(costly: Costly, letters: str | None = None) -> str:
    """What punishes it, with its number: ``3. Nxe5``; empty without."""
    if costly.punisher is None:
        return ""
    san, number = words.spelled(costly.punisher, letters), last_number(costly.line)
    if not number:
        return san
    if costly.position.to_move == "black":
        return f"{int(number) + 1}. {san}"
    return f"{number}... {san}"


def title(answer: CostlyAnswer, letters: str | None = None) -> str:
    """``What Black can practise after 1. e4 e5``."""
    who = words.side(answer.side) if answer.side else "either side"
    line = words.spelled(answer.position.line or "", letters)
    if not line and answer.position.line is None:
        return f"What {who} can practise from this position"
    return f"What {who} can practise {f'after {line}' if line else 'in the opening'}"


def compare_title(answer: CompareAnswer) -> str:
    """``From 800-999 to 1000-1199: what to practise``."""
    return f"From {answer.lower} to {answer.higher}: what to practise"


def summary(answer: CostlyAnswer) -> Iterator[str]:
    """How much was looked at, what was found, and what could have been."""
    if not answer.candidates:
        yield f"No reply up to move {answer.to_move} had enough games to be looked at."
        return
    shown = len(answer.found) + answer.found_left_out + answer.too_small
    costs = "none of them costs" if not shown else f"{shown:,} of them cost"
    yield (
        f"{_replies(answer.candidates)} up to move {answer.to_move} had enough games; "
        f"{'one of them costs' if shown == 1 else costs} more than the others played there"
        f"{_of_these(shown, answer.too_small)}."
    )
    if len(answer.found) > 1:
        yield OVERLAP
    if alone := by_material_alone(answer.found):
        yield alone
    if answer.could_show is not None:
        points = words.hundredths(answer.could_show)
        yield (
            f"With the games of the middle one of these replies a cost of {points} points in 100 "
            "games would have been found 4 times in 5; a smaller one may have gone unseen."
        )


def by_material_alone(found: Sequence[Costly]) -> str | None:
    """How many of those listed only material shows to be costly; None for none."""
    alone = sum(one.found_by == "material" for one in found)
    if not alone:
        return None
    which = f"{alone} of those listed" if alone < len(found) else "All of those listed"
    was = "was" if alone == 1 < len(found) else "were"
    if len(found) == 1:
        which, was = "It", "was"
    return (
        f"{which} {was} found by material alone. What is given up on purpose, as in a gambit, is "
        "found so too: the results tell whether it pays."
    )


def _of_these(found: int, too_small: int) -> str:
    """How many of what was found are too small to be listed."""
    if not too_small:
        return ""
    which = f"{too_small:,} of these" if too_small < found else "all" if found > 1 else "but"
    return f", {which} too little to list"


def _replies(number: int, kind: str = "") -> str:
    return f"{number:,} {kind}{'reply' if number == 1 else 'replies'}"


def compare_summary(answer: CompareAnswer) -> Iterator[str]:
    """How many costly replies of the lower level the higher one plays less."""
    found = len(answer.answer.found) + answer.answer.found_left_out
    lower, higher = _players(answer.lower), _players(answer.higher)
    if not found:
        first, *more = summary(answer.answer)
        yield first
        yield f"So there is nothing that {higher} can be seen to play less."
        yield from more
        return
    if answer.outgrown:
        yield (
            f"Of {_replies(found, 'costly ')} of {lower}, those below are clearly rarer among "
            f"{higher}: what to practise on the way."
        )
    else:
        yield f"Of {_replies(found, 'costly ')} of {lower}, none is clearly rarer among {higher}."
    if len(answer.outgrown) > 1:
        yield OVERLAP
    if alone := by_material_alone([one.costly for one in answer.outgrown]):
        yield alone


def tests_note(answer: CostlyAnswer) -> str:
    """How chance findings are kept few."""
    return (
        f"{answer.tests:,} tests of results and of material, together allowed "
        f"{answer.false_alarms:g} % false alarms (Welch's test, one-sided, players being the "
        "sample; Benjamini-Hochberg over all of them)."
    )


def size_note(answer: CostlyAnswer) -> str:
    """Which findings are listed, how many are too small, and what that choice does not change."""
    if not answer.at_least:
        return "Everything that was found is listed, however little it costs."
    points = f"{answer.at_least:g} point{'' if answer.at_least == 1 else 's'}"
    return (
        f"Listed is what was found by results and costs at least {points} in 100 games with the "
        f"reply, or was found by material and costs at least {TELLING_SWING:g} pawns (mate counts "
        f"as a queen lost).{_too_small(answer.too_small)} This is a choice of what to list, made "
        "after the tests by estimated size: it changes neither them nor their correction. What is "
        "chosen for its size is more often over- than underestimated."
    )


def _too_small(number: int) -> str:
    if not number:
        return ""
    were = "more was" if number == 1 else "more were"
    return f" {number:,} {were} found that cost less; --at-least 0 lists everything."


def left_out(answer: CostlyAnswer) -> str | None:
    """How many findings are not shown; None for none."""
    if not answer.found_left_out:
        return None
    found = words.count(answer.found_left_out, "less costly one")
    return f"{found} {'is' if answer.found_left_out == 1 else 'are'} counted but not shown."


def says(costly: Costly, who: str) -> str:
    """How often it comes up and what it costs, in one sentence; ``who`` are the players."""
    if said := one_player(costly.rate):
        return f"{words.sentence(said)[:-1]}: that says little of others."
    side = words.side(costly.position.to_move)
    often = words.fine_hundredths(costly.in_all_games.share or 0.0)
    return f"In 100 games that {who} have with {side}, it happens in {often}{_costs(costly)}."


def _costs(costly: Costly) -> str:
    """What it costs in results, as far as they show it; in material where only that shows it."""
    material = _material(costly)
    if costly.lost is None or costly.cost.few:
        return f"{material}; too few rated games say what it costs in results"
    if costly.found_by == "material":
        return f"{material}; the results do not show a loss of points"
    if not loses_points(costly):
        return f"{material}; in results its cost is not sure"
    return f" and costs {points(costly.lost)}"


def _material(costly: Costly) -> str:
    """``; it costs material: 0.8 pawns more than the other replies, ...``; empty by results."""
    swing = costly.swing
    if costly.found_by == "results":
        return ""
    if swing.value is not None and swing.high is not None and swing.high < 0 and not swing.few:
        more = words.pawns(swing.value)
        return f"; it costs material: {more} more than the other replies, by about four moves later"
    if costly.mated:
        games = words.count(costly.rate.cases, "game")
        return f"; in {costly.mated:,} of {games} with it mate followed within eight moves"
    return "; it costs more material than such players usually lose"


def points(lost: float) -> str:
    """``0.07 points``; what rounds to nothing is told so."""
    return "less than 0.01 points" if lost < 0.005 else f"{lost:.2f} points"


def loses_points(costly: Costly) -> bool:
    """Whether results found it, with the other tests allowed for, and its whole interval agrees."""
    if costly.found_by == "material" or costly.cost.high is None:
        return False
    return costly.cost.high < 0 and not costly.cost.few


def practise(costly: Costly, letters: str | None = None) -> str | None:
    """What to practise instead; None where results do not show the cost, or no reply is known."""
    if costly.instead is None or not loses_points(costly):
        return None
    return f"To practise: {numbered(costly, costly.instead.san, letters)}."


def outgrown(told: Outgrown, answer: CompareAnswer) -> str:
    """The share at the two levels, in one sentence."""
    lower, higher = told.costly.rate, told.higher
    often = words.hundredths(higher.share)
    if not higher.cases:
        often = f"none (at most {words.fine_hundredths(higher.high or 0.0)})"
    return (
        "In 100 games that come to this position it is played in "
        f"{words.hundredths(lower.share)} by {_players(answer.lower)}, and in {often} by "
        f"{_players(answer.higher)}."
    )


def _players(label: str) -> str:
    """The players of a level by its label: ``players rated 800-999``."""
    if label == UNRATED.label:
        return "unrated players"
    return f"players {label}" if label.startswith("under") else f"players rated {label}"
