"""What a student plays: the tree of own moves with the others beside, and what differs in words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from explorer.query.student_model import StudentAnswer
from explorer.query.student_parts import Choice, OwnMove, OwnTree
from explorer.report import words
from explorer.report.student_sentences import (
    between_points,
    from_ply,
    numbered,
    often,
    points,
    sans_of,
)

SHOWN = 14  # positions of one tree, about
DIFFERENCES = 6
LEAST_GAMES = 3  # against a first move, to be told with its tree
ALSO = 2  # other moves that are named


@dataclass(frozen=True, slots=True)
class Branch:
    """One position: the moves that led on to it, the student's move, and what grows from there."""

    way: str
    move: str
    counts: str
    others: str
    also: str
    differs: bool
    few: bool
    branches: tuple[Branch, ...]


@dataclass(frozen=True, slots=True)
class Colour:
    """One tree: what is met most, and the whole where that leaves something out."""

    ident: str
    heading: str
    says: str
    main: tuple[Branch, ...]
    whole: tuple[Branch, ...]
    positions: int


def colours(answer: StudentAnswer, letters: str | None) -> Iterator[Colour]:
    """Those with positions enough to be shown as a tree."""
    for number, one in enumerate(_with_tree(answer.plays)):
        least = _least(one.choices)
        main = [choice for choice in one.choices if choice.games >= least]
        left_out = len(one.choices) - len(main)
        yield Colour(
            ident=f"plays-{number + 1}",
            heading=_heading(one, letters),
            says=_results(one, answer.few),
            main=tuple(_grown(main, letters)),
            whole=tuple(_grown(one.choices, letters)) if left_out else (),
            positions=len(one.choices),
        )


def _with_tree(plays: Sequence[OwnTree]) -> list[OwnTree]:
    return [one for one in plays if one.choices]


def _heading(one: OwnTree, letters: str | None) -> str:
    if one.against is None:
        return "With White"
    return f"With Black against {numbered('', one.against, letters)}"


def _results(one: OwnTree, few: bool) -> str:
    score = one.results.score
    told = words.count(one.games, "game")
    if few or score.value is None or score.few:
        return (
            f"{told}: won {one.results.wins}, drew {one.results.draws}, lost {one.results.losses}."
        )
    spread = f"{words.score(score.low)} to {words.score(score.high)}"
    return f"{told}, score {words.score(score.value)} ({spread})."


def rarely_met(answer: StudentAnswer, letters: str | None) -> str:
    """``Also met: 1. c4 (2 games) and 1. b3 (1 game).``; empty for none."""
    rare = [
        f"{numbered('', one.against, letters)} ({words.count(one.games, 'game')})"
        for one in answer.plays
        if one.against and not one.choices
    ]
    return f"Too rarely met for a tree: {words.listed(rare)}." if rare else ""


def _least(choices: Sequence[Choice]) -> int:
    """How often a position must be met so that about SHOWN are shown."""
    games = sorted((choice.games for choice in choices), reverse=True)
    return games[min(SHOWN, len(games)) - 1] + (
        len(games) > SHOWN and games[SHOWN] == games[SHOWN - 1]
    )


def _grown(choices: Sequence[Choice], letters: str | None) -> Iterator[Branch]:
    """The choices as a tree: one stands below its parent where that is shown too."""
    below: dict[str | None, list[Choice]] = {}
    known = {choice.key: choice for choice in choices}
    for choice in choices:
        parent = choice.parent if choice.parent in known else None
        below.setdefault(parent, []).append(choice)

    def grow(parent: str | None) -> Iterator[Branch]:
        for choice in below.get(parent, ()):
            above = known.get(parent or "")
            yield _branch(choice, above, tuple(grow(choice.key)), letters)

    yield from grow(None)


def _branch(
    choice: Choice, above: Choice | None, below: tuple[Branch, ...], letters: str | None
) -> Branch:
    first, *rest = choice.moves
    sans = sans_of(choice.line)
    new = _new_moves(sans, above)
    also = [f"{words.spelled(move.san, letters)} ({move.own.cases})" for move in rest[:ALSO]]
    if left := sum(move.own.cases for move in rest[ALSO:]):
        also.append(f"others ({left})")
    return Branch(
        way=from_ply(sans[new:], new, letters),
        move=from_ply([first.san], len(sans), letters)
        if new == len(sans) or len(sans) % 2 == 0
        else words.spelled(first.san, letters),
        counts=often(first.own),
        others=_others(first),
        also=f"also {words.listed(also)}" if also else "",
        differs=choice.differs,
        few=first.own.few,
        branches=below,
    )


def _new_moves(sans: Sequence[str], above: Choice | None) -> int:
    """From which ply on a position's moves are not told by the position above it."""
    if above is None:
        return 0
    before = sans_of(above.line)
    if list(sans[: len(before)]) != before:
        return 0  # by another order
    told = len(before)
    return told + (sans[told : told + 1] == [above.moves[0].san])


def _others(move: OwnMove) -> str:
    """``41 % of 280``; of too few only that there are few."""
    crowd = move.others
    if crowd.share is None:
        return "nobody else here"
    if crowd.few:
        return f"{crowd.cases} of {crowd.games}"
    return f"{words.percent(crowd.share)} of {crowd.games:,}"


def differences(answer: StudentAnswer, letters: str | None) -> list[str]:
    """Where the student surely chooses otherwise, or surely does well or badly, in sentences."""
    told = [choice for one in answer.plays for choice in one.choices if choice.differs]
    told.sort(key=lambda choice: -abs(choice.difference.value or 0.0) * choice.games)
    said = [_differs(choice, letters) for choice in told[:DIFFERENCES]]
    if len(told) > DIFFERENCES:
        said.append(
            f"In {words.count(len(told) - DIFFERENCES, 'further position')} your choice differs "
            "clearly too: they are marked below."
        )
    return said


def _differs(choice: Choice, letters: str | None) -> str:
    first = choice.moves[0]
    after = (
        f"After {words.spelled(choice.line, letters)} you play" if choice.line else "You open with"
    )
    mine = numbered(choice.line, first.san, letters)
    share, more = first.others, (choice.difference.value or 0.0) > 0
    theirs = f"{words.percent(share.share)} of {words.count(share.games, 'game')}"
    told = f"{after} {mine} in {often(first.own)} games; the others do so in {theirs}"
    if choice.others_first and choice.others_first != first.san:
        return f"{told} and prefer {numbered(choice.line, choice.others_first, letters)}."
    return f"{told}." if more else f"{told}, more often than you."


def stands_out(answer: StudentAnswer, letters: str | None) -> Iterator[str]:
    """Moves after which the score is surely above or below what ratings let one expect."""
    for one in answer.plays:
        for choice in one.choices:
            for move in choice.moves:
                if move.stands_out:
                    yield _stands_out(choice, move, letters)


def _stands_out(choice: Choice, move: OwnMove, letters: str | None) -> str:
    over = move.results.over_expected
    line = f"{words.spelled(choice.line, letters)} " if choice.line else ""
    mine = from_ply([move.san], len(sans_of(choice.line)), letters)
    if line and len(sans_of(choice.line)) % 2:
        mine = words.spelled(move.san, letters)
    named = f", the {words.clean(move.name)}," if move.name else ""
    above = move.stands_out == "above"
    suits = "goes well for you" if above else "is worth a closer look"
    more = "more" if above else "fewer"
    games = words.count(over.games, "game")
    return (
        f"{line}{mine}{named} {suits}: you score {points(over.value or 0.0)} in 100 games {more} "
        f"than your ratings let one expect ({between_points(over)}; {games})."
    )
