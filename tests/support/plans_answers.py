"""An answer of `plans` made by hand, for the tests of what is shown of it."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from explorer.numbers.intervals import newcombe, wilson
from explorer.query.filters import Filters
from explorer.query.mistake_model import NO_DIFFERENCE, Difference, Rate
from explorer.query.model import PositionFacts, Source
from explorer.query.plans_model import Figures, Pair, Plan, PlanLevel, PlansAnswer, SidePlans
from ingest.levels import Level, bands

MODEL = Level(1600, 1999)
CUTS = (1000, 1600)
GAIN = Difference(0.11, 0.04, 0.18, 120, 80, 0.003, 40, 30)


def rate(cases: int, games: int = 200, players: int = 60, top: int = 2) -> Rate:
    low, high = wilson(cases, games) or (None, None)
    share = cases / games if games else None
    return Rate(cases, games, players, share, low, high, min(top, cases), min(cases, 40))


def figures(cases: int, games: int = 200, move: int | None = 6, **more: Any) -> Figures:
    gain = more.pop("gain", GAIN)
    ends = (None, None) if move is None else (move - 1, move + 2)
    return Figures(rate(cases, games, **more), move, *ends, gain)


def plan(kind: str, piece: str, cases: int, theirs: int | None = None, **more: Any) -> Plan:
    """A plan in ``cases`` of 200 games; the model has it in ``theirs`` of 100."""
    change = None
    if theirs is not None:
        value, (low, high) = newcombe(cases, 200, theirs, 100) or (None, (None, None))
        p = 0.001 if low and high and low * high > 0 else 0.6
        change = Difference(value, low, high, 200, 100, p, 60, 50)
    fields: dict[str, Any] = {"other": None, "square": None, "side": None, **more}
    return Plan(
        kind=kind,
        piece=piece,
        here=fields.pop("here", figures(cases)),
        model=None if theirs is None else figures(theirs, 100, players=50, gain=NO_DIFFERENCE),
        change=change,
        levels=tuple(
            PlanLevel(band.label, band.low, band.high, level)
            for band, level in zip(
                bands(CUTS),
                (rate(cases // 2, 90), rate(0, 100), rate(1, 10), rate(0, 0)),
                strict=True,
            )
        ),
        **fields,
    )


def whites(theirs: bool = True) -> SidePlans:
    def of(number: int) -> int | None:
        return number if theirs else None

    return SidePlans(
        side="white",
        reached=240,
        games=200,
        players=60,
        model_games=of(100),
        model_players=of(50),
        plans=(
            plan("castle", "king", 160, of(82), side="king", path="e1g1"),
            plan("step", "pawn", 120, of(30), square="d3", path="d2d3"),
            plan("move", "knight", 60, of(70), square="c3", path="b1c3"),
            plan("pin", "bishop", 40, of(22), square="g5", path="c1g5"),
            plan("move", "bishop", 39, of(22), square="g5", path="c1g5"),
            plan(
                "break",
                "pawn",
                20,
                of(10),
                square="d4",
                path="d2d4",
                here=figures(20, top=15, gain=replace(GAIN, games=20)),
            ),
            plan("exchange", "bishop", 4, of(0), other="knight", path="c4e6"),
            plan("exchange", "queen", 3, of(2), other="queen", path="d1d8"),
            plan("move", "rook", 0, of(20), square="e1", path="h1e1", here=figures(0, move=None)),
        ),
        plans_left_out=7,
        pairs=(Pair(1, 0, rate(60, 90)), Pair(0, 2, rate(20, 35, players=3))),
        pairs_left_out=1,
    )


def blacks(theirs: bool = True) -> SidePlans:
    return SidePlans(
        side="black",
        reached=20,
        games=9,
        players=4,
        model_games=100 if theirs else None,
        model_players=50 if theirs else None,
        plans=(
            plan(
                "step",
                "pawn",
                8,
                50 if theirs else None,
                square="h6",
                path="h7h6",
                here=figures(8, 9, players=4),
            ),
        ),
        plans_left_out=0,
        pairs=(),
        pairs_left_out=0,
    )


def plans_answer(model: bool = True, **changes: Any) -> PlansAnswer:
    answer = PlansAnswer(
        position=PositionFacts(
            fen="r1bqk1nr/pppp1ppp/2n5/2b1p3/2B1P3/5N2/PPPP1PPP/RNBQK2R w KQkq - 0 1",
            line="1. e4 e5 2. Nf3 Nc6 3. Bc4 Bc5",
            name="Giuoco Piano",
            key="0123456789abcdef",
            to_move="white",
        ),
        filters=Filters(levels=(Level(800, 1199),), cuts=CUTS),
        source=Source(("club season",), "library", 0, (), 40),
        within_moves=8,
        model=MODEL if model else None,
        sides=(whites(model), blacks(model)),
    )
    return replace(answer, **changes)
