"""Answers of `mistake` and `costly`, made by hand. People, clubs and counts are invented."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from explorer.query.filters import Filters
from explorer.query.mistake_model import (
    NO_DIFFERENCE,
    Between,
    ChancesLevel,
    CompareAnswer,
    Costly,
    CostlyAnswer,
    Difference,
    Helped,
    Instead,
    MistakeAnswer,
    MistakeLevel,
    Outgrown,
    Punishment,
    Rate,
    Step,
)
from explorer.query.model import TrendOver
from ingest.levels import bands
from tests.support.answers import (
    PLAYERS,
    REACHED,
    between,
    make_position,
    make_source,
    reply_level,
)

ALL = "all levels"
MADE = (27, 25, 16, 6, 1, 0, 0, 0, 5)
EVERY_GAME = (1800, 2300, 3100, 2900, 2000, 1100, 500, 100, 700)
# Chances of the side that may punish, by its level, and how often each step was found.
CHANCES = (14, 20, 18, 14, 8, 3, 1, 0, 2)
FOUND = (4, 8, 9, 8, 6, 3, 1, 0, 1)
OFFERED = (2, 5, 6, 6, 5, 3, 1, 0, 0)
FOUND_NEXT = (1, 2, 4, 4, 4, 3, 1, 0, 0)


def make_rate(cases: int, games: int, players: int, top: int = 2) -> Rate:
    share, low, high = between(cases, games)
    people = min(cases, players)
    return Rate(cases, games, players, share, low, high, min(top, cases), people)


def make_difference(value: float, half: float, games: int, others: int) -> Difference:
    if games < 2:
        return replace(NO_DIFFERENCE, games=games, other_games=others)
    p = 0.001 if abs(value) > half else 0.4
    people = min(games, 40)
    return Difference(value, value - half, value + half, games, others, p, people, people)


def make_mistake_level(
    label: str, low: int | None, high: int | None, counts: tuple[int, int, int, int]
) -> MistakeLevel:
    cases, reached, every, players = counts
    rate = make_rate(cases, reached, players)
    times = 3.0
    headed = None if rate.share is None else rate.share / times
    return MistakeLevel(
        label=label,
        low=low,
        high=high,
        rate=rate,
        in_all_games=make_rate(cases, every, players * 3),
        headed_for=headed,
        headed_for_low=None if rate.low is None else rate.low / times,
        headed_for_high=None if rate.high is None else rate.high / times,
        headed_for_games=reached,
        score=0.35 if cases else None,
        over_expected=-0.12 if cases else None,
        cost=make_difference(-0.12, 0.06 if cases > 20 else 0.4, cases, reached - cases),
        swing=make_difference(-1.4, 0.5, cases, reached - cases),
        mated=cases // 10,
    )


def mistake_levels() -> tuple[MistakeLevel, ...]:
    counts = list(zip(MADE, REACHED, EVERY_GAME, PLAYERS, strict=True))
    levels = [
        make_mistake_level(level.label, level.low, level.high, count)
        for level, count in zip(bands(), counts, strict=True)
    ]
    whole = (sum(MADE), sum(REACHED), sum(EVERY_GAME), sum(PLAYERS))
    return (*levels, make_mistake_level(ALL, None, None, whole))


def make_chances(
    label: str, low: int | None, high: int | None, counts: tuple[int, int, int, int]
) -> ChancesLevel:
    chances, found, offered, found_next = counts
    first = make_rate(found, chances, chances)
    second = make_rate(found_next, offered, offered)
    escaped = max(0, found - offered)
    answers = (
        Between("fxe5", offered, offered / max(found, 1), False),
        Between("Qe7", escaped, escaped / max(found, 1), True),
    )
    steps = (
        Step("Nxe5", "3.", first, (), 0),
        Step("Qh5+", "4.", second, answers if found else (), escaped),
    )
    known = (
        None
        if first.share is None or second.share is None
        else (first.share * second.share, (first.low or 0) * (second.low or 0))
    )
    return ChancesLevel(
        label=label,
        low=low,
        high=high,
        steps=steps,
        would_know=known[0] if known else None,
        would_know_low=known[1] if known else None,
        would_know_high=(first.high or 0) * (second.high or 0) if known else None,
        gain=make_difference(0.14, 0.1 if found > 20 else 0.5, found, chances - found),
        score_gain=make_difference(0.11, 0.1 if found > 20 else 0.5, found, chances - found),
    )


def make_punishment(**changes: object) -> Punishment:
    counts = list(zip(CHANCES, FOUND, OFFERED, FOUND_NEXT, strict=True))
    levels = [
        make_chances(level.label, level.low, level.high, count)
        for level, count in zip(bands(), counts, strict=True)
    ]
    whole = (sum(CHANCES), sum(FOUND), sum(OFFERED), sum(FOUND_NEXT))
    punishment = Punishment(
        line="3. Nxe5 fxe5 4. Qh5+",
        sans=("Nxe5", "fxe5", "Qh5+"),
        chosen_by="teacher",
        levels=(*levels, make_chances(ALL, None, None, whole)),
        other_ways=2,
        worse_than_alternatives=False,
        ucis=("f3e5", "f6e5", "d1h5"),
    )
    return replace(punishment, **changes)  # type: ignore[arg-type]


def make_helped(what: str = "making", change: float = -0.1, **changes: object) -> Helped:
    """A class of 16 with 60 games before and 70 after; the others hardly changed."""
    helped = Helped(
        what=what,
        since=date(2026, 3, 1),
        class_before=make_rate(10, 60, 14),
        class_after=make_rate(5, 70, 15),
        others_before=make_rate(40, 700, 200),
        others_after=make_rate(42, 720, 210),
        change=make_difference(change, 0.08, 70, 60),
        change_others=make_difference(0.01, 0.03, 720, 700),
        beyond=make_difference(change - 0.01, 0.09, 130, 1420),
    )
    return replace(helped, **changes)  # type: ignore[arg-type]


def mistake_answer(filters: Filters | None = None, **changes: object) -> MistakeAnswer:
    """2... f6 after 1. e4 e5 2. Nf3, punished by 3. Nxe5 fxe5 4. Qh5+."""
    answer = MistakeAnswer(
        position=make_position(name="King's Knight Opening"),
        filters=filters or Filters(),
        source=make_source(),
        san="f6",
        uci="f7f6",
        name="Damiano Defence",
        line="1. e4 e5 2. Nf3 f6",
        levels=mistake_levels(),
        trend=TrendOver("fades", 0.0002, 7),
        punishment=make_punishment(),
        helped=(),
    )
    return replace(answer, **changes)  # type: ignore[arg-type]


def never_made() -> MistakeAnswer:
    """A mistake that nobody made in 240 games."""
    counts = [(0, 240, 1800, 60), *[(0, 0, 0, 0)] * (len(bands()) - 1)]
    levels = [
        make_mistake_level(level.label, level.low, level.high, count)
        for level, count in zip(bands(), counts, strict=True)
    ]
    whole = make_mistake_level(ALL, None, None, counts[0])
    nothing = TrendOver("none", None, 1)
    return mistake_answer(levels=(*levels, whole), trend=nothing, punishment=None)


def make_costly(**changes: object) -> Costly:
    costly = Costly(
        line="1. e4 e5 2. Nf3 f6",
        position=make_position(name="King's Knight Opening"),
        name="Damiano Defence",
        san="f6",
        uci="f7f6",
        level="800-1199",
        rate=make_rate(80, 1912, 443),
        in_all_games=make_rate(80, 14500, 900),
        cost=make_difference(-0.12, 0.06, 72, 1700),
        swing=make_difference(-1.4, 0.5, 76, 1800),
        mated=8,
        found_by="both",
        adjusted_p=0.0004,
        lost=0.066,
        lost_low=0.03,
        lost_high=0.1,
        instead=Instead("Nc6", 1121, 0.59, 0.01),
        punisher="Nxe5",
        punished=make_rate(34, 78, 70),
        levels=tuple(
            reply_level(level.label, *counts)
            for level, *counts in zip(bands(), MADE, REACHED, PLAYERS, strict=True)
        ),
    )
    return replace(costly, **changes)  # type: ignore[arg-type]


def another_costly() -> Costly:
    """White takes a poisoned pawn: found by material alone, nothing to punish it with."""
    line = ("e4", "e5", "Nf3", "Nc6", "Bc4", "Nd4")
    return make_costly(
        line="1. e4 e5 2. Nf3 Nc6 3. Bc4 Nd4 4. Nxe5",
        position=make_position(line),
        name=None,
        san="Nxe5",
        uci="f3e5",
        rate=make_rate(30, 64, 40, top=20),
        in_all_games=make_rate(30, 14500, 900),
        found_by="material",
        lost=0.04,
        lost_low=None,
        lost_high=None,
        instead=None,
        punisher=None,
        punished=None,
        mated=0,
    )


def costly_answer(filters: Filters | None = None, **changes: object) -> CostlyAnswer:
    answer = CostlyAnswer(
        position=make_position(()),
        filters=filters or Filters(),
        source=make_source(),
        side="black",
        to_move=8,
        false_alarms=5.0,
        candidates=412,
        tests=824,
        could_show=0.11,
        found=(make_costly(), another_costly()),
        found_left_out=3,
        at_least=2.0,
        too_small=0,
    )
    return replace(answer, **changes)  # type: ignore[arg-type]


def compare_answer(**changes: object) -> CompareAnswer:
    first, second = make_costly(level="800-999"), another_costly()
    answer = CompareAnswer(
        lower="800-999",
        higher="1200-1399",
        answer=costly_answer(found=(first, second)),
        outgrown=(
            Outgrown(first, make_rate(6, 380, 80), make_difference(-0.03, 0.01, 380, 1912)),
            Outgrown(second, make_rate(0, 40, 20), make_difference(-0.46, 0.2, 40, 64)),
        ),
    )
    return replace(answer, **changes)  # type: ignore[arg-type]
