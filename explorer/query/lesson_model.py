"""The answer of `lesson check`: frozen values, no database.

As in `model`: counts are integers, a value that cannot be computed is None, shares and
scores are fractions of 1, every interval is 95 %, field names are the JSON contract.
"""

from __future__ import annotations

from dataclasses import dataclass

from explorer.query.filters import Filters
from explorer.query.mistake_model import Difference
from explorer.query.model import FEW_GAMES, FEW_PLAYERS, Source

STATES = ("answer", "won", "ended", "unanswered", "too_few")


@dataclass(frozen=True, slots=True)
class States:
    """Where 100 games stand at the student's ``move``-th turn: five shares that sum to 1.

    ``answer``: the position has a taught move. ``won``: the student has mated. ``ended``: the
    lesson ended here. ``unanswered``: the opponent left by a reply that the lesson does not
    answer. ``too_few``: too few games to say what the opponents do. The last four stay as
    they are once a game is in them. ``answered`` is the first two, with its interval.
    """

    move: int
    answer: float
    won: float
    ended: float
    unanswered: float
    too_few: float
    answered: float
    low: float | None
    high: float | None


@dataclass(frozen=True, slots=True)
class StatesAt:
    """The states of opponents of one level ("all levels" for the chosen ones together).

    ``games`` of that level began at the lesson's start; ``borrowed`` is how many positions took
    their shares from neighbouring bands.
    """

    label: str
    low: int | None
    high: int | None
    games: int
    states: tuple[States, ...]
    borrowed: int


@dataclass(frozen=True, slots=True)
class Favoured:
    """The answer that the numbers favour: the commonest move with enough games that is not
    significantly worse than the best. ``level`` is whose games say so."""

    san: str
    uci: str
    games: int
    players: int
    share: float
    over_expected: float | None
    level: str


@dataclass(frozen=True, slots=True)
class Unanswered:
    """A reply without an answer, at a position where the lesson answers at least one.

    ``reached``: of 100 games of the student's colour, in how many the position arises when the
    student plays as taught; ``in_100`` the same with the reply, with its interval. ``share`` of
    ``of`` games that went on there. ``score`` is the opponent's after the reply, at the chosen
    levels alone, in ``score_games`` with a result by ``score_players``. ``borrowed``: the shares
    are of neighbouring bands too. ``in_100`` counts every way to the position after the reply; the
    row tells the commonest of ``ways``.
    """

    line: str  # up to the position
    fen: str
    san: str
    uci: str
    move: int  # the student's turn that it would be
    reached: float
    in_100: float
    low: float | None
    high: float | None
    share: float
    games: int
    players: int
    of: int
    of_players: int
    score: float | None
    borrowed: bool
    name: str | None
    answer: Favoured | None
    ways: int = 1
    score_games: int = 0
    score_players: int = 0

    @property
    def few(self) -> bool:
        """Too few games or players to claim anything."""
        return self.of < FEW_GAMES or self.of_players < FEW_PLAYERS

    @property
    def score_few(self) -> bool:
        """Too few games or players to say how the reply scores."""
        return self.score_games < FEW_GAMES or self.score_players < FEW_PLAYERS


@dataclass(frozen=True, slots=True)
class Outscored:
    """A taught move that scores below another popular one at the level: taught minus other."""

    line: str
    fen: str
    taught: str
    other: str
    games: int
    other_games: int
    difference: Difference
    in_100: float


@dataclass(frozen=True, slots=True)
class RareLine:
    """A line of the lesson that hardly ever arises: moves of the student that only it needs."""

    line: str
    moves: int
    in_100: float


@dataclass(frozen=True, slots=True)
class Added:
    """A reply that must be answered when the class moves up: in 100 games now and then."""

    reply: Unanswered
    now: float


@dataclass(frozen=True, slots=True)
class LessonAnswer:
    """What a lesson answers of what opponents play.

    ``levels`` end with the chosen levels together. ``start`` is the line from which games are
    counted ("" for all games of the colour). ``unanswered`` come by in_100, falling;
    ``unanswered_left_out`` more are not shown. ``positions`` have a taught move. ``added`` and
    ``next`` are of the next level, if one was named.
    """

    lesson: str
    title: str
    side: str
    start: str
    filters: Filters
    source: Source
    to_move: int
    min_games: int
    positions: int
    levels: tuple[StatesAt, ...]
    unanswered: tuple[Unanswered, ...]
    unanswered_left_out: int
    outscored: tuple[Outscored, ...]
    rare: tuple[RareLine, ...]
    added: tuple[Added, ...]
    next_level: str | None
    warnings: tuple[str, ...]
    next: StatesAt | None = None

    @property
    def whole(self) -> StatesAt:
        """The chosen levels together."""
        return self.levels[-1]
