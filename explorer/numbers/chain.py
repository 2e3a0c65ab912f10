"""A lesson as a Markov chain: where games stand at each of the student's turns.

Positions are numbers (keys). The student plays the taught move each time; the opponent
replies by the shares. Chances flow by position, whatever line leads there, and turn by turn.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Set
from dataclasses import dataclass, field
from typing import TypeAlias

Masses: TypeAlias = dict[int, float]  # position -> part of all games


@dataclass(slots=True)
class Chain:
    """The positions of a lesson, and what opponents play there.

    ``taught``: the student's position -> the one after the taught move, which is in ``won``
    when that mates. ``replies``: the opponent's position -> the position after each reply, with
    its share; without any entry there are too few games to say, and of a position that
    is not in it nothing was asked: the lesson ends there. ``ends`` are the student's positions
    that the lesson comes to and teaches no move in. All of them may grow.
    """

    start: int
    students_turn: bool  # at the start
    first_turn: int  # the student's first turn from there
    taught: dict[int, int] = field(default_factory=dict)
    won: set[int] = field(default_factory=set)
    replies: dict[int, Mapping[int, float]] = field(default_factory=dict)
    ends: Set[int] = frozenset()

    def answers_at(self, place: int) -> bool:
        """Whether the lesson answers a reply at an opponent's position."""
        return any(to in self.taught or to in self.ends for to in self.replies.get(place, ()))


@dataclass(frozen=True, slots=True)
class Standing:
    """Where all games stand at one of the student's turns: parts that sum to 1."""

    turn: int
    answer: float
    won: float
    ended: float
    unanswered: float
    too_few: float

    @property
    def answered(self) -> float:
        """Has a taught answer, or has won."""
        return self.answer + self.won


@dataclass(slots=True)
class Flow:
    """How the games run through the lesson.

    ``standings``: one for each of the student's turns. ``met``: at each turn the student's
    positions that games come to, taught or not, with their part of all games. ``beyond``: those
    that would come after an opponent's position where the lesson answers nothing; such
    games count as ended. ``asked``: the opponent's positions, under the turn that comes
    before; the first one, if the opponent begins, under ``first_turn`` less one.
    """

    standings: list[Standing] = field(default_factory=list)
    met: dict[int, Masses] = field(default_factory=dict)
    beyond: dict[int, Masses] = field(default_factory=dict)
    asked: dict[int, Masses] = field(default_factory=dict)

    def reach(self, place: int) -> float:
        """In what part of all games the student comes to a position, at any turn."""
        return sum(masses.get(place, 0.0) for masses in self.met.values())

    def reach_asked(self, place: int) -> float:
        """The same for a position of the opponent at which the lesson answers something."""
        return sum(masses.get(place, 0.0) for masses in self.asked.values())


def flow(chain: Chain, last_turn: int) -> Flow:
    """Follow all games from the start to the student's turn ``last_turn``.

    A game that comes to a position again, by moves that lead back, is counted at both turns.
    """
    found = Flow()
    left = dict.fromkeys(("won", "ended", "unanswered", "too_few"), 0.0)
    now: Masses = {chain.start: 1.0}
    if not chain.students_turn:
        now = _reply(chain, found, left, now, chain.first_turn - 1)
    for turn in range(chain.first_turn, last_turn + 1):
        found.met[turn] = now
        taught = {place: part for place, part in now.items() if place in chain.taught}
        for place in now.keys() - taught.keys():
            known = place in chain.ends or place == chain.start
            left["ended" if known else "unanswered"] += now[place]
        found.standings.append(Standing(turn, sum(taught.values()), **left))
        if turn < last_turn:
            after: Masses = defaultdict(float)
            for place, part in taught.items():
                after[chain.taught[place]] += part
            now = _reply(chain, found, left, after, turn)
    return found


def _reply(chain: Chain, found: Flow, left: dict[str, float], after: Masses, turn: int) -> Masses:
    """The student's positions at the next turn; games that do not come so far are left."""
    came: Masses = defaultdict(float)
    beyond: Masses = defaultdict(float)
    found.asked[turn], found.beyond[turn + 1] = {}, beyond
    for place, part in after.items():
        replies = chain.replies.get(place)
        if place in chain.won:
            left["won"] += part
        elif replies is not None and not replies:
            left["too_few"] += part
        else:
            goes_on = chain.answers_at(place)
            if goes_on:
                found.asked[turn][place] = part
            else:
                left["ended"] += part
            for to, share in (replies or {}).items():
                (came if goes_on else beyond)[to] += part * share
    return came


def influence(chain: Chain, run: Flow, turn: int, position: int | None = None) -> dict[int, Masses]:
    """What each reply is worth for the answered share at the student's turn ``turn``.

    Opponent's position -> position after the reply -> reach x chance to be answered then: the
    derivatives of the answered share by the shares of the replies. With a ``position`` of the
    student that is not taught: for the part of games that come to it up to that turn.
    """
    worth: dict[int, Masses] = {}
    later: Masses = {} if position is not None else dict.fromkeys(chain.taught, 1.0)
    for before in range(turn - 1, min(run.asked, default=turn) - 1, -1):
        if position is not None:
            later[position] = 1.0
        here: Masses = {}
        for place, part in run.asked[before].items():
            of = worth.setdefault(place, {})
            for to, share in chain.replies[place].items():
                if value := later.get(to):
                    of[to] = of.get(to, 0.0) + part * value
                    here[place] = here.get(place, 0.0) + share * value
        later = _a_turn_earlier(chain, run, before, here, position is None)
    return worth


def _a_turn_earlier(
    chain: Chain, run: Flow, turn: int, after: Masses, winning_counts: bool
) -> Masses:
    """The chances at the student's positions of a turn, from those after the taught moves."""
    values = {}
    for place in run.met.get(turn, ()):
        if (to := chain.taught.get(place)) is not None:
            won = winning_counts and to in chain.won
            values[place] = 1.0 if won else after.get(to, 0.0)
    return values
