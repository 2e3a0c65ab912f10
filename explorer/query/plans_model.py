"""The answer of `plans`: frozen values, no database, no presentation.

As in `mistake_model`: counts are integers, a value that cannot be computed is None,
shares are fractions of 1, every interval is 95 %, field names are the JSON contract.
"""

from __future__ import annotations

from dataclasses import dataclass

from explorer.query.filters import Filters
from explorer.query.mistake_model import Difference, Rate
from explorer.query.model import FEW_GAMES, FEW_PLAYERS, PositionFacts, Source
from ingest.levels import Level

# The kinds of plans.
MOVE, CASTLE, STEP, BREAK, PIN, EXCHANGE = "move", "castle", "step", "break", "pin", "exchange"


@dataclass(frozen=True, slots=True)
class Figures:
    """What players of some level make of a plan.

    ``rate`` is of the games that lasted through the moves looked at. ``move`` is the
    usual move number (the game's own), ``move_low`` and ``move_high`` the ends of the middle
    half. ``gain``: score against expectation of those who did it minus that of those who did
    not; no proof that the plan is the cause.
    """

    rate: Rate
    move: int | None
    move_low: int | None
    move_high: int | None
    gain: Difference

    @property
    def few(self) -> bool:
        """Too few games with the plan to say when it is carried out."""
        return self.rate.cases < FEW_GAMES or self.rate.case_players < FEW_PLAYERS


@dataclass(frozen=True, slots=True)
class PlanLevel:
    """The share of a plan among players of one level."""

    label: str
    low: int | None
    high: int | None
    rate: Rate


@dataclass(frozen=True, slots=True)
class Plan:
    """One plan of one side.

    ``kind`` is one of the above. ``piece`` moves, pins or is exchanged; ``other`` is what an
    exchange takes; ``square`` is the goal of a move, step, break or pin; ``side`` is
    "king" or "queen" in castling. ``path`` are two squares: where the man mostly comes
    from, as he stands in the position, and where he goes. ``change`` is the share minus
    that at the model level, its p adjusted for all plans listed. ``levels`` has every level,
    chosen or not.
    """

    kind: str
    piece: str
    other: str | None
    square: str | None
    side: str | None
    path: str
    here: Figures
    model: Figures | None
    change: Difference | None
    levels: tuple[PlanLevel, ...]


@dataclass(frozen=True, slots=True)
class Pair:
    """Which of two plans comes first; ``first`` and ``second`` are numbers in `SidePlans.plans`.

    ``order``: of the games in which both came, on different moves, those in which the first did
    before the second. The commoner order stands first.
    """

    first: int
    second: int
    order: Rate


@dataclass(frozen=True, slots=True)
class SidePlans:
    """What one side does next, the commonest first.

    ``reached`` are the games by players of the level that reached the position, ``games`` those
    of them that lasted; the model level's likewise.
    """

    side: str  # "white" or "black"
    reached: int
    games: int
    players: int
    model_games: int | None
    model_players: int | None
    plans: tuple[Plan, ...]
    plans_left_out: int
    pairs: tuple[Pair, ...]
    pairs_left_out: int


@dataclass(frozen=True, slots=True)
class PlansAnswer:
    """What both sides do next. ``levels`` of the filters is that of the player whose plan it is.

    ``sides`` are White and Black.
    """

    position: PositionFacts
    filters: Filters
    source: Source
    within_moves: int
    model: Level | None
    sides: tuple[SidePlans, ...]
