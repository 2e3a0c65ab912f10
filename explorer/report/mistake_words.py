"""What is said of a mistake, in plain sentences: how often, what it costs, whether it is punished.

A finding is worded as something to practise, and claims no more than the numbers show.
"""

from __future__ import annotations

from collections.abc import Iterator

from explorer.positions.engine import Evaluation
from explorer.positions.facts import PlyFacts
from explorer.query.mistake_model import (
    ChancesLevel,
    Difference,
    Helped,
    MistakeAnswer,
    MistakeLevel,
    Punishment,
    Rate,
    Step,
)
from explorer.query.model import FEW_GAMES, FEW_PLAYERS
from explorer.report import words
from explorer.report.mistake_case import Case
from explorer.report.sentences import FEW_SIGN
from ingest.levels import Level

LEVEL_PAWNS = 0.05  # rounds to nothing

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
    "position, the mean swing likewise."
)
CHANCES_NOTE = (
    "A chance is a game in which the mistake was made and the moves of the line so far were "
    "played, and that went on. Escaped: the other side answered otherwise, so the line ended "
    "there; that is not counted as missed. Would know it: the product of the shares."
)
FACTS_NOTE = (
    "Replies: legal replies, named where three or fewer. Material: White's less Black's, in pawns. "
    "Attacks: what the moved piece attacks that is undefended or worth more; at once: two or more."
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
    told = f"in {words.hundredths(level.in_all_games.share)}"
    if level.headed_for is None:
        return told
    return f"{told}; when headed for, in {words.hundredths(level.headed_for)}"


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
    if answer.punishment is None:
        yield no_punishment(sides(answer)[1])


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
    parts = []
    only = words.listed([words.spelled(san, letters) for san in told.only_replies])
    replies = f"{told.replies} {'reply' if told.replies == 1 else 'replies'}"
    if told.check or only:
        parts.append(f"{'Check, ' if told.check else ''}{replies}{f': {only}' if only else ''}.")
    aims, at_once = (
        words.listed([words.spelled(man, letters) for man in men])
        for men in (told.attacks, told.double_attack)
    )
    if at_once:
        parts.append(f"Attacks {at_once} at once.")
    elif aims:
        parts.append(f"Attacks {aims}.")
    ahead = "White" if told.balance > 0 else "Black"
    parts.append(
        f"{ahead} is ahead by {words.pawns(told.balance)}." if told.balance else "Material even."
    )
    return " ".join(parts)
