"""Answers of `habits` made by hand, for what is shown of them."""

from __future__ import annotations

from explorer.query.filters import Filters
from explorer.query.habits_model import Habit, HabitLevel, HabitsAnswer, Mean, Own
from explorer.query.mistake_model import NO_DIFFERENCE, Difference, Rate
from explorer.query.model import LevelCount, Source, TrendOver
from ingest.levels import bands

CUTS = (1000, 1400)
NO_TREND = TrendOver("none", None, 0)


def rate(cases: int, games: int, players: int = 40, top: int = 2) -> Rate:
    share = cases / games if games else None
    low, high = (
        (max(0.0, share - 0.1), min(1.0, share + 0.1)) if share is not None else (None, None)
    )
    return Rate(cases, games, players, share, low, high, top, min(players, cases))


def mean(value: float | None, games: int = 100, players: int = 40) -> Mean:
    low, high = (value - 0.2, value + 0.2) if value is not None else (None, None)
    return Mean(value, low, high, games, players)


def levels(*found: Rate | Mean, mated: int = 0) -> tuple[HabitLevel, ...]:
    """Three bands, unrated, and all together."""
    ends = [(band.label, band.low, band.high) for band in bands(CUTS)] + [
        ("all levels", None, None)
    ]
    return tuple(
        HabitLevel(
            *end,
            rate=one if isinstance(one, Rate) else None,
            mean=one if isinstance(one, Mean) else None,
            mated=mated,
        )
        for end, one in zip(ends, found, strict=True)
    )


CASTLED = Habit(
    id="castled_by_10",
    words="castled by move 10",
    definition="the side has castled",
    wanted=1,
    moves=10,
    levels=levels(rate(30, 100), rate(50, 100), rate(70, 100), rate(0, 20), rate(150, 320)),
    score=Difference(0.04, 0.01, 0.07, 150, 170, 0.01, 40, 40),
    trend=TrendOver("grows", 0.00001, 3),
)
LEFT = Habit(
    id="left_to_be_taken_by_15",
    words="a piece left to be taken by move 15",
    definition="the next move takes it",
    wanted=-1,
    moves=15,
    levels=levels(
        rate(30, 100), rate(28, 100), rate(25, 100), rate(0, 0, 0), rate(83, 300), mated=4
    ),
    score=Difference(-0.2, -0.3, -0.1, 20, 217, 0.01, 9, 40),
    trend=TrendOver("none", 0.4, 3),
)
PIECES = Habit(
    id="developed_by_8",
    words="pieces developed by move 8",
    definition="how many have left their first squares",
    wanted=1,
    moves=8,
    levels=levels(mean(2.5), mean(3.0), mean(3.5), mean(None, 0, 0), mean(3.1, 300)),
    score=NO_DIFFERENCE,
    trend=NO_TREND,
)


def own(habit: Habit, found: Rate | Mean, value: float, p: float | None, games: int = 60) -> Own:
    """A player beside the others of the lowest level."""
    return Own(
        rate=found if isinstance(found, Rate) else None,
        mean=found if isinstance(found, Mean) else None,
        others=habit.levels[0],
        difference=Difference(value, value - 0.1, value + 0.1, games, 100, p, None, 40),
    )


def answer(
    *habits: Habit, player: str | None = None, games: int = 60, filters: Filters | None = None
) -> HabitsAnswer:
    counts = (100, 100, 100, 20)
    return HabitsAnswer(
        filters=filters or Filters(cuts=CUTS),
        source=Source(("club",), "fide", 0, (), 40, ("Quill, Edda",)),
        games=160,
        players=40,
        levels=tuple(
            LevelCount(band.label, band.low, band.high, number, not band.rated)
            for band, number in zip(bands(CUTS), counts, strict=True)
        ),
        habits=habits or (CASTLED, LEFT, PIECES),
        player=player,
        player_level="under 1000" if player else None,
        player_games=games if player else 0,
    )
