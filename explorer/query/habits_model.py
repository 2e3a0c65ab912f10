"""The answer of `habits`: frozen values, no database, no presentation.

As in `model`: counts are integers, a value that cannot be computed is None,
shares and scores are fractions of 1, every interval is 95 %, field names are
the JSON contract of the command line. A game counts once for each of its two players.
"""

from __future__ import annotations

from dataclasses import dataclass

from explorer.query.filters import Filters
from explorer.query.mistake_model import Difference, Rate
from explorer.query.model import FEW_GAMES, FEW_PLAYERS, LevelCount, Source, TrendOver

PIECES = 7  # knights, bishops, rooks and the queen


@dataclass(frozen=True, slots=True)
class Mean:
    """A mean number of pieces in ``games`` by ``players``, with its interval."""

    value: float | None
    low: float | None
    high: float | None
    games: int
    players: int

    @property
    def few(self) -> bool:
        """Too few games or players to claim anything."""
        return self.games < FEW_GAMES or self.players < FEW_PLAYERS


@dataclass(frozen=True, slots=True)
class HabitLevel:
    """A habit among players of one level: ``rate``, or ``mean`` where pieces are counted.

    ``rate.games`` are those that last as long as the habit asks. ``mated`` of them are told
    apart: mated before it could be judged, or by then.
    """

    label: str
    low: int | None
    high: int | None
    rate: Rate | None
    mean: Mean | None
    mated: int = 0

    @property
    def found(self) -> Rate | Mean:
        """Whichever there is."""
        found = self.rate or self.mean
        if found is None:
            raise AssertionError
        return found

    @property
    def share(self) -> float | None:
        """The share of games; of a mean number of pieces, its share of all seven."""
        return self.rate.share if self.rate else self._of_pieces("value")

    @property
    def share_low(self) -> float | None:
        """Where its interval begins."""
        return self.rate.low if self.rate else self._of_pieces("low")

    @property
    def share_high(self) -> float | None:
        """Where its interval ends."""
        return self.rate.high if self.rate else self._of_pieces("high")

    @property
    def of(self) -> int:
        """How many games it rests on."""
        return self.found.games

    @property
    def few(self) -> bool:
        """Never to be shown as a claim: too few, or the habit of one player."""
        return self.rate.muted if self.rate else self.found.few

    def _of_pieces(self, end: str) -> float | None:
        number: float | None = getattr(self.mean, end)
        return None if number is None else number / PIECES


@dataclass(frozen=True, slots=True)
class Own:
    """A habit of one player, beside the ``others`` of the player's level.

    The player's games stand for themselves here: each is a case of its own, and
    ``rate.players`` is 1. ``difference``: the player's share or mean less that of the
    others; its p is adjusted for all habits.
    """

    rate: Rate | None
    mean: Mean | None
    others: HabitLevel
    difference: Difference

    @property
    def few(self) -> bool:
        """Too few games of the player, or of the others, to say more than how many."""
        return self.difference.few or self.others.few


@dataclass(frozen=True, slots=True)
class Habit:
    """One habit. ``id``, ``words`` and ``definition`` say what it is.

    ``wanted`` is 1 for what teachers ask for, -1 for what they warn of, 0 for neither.
    ``levels`` end with "all levels". ``score``: against expectation, of the games with the
    habit less those without, allowing for what players of each level score as White and
    as Black; for a mean, of those with more pieces than the mean less those with fewer. Those
    told apart as mated are in neither. ``trend`` is over the chosen rated levels with enough
    games, its p adjusted for all habits.
    """

    id: str
    words: str
    definition: str
    wanted: int
    moves: int  # the record must last so many moves of that side
    levels: tuple[HabitLevel, ...]
    score: Difference
    trend: TrendOver
    own: Own | None = None

    @property
    def whole(self) -> HabitLevel:
        """All chosen levels together."""
        return self.levels[-1]


@dataclass(frozen=True, slots=True)
class HabitsAnswer:
    """Habits in the opening, of all chosen players and of one beside the others.

    ``games`` are those chosen from the normal start, ``players`` their players; ``levels`` counts
    a game once for each chosen side. ``player`` is the one looked at, ``player_level`` the level
    at which most of ``player_games`` were played.
    """

    filters: Filters
    source: Source
    games: int
    players: int
    levels: tuple[LevelCount, ...]
    habits: tuple[Habit, ...]
    player: str | None = None
    player_level: str | None = None
    player_games: int = 0
