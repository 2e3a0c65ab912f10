"""What is said of plans, in plain sentences: what both sides do, and what the model does more."""

from __future__ import annotations

from collections.abc import Iterator

from explorer.query.plans_model import (
    BREAK,
    CASTLE,
    EXCHANGE,
    PIN,
    Plan,
    PlansAnswer,
    SidePlans,
)
from explorer.report import words
from explorer.report.mistake_words import MUTED_NOTE, one_player
from explorer.report.privacy import Veil
from explorer.report.sentences import expectation, origin

NAMED = 3  # plans in a sentence
SURE = 0.05  # of what is called sure may be chance

CAUTION = (
    "A difference in score is no proof of cause: those who carry out a plan may have stood "
    "better before."
)
KINDS = (
    "A break is a step of a pawn after which it attacks a pawn of the other side (common practice, "
    "no source). Pinning: a bishop, rook or queen comes to attack a piece behind which, on the "
    "same line, stands the king, or a queen worth more. An exchange: a piece takes a piece and is "
    "taken on the same square at once; it counts for both sides. A king who walks to g1 has not "
    "castled. A capture by a piece counts as its move; captures by pawns are not listed."
)
COUNTED = (
    "A plan counts once in a game, at its first time. Usual move: the middle one by the game's own "
    "count; mostly between: the middle half. A move that is a pin or a break in nine of ten games "
    "is listed as that alone."
)
RESULTS = (
    "Differs by: the score against expectation of those who did it less that of those who did "
    "not. Ranges are 95 % intervals; players, not games, are the sample."
)
ORDERS = (
    "Which comes first: among the eight commonest plans, in games that show both on different "
    "moves; pairs that nearly always come in one order are left out."
)


def plan(which: Plan) -> str:
    """``knight to f3``, ``castles king's side``, ``breaks with d4``, ``exchanges queens``."""
    if which.kind == CASTLE:
        return f"castles {which.side}'s side"
    if which.kind == BREAK:
        return f"breaks with {which.square}"
    if which.kind == PIN:
        return f"{which.piece} pinning on {which.square}"
    if which.kind == EXCHANGE:
        same = which.piece == which.other
        return f"exchanges {f'{which.piece}s' if same else f'a {which.piece} for a {which.other}'}"
    return f"{which.piece} to {which.square}"


def numbered(side: SidePlans, number: int) -> str:
    """``1 castles king's side``, as its arrow is numbered."""
    return f"{number + 1} {plan(side.plans[number])}"


def model(answer: PlansAnswer) -> str:
    """``players rated 1600 to 1999``."""
    return words.players((answer.model,)) if answer.model else ""


def what(answer: PlansAnswer) -> str:
    """What the answer is about, in one sentence."""
    moves = words.count(answer.within_moves, "move")
    who = words.players(answer.filters.levels)
    beside = f", beside {model(answer)}" if answer.model else ""
    return f"What {who} do in the next {moves} of each side, in any order{beside}."


def lead(answer: PlansAnswer, side: SidePlans) -> Iterator[str]:
    """One side in a few sentences: the commonest plans, the model beside them, how many games."""
    listed = [one for one in side.plans if not one.here.rate.muted and one.here.rate.cases]
    if listed:
        told = words.listed([_often(one) for one in listed[:NAMED]])
        yield f"{words.side(side.side)} most often: {told}."
    else:
        yield f"Too few games to say what {words.side(side.side)} most often does."
    if answer.model and listed:
        yield beside_model(answer, side)
    yield lasted(answer, side)


def lasted(answer: PlansAnswer, side: SidePlans) -> str:
    """How many of the games that reached the position went on for long enough."""
    who = words.players(answer.filters.levels)
    by = words.count(side.players, "player")
    told = (
        f"Of {words.count(side.reached, 'game')} that {who} had here with {words.side(side.side)}, "
        f"{side.games:,} (by {by}) went on for {words.count(answer.within_moves, 'more move')} "
        "of each side"
    )
    if answer.model is None:
        return f"{told}."
    games = words.count(side.model_games or 0, "game")
    people = words.count(side.model_players or 0, "player")
    return f"{told}; of {model(answer)}, {games} (by {people})."


def _often(which: Plan) -> str:
    """``castles king's side (89 %, usually at move 6)``."""
    when = "" if which.here.few else f", usually at move {which.here.move}"
    return f"{plan(which)} ({words.percent(which.here.rate.share)}{when})"


def beside_model(answer: PlansAnswer, side: SidePlans) -> str:
    """What the model level surely does more and less."""
    who = model(answer)
    sure = [one for one in side.plans if _surely(one)]
    if not sure:
        return f"No plan is surely commoner or rarer among {who}."
    sure.sort(key=lambda one: -abs(_change(one)))
    told: list[str] = []
    for how, those in (
        ("commoner", [one for one in sure if _change(one) < 0]),
        ("rarer", [one for one in sure if _change(one) > 0]),
    ):
        if those:
            among = f" among {who}" if not told else ""
            told.append(f"{how}{among}: {words.listed([_beside(one) for one in those[:NAMED]])}")
    return words.sentence(f"Surely {'; '.join(told)}")


def _surely(which: Plan) -> bool:
    """Whether the model's share surely is another, and both rest on enough."""
    change = which.change
    if change is None or change.p is None or which.model is None or change.few:
        return False
    return change.p <= SURE and not (which.here.rate.one_player or which.model.rate.one_player)


def _change(which: Plan) -> float:
    return (which.change.value if which.change else None) or 0.0


def _beside(which: Plan) -> str:
    """``knight to d4 (in 14 of 100 games, here in 34)``."""
    theirs = which.model.rate.share if which.model else None
    own = words.hundredths(which.here.rate.share)
    return f"{plan(which)} (in {words.hundredths(theirs)} of 100 games, here in {own})"


def notes(answer: PlansAnswer, veil: Veil) -> Iterator[str]:
    """The footnotes: what was counted, every definition, where expected scores come from."""
    yield MUTED_NOTE
    yield from definitions(answer)
    yield expectation(answer.source)
    yield from origin(answer.source, veil)


def definitions(answer: PlansAnswer) -> Iterator[str]:
    """What was counted and what was not, and what every word means."""
    for side in answer.sides:
        yield from _habits(side)
        yield from _left_out(side)
    yield (
        f"Shares are of the games that went on for {words.count(answer.within_moves, 'more move')} "
        "of each side: one that ended sooner is in none. The level is that of the player whose "
        "plan it is."
    )
    if answer.model:
        yield (
            f"Model: {model(answer)}, against anybody; the games are otherwise chosen alike. "
            "Its commonest plans are listed too. Surely commoner or rarer: two-sided tests of both "
            "shares, with 5 % of false findings over all plans listed (Benjamini-Hochberg)."
        )
    yield COUNTED
    yield KINDS
    yield f"{RESULTS} {CAUTION}"
    if any(side.pairs for side in answer.sides):
        yield ORDERS


def _habits(side: SidePlans) -> Iterator[str]:
    """Plans, and their order, that are mostly one player's."""
    for one in side.plans:
        if said := one_player(one.here.rate):
            yield f"{words.side(side.side)}, {plan(one)}: {said}."
    for pair in side.pairs:
        if said := one_player(pair.order):
            first, then = plan(side.plans[pair.first]), plan(side.plans[pair.second])
            yield f"{words.side(side.side)}, {first} before {then}: {said}."


def _left_out(side: SidePlans) -> Iterator[str]:
    """How much is counted but not shown."""
    told = [
        words.count(number, thing)
        for number, thing in (
            (side.plans_left_out, "rarer plan"),
            (side.pairs_left_out, "rarer pair"),
        )
        if number
    ]
    if told:
        be = "is" if side.plans_left_out + side.pairs_left_out == 1 else "are"
        yield f"{words.side(side.side)}: {words.listed(told)} {be} counted but not shown."
