"""What is said of a mistake, in plain sentences: how often, what it costs, whether it is punished.

A finding is worded as something to practise, and claims no more than the numbers show.
"""

from __future__ import annotations

from collections.abc import Iterator

from explorer.query.mistake_model import (
    Difference,
    MistakeAnswer,
    MistakeLevel,
    Rate,
)
from explorer.query.model import FEW_GAMES, FEW_PLAYERS
from explorer.report import words
from explorer.report.sentences import FEW_SIGN
from ingest.levels import Level

MUTED_NOTE = (
    f"{FEW_SIGN} fewer than {FEW_GAMES} games or {FEW_PLAYERS} players, or mostly one player: "
    "too few to say."
)
IN_100_NOTE = (
    "In 100 games: of the games that such players have with that colour, with a move by each "
    "side and not cut short before this point. When headed for: the same, if the other side plays "
    "its moves of the line each time; the product of the shares along the line."
)
COST_NOTE = (
    "Beside the others: the score against expectation less that of the other replies in the same "
    "position, the mean swing likewise. All levels together are taken as they are; the page of "
    "costly replies allows for the level, so its cost of several levels can differ a little."
)


def move(number: str, san: str, letters: str | None) -> str:
    """``3. Nxe5``."""
    return f"{number} {words.spelled(san, letters)}"


def mistake_move(answer: MistakeAnswer, letters: str | None = None) -> str:
    """The mistake with its number, ``2... f6``; without one where no line is known."""
    number = last_number(answer.line)
    san = words.spelled(answer.san, letters)
    dots = "..." if answer.position.to_move == "black" else "."
    return f"{number}{dots} {san}" if number else san


def last_number(line: str) -> str:
    """The number of a line's last move: ``2`` of ``1. e4 e5 2. Nf3 f6``; empty without any."""
    numbers = [word.rstrip(".") for word in line.split() if word[0].isdigit()]
    return numbers[-1] if numbers else ""


def sides(answer: MistakeAnswer) -> tuple[str, str]:
    """Who errs and who may punish: ``Black``, ``White``."""
    errs = words.side(answer.position.to_move)
    return errs, "White" if errs == "Black" else "Black"


def headline(answer: MistakeAnswer) -> str:
    """How often, in one sentence; in which levels together, the filters say."""
    level = answer.levels[-1]
    who, (side, _) = words.players(answer.filters.levels), sides(answer)
    if said := _unsure(level.rate):
        return said
    return f"In 100 games that {who} have with {side}, it happens {_both(level)}."


def _both(level: MistakeLevel) -> str:
    """``in 1.4; when headed for, in 6``: two numbers that are never mixed."""
    told = f"in {words.fine_hundredths(level.in_all_games.share or 0.0)}"
    if level.headed_for is None:
        return told
    return f"{told}; when headed for, in {words.fine_hundredths(level.headed_for)}"


def _unsure(rate: Rate) -> str | None:
    """Why nothing is claimed of a rate; None when it can be."""
    games = f"{words.count(rate.games, 'game')} by {words.count(rate.players, 'player')}"
    if rate.few:
        return f"{games} went on from here: too few to say how often it happens."
    if not rate.cases:
        most = words.fine_hundredths(rate.high or 0.0)
        return f"Not seen in {words.count(rate.games, 'game')}: at most {most} in 100."
    said = one_player(rate)
    return f"{words.sentence(said)[:-1]}: that says little of others." if said else None


def one_player(rate: Rate) -> str | None:
    """``one player made 53 of these 84``, or None when nobody made more than a third."""
    if not rate.one_player:
        return None
    return f"one player made {rate.top_player_cases} of these {rate.cases}"


def summary(answer: MistakeAnswer) -> Iterator[str]:
    """The whole answer in a few sentences: how often, where most, the trend, the cost."""
    whole = answer.levels[-1]
    yield headline(answer)
    if more := most_often(answer):
        yield more
    if whole.rate.cases:
        yield trend(answer)
        yield " ".join(cost(whole))


def most_often(answer: MistakeAnswer) -> str | None:
    """The level that errs more often than all together; None where none surely does."""
    *levels, whole = answer.levels
    told = [
        level
        for level in levels
        if not level.rate.muted and (level.rate.low or 0.0) > (whole.rate.share or 0.0)
    ]
    if whole.rate.muted or not told:
        return None
    worst = max(told, key=lambda level: level.rate.share or 0.0)
    who = words.players_of(Level(worst.low, worst.high))
    return f"Most often among {who}: {_both(worst)}."


def trend(answer: MistakeAnswer) -> str:
    """Whether it fades with strength."""
    match answer.trend.direction:
        case "fades":
            return "It fades with strength: the stronger the players, the rarer it is."
        case "grows":
            return "It grows with strength: the stronger the players, the more often they play it."
    if answer.trend.p is None:
        return "There are too few levels with enough games to say whether it fades with strength."
    return "It neither clearly fades nor clearly grows with strength."


def trend_note(answer: MistakeAnswer) -> str | None:
    """The test behind `trend`; None when there was none."""
    if answer.trend.p is None:
        return None
    return (
        f"Fading: Cochran-Armitage test for a trend over {answer.trend.levels} levels with their "
        f"mean ratings as scores, two-sided {p_value(answer.trend.p)}."
    )


def p_value(p: float) -> str:
    """``p = 0.03``, ``p < 0.001``."""
    return "p < 0.001" if p < 0.001 else f"p = {p:.2g}" if p < 0.1 else f"p = {p:.2f}"


def cost(level: MistakeLevel) -> Iterator[str]:
    """What it costs beside the other replies: in results, in material, in mates."""
    yield _results(level.cost)
    if said := _material(level.swing):
        yield said
    if level.mated:
        games = words.count(level.rate.cases, "game")
        yield f"Mated within eight moves: {level.mated:,} of {games}."


def _results(cost: Difference) -> str:
    if cost.value is None or cost.low is None or cost.high is None or cost.few:
        return "Too few rated games to say what it costs in results."
    points = words.hundredths(abs(cost.value))
    if cost.high < 0:
        return f"It scores {points} points in 100 games less than the other replies here."
    if cost.low > 0:
        return (
            f"By results it is no mistake: it scores {points} points in 100 games more "
            "than the other replies here."
        )
    return "In results it is not clearly worse than the other replies here."


def _material(swing: Difference) -> str | None:
    if swing.value is None or swing.low is None or swing.high is None or swing.few:
        return None
    if swing.high < 0:
        return f"In material it loses {words.pawns(swing.value)} more than they do."
    if swing.low > 0:
        return f"In material it comes out {words.pawns(swing.value)} ahead of them."
    return None
