"""The answer of `student`: frozen values, no database, no presentation.

As in `model`: counts are integers, a value that cannot be computed is None, shares and
scores are fractions of 1, every interval is 95 %, field names are the JSON contract. Lines
("1. e4 e5 2. Nf3") begin at the normal start, "" is the start itself; FENs and keys are of the
position at the end of the line.

The student's games are the sample: each stands for itself, the rule of five players does not
apply to one student, that of FEW_GAMES does. Of the others players are the sample, as
everywhere. The others never include the student.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from explorer.query.filters import Filters
from explorer.query.habits_model import HabitsAnswer
from explorer.query.lesson_model import Favoured
from explorer.query.mistake_model import Costly, Difference, Rate
from explorer.query.model import GameRow, Source
from explorer.query.student_parts import (
    Doubt,
    OwnMean,
    OwnRate,
    OwnTree,
    Results,
    Short,
)

MEASURES = ("over_expected", "mistakes", "punished", "kept", "left_at")


@dataclass(frozen=True, slots=True)
class Leaving:
    """One way in which the lesson was left first.

    ``by`` is "student" or "opponent", ``move`` the number of the move ``san``, ``instead``
    what the lesson has there (one taught move, or the answered replies). ``kind`` is
    "alternative" or "warning" where the lesson knows the student's move as such, else "".
    """

    by: str
    line: str
    fen: str
    key: str
    move: int
    san: str
    uci: str
    instead: tuple[str, ...]
    kind: str
    games: int
    last: date | None
    results: Results


@dataclass(frozen=True, slots=True)
class KeptAt:
    """At the student's ``move``-th move: taught move played, of the games still in the lesson."""

    move: int
    kept: OwnRate


@dataclass(frozen=True, slots=True)
class LessonPlace:
    """One taught position: how often met inside the lesson, and how often answered as taught.

    ``since_then`` and ``over`` as in `OwnMistake`.
    """

    line: str
    fen: str
    key: str
    move: int
    taught: str
    kept: OwnRate
    missed: str | None  # what was played most instead
    last_missed: date | None
    since_then: int
    over: bool


@dataclass(frozen=True, slots=True)
class AgainstLesson:
    """The student's games of the lesson's colour beside the lesson.

    A game is in the lesson as long as each of its positions is one of the lesson's.
    ``met``: games in which a taught position arose. ``entered``: of ``games``, those in
    which the first taught move was played. ``stayed``: moves of the student that both stayed
    in it, of the games that entered. ``left_by_student``, ``left_by_opponent`` and ``ended``
    (the lesson or the record was over first) are of those that entered. ``kept``: taught
    moves played, of the turns at which one was taught. ``results``: of "kept" (the student
    did not leave it first), "left" (the student did) and "not entered".
    """

    lesson: str
    title: str
    side: str
    games: int
    met: int
    entered: OwnRate
    stayed: OwnMean
    left_by_student: OwnRate
    left_by_opponent: OwnRate
    ended: OwnRate
    kept: OwnRate
    results: tuple[Results, ...]
    by_student: tuple[Leaving, ...]
    by_opponent: tuple[Leaving, ...]
    at_moves: tuple[KeptAt, ...]
    places: tuple[LessonPlace, ...]
    warnings: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Cost:
    """A move of the student that scores below the level's better reply.

    ``own``: times of the games that went on from the position. ``favoured`` is the level's
    better reply, ``difference`` its score against expectation less that of the student's move,
    both of the others of the level and of those next to it; p one-sided, adjusted for all moves
    tested. ``lost``: points lost in 100 of the student's games of that colour. ``last``,
    ``since_then`` and ``over`` as in `OwnMistake`.
    """

    side: str
    line: str
    fen: str
    key: str
    name: str | None
    move: int
    san: str
    uci: str
    own: OwnRate
    games: int
    last: date | None
    since_then: int
    over: bool
    favoured: Favoured
    difference: Difference
    lost: float
    lost_low: float | None
    lost_high: float | None


@dataclass(frozen=True, slots=True)
class Costs:
    """What costs most, the most costly first.

    ``positions`` were met ``at_least`` times; ``tested`` moves in them could be compared.
    """

    at_least: int
    positions: int
    tested: int
    found: tuple[Cost, ...]


@dataclass(frozen=True, slots=True)
class OwnMistake:
    """A listed mistake of the level, and what the student does with it.

    ``what`` is "made" (the student is the one who may err) or "punished" (the opponent erred;
    ``answer`` is what punishes it). ``own``: made of the times the position was met, or
    punished of the chances. ``others``: the same of the others of the level.
    ``difference``: the student's share less that of the others (Newcombe). ``last`` is the
    day of the last mistake made or chance missed, ``since_then`` the chances after it;
    ``over``: so many that it is no longer usual (of all orders of the chances fewer than 1 in 20
    would end with so long a run). ``line``, ``fen`` and ``key`` are of the position in which the
    student moves.
    """

    what: str
    side: str
    line: str
    fen: str
    key: str
    costly: Costly
    answer: str | None
    answer_uci: str | None
    own: OwnRate
    others: Rate
    difference: Difference
    last: date | None
    since_then: int
    over: bool


@dataclass(frozen=True, slots=True)
class Listed:
    """The listed mistakes of the level that came up in the student's games.

    ``looked_for`` were found for both colours among players of ``level`` (the student's, with
    the bands next to it: it takes many games to find one). ``made`` and ``punished`` come by
    cases missed, falling; those never met are left out. ``all_made`` and ``all_punished`` are over
    all chances together; their intervals allow for several chances in one game.
    """

    level: str
    looked_for: int
    made: tuple[OwnMistake, ...]
    punished: tuple[OwnMistake, ...]
    all_made: OwnRate
    all_punished: OwnRate


@dataclass(frozen=True, slots=True)
class Period:
    """A month, or the games before or after a day, as the five measures see it.

    ``over_expected`` in points of 1; ``mistakes``: listed mistakes made, of the chances;
    ``punished``: punishments found, of the chances; ``kept``: taught moves played, of the
    turns at which one was taught; ``left_at``: the number of the move at which the student left
    the lesson, of the games left by the student. The last two are None without a lesson.
    """

    label: str  # "2026-01", "before", "after"
    since: date | None
    until: date | None
    games: int
    over_expected: OwnMean
    mistakes: OwnRate
    punished: OwnRate
    kept: OwnRate | None
    left_at: OwnMean | None


@dataclass(frozen=True, slots=True)
class Change:
    """After less before. ``measure`` is one of MEASURES. ``few``: fewer than FEW_GAMES games
    before or after, or hardly a chance. ``better``: True or False only where it is not few
    and the whole interval says so, else None."""

    measure: str
    difference: Difference
    few: bool
    better: bool | None


@dataclass(frozen=True, slots=True)
class Better:
    """Is it getting better? ``undated`` games are in no period."""

    months: tuple[Period, ...]
    since: date | None
    before: Period | None
    after: Period | None
    changes: tuple[Change, ...]
    undated: int


@dataclass(frozen=True, slots=True)
class Practise:
    """One thing to practise: the position, what was played, what to find.

    ``kind``: "mistake", "punish", "lesson" or "cost". ``line`` leads to the position in which
    ``side`` (the student) moves. ``own``: how often it went wrong, of how many. ``solution`` are
    UCI moves, the answer first.
    """

    kind: str
    side: str
    line: str
    fen: str
    key: str
    played: str | None
    answer: str
    solution: tuple[str, ...]
    own: OwnRate
    last: date | None


@dataclass(frozen=True, slots=True)
class ShortGame:
    """A short decisive game. The student's own name in ``row`` is always spelt as `student`.

    ``turn`` is the move at which it turned: the loser's with the largest loss of material, of
    ``swing`` pawns; the last one before a mate where nothing was lost (swing None). ``line``
    leads to the position before it, ``ply`` counts from 0.
    """

    won: bool
    side: str
    row: GameRow
    ply: int
    line: str
    fen: str
    turn: str
    swing: float | None


@dataclass(frozen=True, slots=True)
class StudentAnswer:
    """A student's own games.

    ``student`` is the name as asked for in the library's spelling, ``names`` every name joined,
    ``not_found`` those that the library does not know. ``level`` is the label of the level
    whose players are "the others", None for players of every level; ``level_by`` says why:
    "ratings", "class", "asked" or "nothing". ``few``: fewer than FEW_GAMES games: no claim is
    made. ``source.collections`` are those that the student's games are in.
    """

    student: str
    names: tuple[str, ...]
    not_found: tuple[str, ...]
    doubts: tuple[Doubt, ...]
    filters: Filters
    source: Source
    level: str | None
    level_by: str
    few: bool
    short: Short
    plays: tuple[OwnTree, ...]
    lesson: AgainstLesson | None
    costs: Costs
    mistakes: Listed
    better: Better
    practise: tuple[Practise, ...]
    won: tuple[ShortGame, ...]
    lost: tuple[ShortGame, ...]
    habits: HabitsAnswer | None = None
