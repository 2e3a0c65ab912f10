"""The answers of `mistake` and `costly`: frozen values, no database, no presentation.

As in `model`: counts are integers, a value that cannot be computed is None,
shares and scores are fractions of 1, every interval is 95 %, field names are
the JSON contract of the command line.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from explorer.query.filters import Filters
from explorer.query.model import (
    FEW_GAMES,
    FEW_PLAYERS,
    PositionFacts,
    ReplyLevel,
    Source,
    TrendOver,
)

ALL_LEVELS = "all levels"


@dataclass(frozen=True, slots=True)
class Rate:
    """``cases`` by ``case_players`` in ``games`` by ``players``, as a share with its interval.

    ``top_player_cases`` is the most that one named player accounts for.
    """

    cases: int
    games: int
    players: int
    share: float | None
    low: float | None
    high: float | None
    top_player_cases: int = 0
    case_players: int = 0

    @property
    def few(self) -> bool:
        """Too few games or players to claim anything."""
        return self.games < FEW_GAMES or self.players < FEW_PLAYERS

    @property
    def one_player(self) -> bool:
        """One player made more than a third of the cases, and more than one."""
        return self.top_player_cases > 1 and 3 * self.top_player_cases > self.cases

    @property
    def muted(self) -> bool:
        """Never to be shown as a claim about a level: too few, or the habit of one player."""
        return self.few or self.one_player


@dataclass(frozen=True, slots=True)
class Difference:
    """A difference of two means or shares, first minus second, with the games and players of each.

    ``p`` is two-sided, None when it was not tested. Players are None where they were not counted.
    """

    value: float | None
    low: float | None
    high: float | None
    games: int
    other_games: int
    p: float | None = None
    players: int | None = None
    other_players: int | None = None

    @property
    def few(self) -> bool:
        """Too few games or players on one side to claim anything."""
        people = [count for count in (self.players, self.other_players) if count is not None]
        few_games = min(self.games, self.other_games) < FEW_GAMES
        return few_games or min(people, default=FEW_PLAYERS) < FEW_PLAYERS


NO_DIFFERENCE = Difference(None, None, None, 0, 0)


@dataclass(frozen=True, slots=True)
class MistakeLevel:
    """The mistake among players of one level (of the player who errs).

    ``rate``: cases of the games that reached the position and went on.
    ``in_all_games``: of the games that such players have with that colour (from
    the normal start, a move by each side, not cut short before the first ply at which
    the mistake was played), those in which the mistake occurs.
    ``headed_for``: the same if the other side plays its moves of the line: product
    of the erring side's shares along the line, the mistake's included; None for a
    line that does not begin at the normal start. ``headed_for_games`` is the smallest
    number of games that one of its factors rests on. ``score`` and
    ``over_expected`` are those after the mistake; ``cost``: its score against
    expectation minus that of the other replies there. ``swing``: in pawns, the
    same way. ``mated`` of ``rate.cases``.
    """

    label: str
    low: int | None
    high: int | None
    rate: Rate
    in_all_games: Rate
    headed_for: float | None
    headed_for_low: float | None
    headed_for_high: float | None
    headed_for_games: int
    score: float | None
    over_expected: float | None
    cost: Difference
    swing: Difference
    mated: int


@dataclass(frozen=True, slots=True)
class Between:
    """How the other side answered between two steps of the punishment.

    ``share`` is of all answers there. ``escaped`` marks every answer but the one named in
    the punishing line, even where its next move stays legal: it may be bad then.
    Such games are escaped, and never count as "not punished".
    """

    san: str
    games: int
    share: float
    escaped: bool


@dataclass(frozen=True, slots=True)
class Step:
    """One move of the punishing side: found / had the chance and went on.

    A chance is a game in which every move of the punishing line before this one
    was played. ``between`` are the answers to the move before it (empty at
    the first step), ``escaped`` the games in which it was not the one named.
    """

    san: str
    number: str  # "3." or "4..."
    found: Rate
    between: tuple[Between, ...]
    escaped: int


@dataclass(frozen=True, slots=True)
class ChancesLevel:
    """Chances and finds of one level (of the player who may punish).

    ``would_know`` is the product of the steps' shares. ``gain``: against
    expectation of those who played the first move minus that of those who did not;
    ``score_gain``: the same of the plain score.
    """

    label: str
    low: int | None
    high: int | None
    steps: tuple[Step, ...]
    would_know: float | None
    would_know_low: float | None
    would_know_high: float | None
    gain: Difference
    score_gain: Difference = NO_DIFFERENCE


@dataclass(frozen=True, slots=True)
class Punishment:
    """The punishing line and what became of it. ``levels`` end with "all levels".

    ``chosen_by`` is "teacher", "rules" (it mates) or "numbers". ``other_ways``
    counts games that reach the position after the mistake without the mistake.
    ``worse_than_alternatives``: over all levels its first move scores below the
    other moves there, and the whole interval of the difference says so.
    """

    line: str
    sans: tuple[str, ...]
    chosen_by: str
    levels: tuple[ChancesLevel, ...]
    other_ways: int
    worse_than_alternatives: bool
    ucis: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class BeforeAfter:
    """A class and a day: ``since`` is the first day that counts as after.

    ``names`` has a tuple of spellings for each member.
    """

    since: date
    names: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class Helped:
    """Making the mistake (or punishing it) by a class and by others, before and after a date.

    Punishing is playing the first move of the punishing line. ``change`` is after
    minus before in the class, ``change_others`` the same among the others,
    ``beyond`` the first minus the second. The others are the players outside the
    class, at the levels at which the class met the position, from the first to
    the last day on which it did. ``undated`` counts games of the class that
    are left out, because their date is too vague. ``not_found`` are members of the class
    whom the library does not know.
    """

    what: str  # "making" or "punishing"
    since: date
    class_before: Rate
    class_after: Rate
    others_before: Rate
    others_after: Rate
    change: Difference
    change_others: Difference
    beyond: Difference
    undated: int = 0
    not_found: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class MistakeAnswer:
    """How often a mistake happens, at which level, what it costs, and whether it is punished.

    ``position`` is the one before the mistake. ``levels`` end with one labelled
    "all levels"; the unrated are among them.
    """

    position: PositionFacts
    filters: Filters
    source: Source
    san: str
    uci: str
    name: str | None
    line: str  # with the mistake
    levels: tuple[MistakeLevel, ...]
    trend: TrendOver
    punishment: Punishment | None
    helped: tuple[Helped, ...] = ()


@dataclass(frozen=True, slots=True)
class Instead:
    """What to play instead: the commonest reply that is not significantly worse than the best."""

    san: str
    games: int
    share: float
    over_expected: float | None


@dataclass(frozen=True, slots=True)
class Costly:
    """A costly reply that discovery found. ``found_by``: "results", "material" or "both".

    ``rate`` is of the games that went on from the position, ``in_all_games`` of those that
    players of the level have with that colour, as for a mistake. ``cost`` allows for what players
    of each level score as White and as Black; that of `mistake` does not. ``lost`` is points
    lost in 100 of all games: reach x share x difference x 100; None without games to compare.
    ``swing`` leaves the ``mated`` out, as everywhere; the test of material counts each as a
    queen lost. ``punisher`` is the reply that scores best against it and ``punished`` how
    often it is played. ``levels`` has the share at every level, chosen or not.
    """

    line: str
    position: PositionFacts
    name: str | None
    san: str
    uci: str
    level: str
    rate: Rate
    in_all_games: Rate
    cost: Difference
    swing: Difference
    mated: int
    found_by: str
    adjusted_p: float
    lost: float | None
    lost_low: float | None
    lost_high: float | None
    instead: Instead | None
    punisher: str | None
    punished: Rate | None
    levels: tuple[ReplyLevel, ...] = ()


@dataclass(frozen=True, slots=True)
class CostlyAnswer:
    """Costly replies, the most costly first. ``tests`` is how many were made in all.

    ``candidates`` have games enough to be looked at; one that is the habit of one player is
    not tested. ``found`` are those of a size to be shown: at least ``at_least`` points in 100
    games with the reply, or half a pawn (0: any). ``too_small`` others were found that are
    not of that size, and ``found_left_out`` that are, but are less costly than those
    shown. ``could_show`` is the cost (in points of 1) that the median candidate's counts would
    have shown with 80 % power.
    """

    position: PositionFacts
    filters: Filters
    source: Source
    side: str | None
    to_move: int
    false_alarms: float
    candidates: int
    tests: int
    could_show: float | None
    found: tuple[Costly, ...]
    found_left_out: int
    at_least: float
    too_small: int


@dataclass(frozen=True, slots=True)
class Outgrown:
    """A costly reply of the lower level that the higher one plays less or no longer."""

    costly: Costly
    higher: Rate
    change: Difference


@dataclass(frozen=True, slots=True)
class CompareAnswer:
    """What players of one level get wrong that the next level no longer does."""

    lower: str
    higher: str
    answer: CostlyAnswer
    outgrown: tuple[Outgrown, ...]
