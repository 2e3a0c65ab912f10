"""What a student's numbers are made of: rates, means, results, and the tree of own moves.

The answer itself is in `student_model`, with what holds for all of it.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from explorer.query.mistake_model import Difference, Rate
from explorer.query.model import FEW_GAMES


@dataclass(frozen=True, slots=True)
class OwnRate:
    """``cases`` of ``games`` (or chances) of the student, as a share with its interval."""

    cases: int
    games: int
    share: float | None
    low: float | None
    high: float | None

    @property
    def few(self) -> bool:
        """Too few to say more than how many."""
        return self.games < FEW_GAMES


@dataclass(frozen=True, slots=True)
class OwnMean:
    """A mean over ``games`` of the student: a score, points against expectation, moves."""

    value: float | None
    low: float | None
    high: float | None
    games: int

    @property
    def few(self) -> bool:
        """Too few to say more than how many."""
        return self.games < FEW_GAMES


@dataclass(frozen=True, slots=True)
class Results:
    """How games went. ``of``: which ones ("all", "white", "black", or as its list says).

    ``games`` = wins + draws + losses + unknown. ``over_expected`` is over the games with a
    result in which both players are rated.
    """

    of: str
    games: int
    wins: int
    draws: int
    losses: int
    unknown: int
    score: OwnMean
    over_expected: OwnMean


@dataclass(frozen=True, slots=True)
class Count:
    """How many games, of what."""

    label: str
    games: int


@dataclass(frozen=True, slots=True)
class RatedGame:
    """A rating on a day; the day is None where the date is vague."""

    rating: int
    played: date | None
    scale: str | None


@dataclass(frozen=True, slots=True)
class Doubt:
    """Why the name may be that of two people.

    ``kind``: "ratings" (two games that follow each other within a year, of one scale and pace,
    with ratings far apart), "places" (one day, two sites, ratings apart) or "itself" (the name
    is on both sides of ``games`` games, which are left out; no ratings then).
    """

    kind: str
    lower: RatedGame | None
    higher: RatedGame | None
    games: int


@dataclass(frozen=True, slots=True)
class Short:
    """In short. ``results`` are of all games, with White, with Black.

    ``paces`` come by games, falling. ``first`` and ``last`` are days, of games with a whole
    date (``undated`` have none). ``set_up`` games began at a position of their own: they are
    counted here and nowhere else. ``both_sides`` games with the name on both sides are left out.
    """

    games: int
    results: tuple[Results, ...]
    paces: tuple[Count, ...]
    first: date | None
    last: date | None
    undated: int
    first_rating: RatedGame | None
    last_rating: RatedGame | None
    lowest_rating: int | None
    highest_rating: int | None
    rated_games: int
    set_up: int
    both_sides: int


@dataclass(frozen=True, slots=True)
class OwnMove:
    """One move of the student in a position, beside the others of the level there.

    ``own`` and ``others`` are shares of the games that went on from the position.
    ``p`` is that of ``results`` against expectation, adjusted for all moves tested, None
    without a test; ``stands_out`` is "above" or "below" where it says so, else "".
    ``to`` is the key of the position after the move, ``last`` the day it was last played.
    """

    san: str
    uci: str
    to: str
    name: str | None
    own: OwnRate
    others: Rate
    results: Results
    p: float | None
    stands_out: str
    last: date | None


@dataclass(frozen=True, slots=True)
class Choice:
    """A position in which the student chose, with every move chosen, commonest first.

    ``depth`` counts from 0 within its tree, ``parent`` is the key of the position before
    it in the tree (None for the first). ``difference`` is of the commonest move: the student's
    share less that of the others; its p is Fisher's exact test, adjusted for all positions
    tested (None: too few games of either to test); ``differs`` where it says so.
    ``others_first`` is what the others play most.
    """

    line: str
    fen: str
    key: str
    name: str | None
    move: int
    depth: int
    parent: str | None
    games: int
    others_games: int
    others_players: int
    others_first: str | None
    moves: tuple[OwnMove, ...]
    difference: Difference
    differs: bool


@dataclass(frozen=True, slots=True)
class OwnTree:
    """The tree of the student's moves as White, or as Black against one first move.

    ``against`` is that move in SAN, None as White. ``choices`` come depth first, the
    commonest branch first, a position once, where it is met by the commonest order.
    """

    side: str
    against: str | None
    games: int
    results: Results
    choices: tuple[Choice, ...]
