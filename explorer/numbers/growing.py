"""Which position to learn next: greedily, always the one that is met most often.

The objective is the sum of the answered share over the student's turns, which is in how many
turns of a game the student has an answer on average. A position answers the games that
come to it, and none comes to it more often than to the one before it; so where no lines
merge and no taught move mates, the most often met ones are the best of their number. Where lines
merge, a position that is met less often may open more than one way, and greed can miss it.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Set
from dataclasses import dataclass, field
from enum import StrEnum

from explorer.numbers.chain import Chain, Flow, Masses


class Stop(StrEnum):
    """Why no more is learnt: enough positions, too little to gain, nothing left."""

    ENOUGH = "positions"
    WORTH = "worth"
    NOTHING = "nothing left"


@dataclass(frozen=True, slots=True)
class Learnt:
    """One position learnt: the part of all games that comes to it, and how games then run."""

    position: int
    reached: float
    run: Flow


@dataclass(slots=True)
class Growth:
    """What was learnt, in order, and how games ran before, in ``begun``.

    ``passed``: positions for which there is no answer, with the part of all games that came to
    each when it was its turn. ``next`` is the part that the next position would have
    answered, 0 when there is none.
    """

    begun: Flow
    learnt: list[Learnt] = field(default_factory=list)
    passed: dict[int, float] = field(default_factory=dict)
    stop: Stop = Stop.ENOUGH
    next: float = 0.0


def grow(
    chain: Chain,
    run: Callable[[], Flow],
    teach: Callable[[int], bool],
    most: int,
    least: float,
) -> Growth:
    """Learn at most ``most`` positions, each of which at least ``least`` of all games come to.

    ``run`` lets games run through the chain as it is, ``teach`` adds a position's answer to
    it, or says that there is none.
    """
    now = run()
    found = Growth(now)
    while True:
        best = most_met(unanswered(chain, now, found.passed.keys()))
        if best is None:
            found.stop = Stop.NOTHING
            return found
        position, part = best
        if part < least or len(found.learnt) >= most:
            found.stop = Stop.WORTH if part < least else Stop.ENOUGH
            found.next = part
            return found
        if teach(position):
            now = run()
            found.learnt.append(Learnt(position, part, now))
        else:
            found.passed[position] = part


def unanswered(chain: Chain, run: Flow, passed: Set[int] = frozenset()) -> Masses:
    """The student's positions without an answer, with the part of all games that comes to each.

    Those of the first position, those that opponents choose beside the answered ones, and those
    after a taught move that is the last of its line.
    """
    found: Masses = defaultdict(float)
    for masses in (*run.met.values(), *run.beyond.values()):
        for position, part in masses.items():
            if part and position not in chain.taught and position not in passed:
                found[position] += part
    return found


def most_met(masses: Masses) -> tuple[int, float] | None:
    """The position that most games come to; of equals the one that comes first in the run."""
    if not masses:
        return None
    return max(masses.items(), key=lambda item: item[1])


def objective(run: Flow) -> float:
    """The sum of the answered share over the student's turns."""
    return sum(standing.answered for standing in run.standings)
