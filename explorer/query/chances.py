"""Chances and finds: what became of a punishing line, by level of the one who may punish."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

import numpy as np

from explorer.numbers.discovery import POINTS
from explorer.numbers.product import product_interval
from explorer.positions.position import numbered
from explorer.query.groups import crowd, label_of, parted, rows_of_levels
from explorer.query.mistake_model import Between, ChancesLevel, Punishment, Rate, Step
from explorer.query.moves import unpack
from explorer.query.pursuit import Answers, Chance, Pursuit
from explorer.query.visits import Flags, Ints, levels_of
from ingest.levels import Level


def punishment(
    pursuit: Pursuit, punish: Sequence[str] | None, cuts: Sequence[int]
) -> tuple[Punishment, Chance] | None:
    """What became of the punishing line, and its first step; None when there is none.

    Without ``punish``: a mating reply, else the reply with the best lower bound
    against expectation, of those with enough games. PositionError or UsageError for
    moves that are no punishing line.
    """
    if punish is not None:
        chosen_by, moves = "teacher", pursuit.typed(punish)
    elif mate := pursuit.mate():
        chosen_by, moves = "rules", [mate]
    elif best := pursuit.best():
        chosen_by, moves = "numbers", [best]
    else:
        return None
    chances = pursuit.follow(moves)
    levels = tuple(_level(chances, pursuit.curve, cuts, *row) for row in rows_of_levels(cuts))
    board = pursuit.line.board()
    start = board.fen()
    sans = tuple(board.san_and_push(move) for move in moves)
    found = Punishment(
        line=numbered(sans, start),
        sans=sans,
        chosen_by=chosen_by,
        levels=levels,
        other_ways=pursuit.other_ways,
        worse_than_alternatives=_worse(levels[-1]),
        ucis=tuple(move.uci() for move in moves),
    )
    return found, chances[0]


def _worse(every: ChancesLevel) -> bool:
    """Surely worse than the other moves: against expectation, or by score if few are rated."""
    judged = every.score_gain if every.gain.few else every.gain
    return not judged.few and judged.high is not None and judged.high < 0


def _level(
    chances: Sequence[Chance],
    curve: Sequence[int],
    cuts: Sequence[int],
    number: int | None,
    level: Level | None,
) -> ChancesLevel:
    rates = [crowd(chance.visits, chance.found, cuts).at(number) for chance in chances]
    know = product_interval([rate.factor for rate in rates])
    value, (low, high) = know or (None, (None, None))
    here = _at_level(chances[0].visits.rating, cuts, number)
    visits, found = chances[0].visits.only(here), chances[0].found[here]
    compared, over = visits.over(curve)
    known = visits.points >= 0
    score = visits.points[known] / 2
    return ChancesLevel(
        **label_of(level),
        steps=tuple(
            _step(chance, rate.rate, cuts, number)
            for chance, rate in zip(chances, rates, strict=True)
        ),
        would_know=value,
        would_know_low=low,
        would_know_high=high,
        gain=parted(visits.person[compared], over, found[compared], POINTS),
        score_gain=parted(visits.person[known], score, found[known], POINTS),
    )


def _step(chance: Chance, found: Rate, cuts: Sequence[int], number: int | None) -> Step:
    between = _between(chance.answers, cuts, number) if chance.answers else ()
    return Step(
        san=chance.san,
        number=chance.number,
        found=found,
        between=between,
        escaped=sum(answer.games for answer in between if answer.escaped),
    )


def _between(answers: Answers, cuts: Sequence[int], number: int | None) -> tuple[Between, ...]:
    """The answers met by punishers of a level, the commonest first."""
    here = _at_level(answers.visits.opponent_rating, cuts, number)
    played = Counter(answers.visits.move[here].tolist())
    found = [
        Between(
            san=answers.board.san(unpack(move)),
            games=games,
            share=games / played.total(),
            escaped=move != answers.named,
        )
        for move, games in played.items()
    ]
    return tuple(sorted(found, key=lambda answer: (-answer.games, answer.san)))


def _at_level(ratings: Ints, cuts: Sequence[int], number: int | None) -> Flags:
    if number is None:
        return np.ones_like(ratings, dtype=bool)
    return np.asarray(levels_of(ratings, cuts) == number)
