"""Which replies became rarer or more common from group to group."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from explorer.numbers.multiple import benjamini_hochberg
from explorer.numbers.trend import SIGNIFICANT, cochran_armitage
from explorer.query.model import Reply, TrendOver

TRENDED = ("level", "year", "season")


class Grouped(NamedTuple):
    """A reply in one group: ``k`` of ``n`` games, the group's place, the design effect."""

    k: int
    n: int
    score: float
    design: float


def trend_over(by: str, groups: Iterable[Grouped]) -> TrendOver | None:
    """The trend of one reply over groups in order; None where a breakdown has no order."""
    if by not in TRENDED:
        return None
    groups = tuple(groups)
    found = cochran_armitage(*zip(*groups, strict=True)) if groups else None
    if found is None:
        return TrendOver("none", None, len(groups))
    return TrendOver(found.direction, found.p, len(groups))


def adjusted(replies: Sequence[Reply]) -> list[Reply]:
    """The replies with trends that stand beside so many tests (Benjamini-Hochberg).

    A reply with too few games or players is not tested.
    """
    ps = [
        reply.trend.p if reply.trend and not reply.few and reply.trend.p is not None else np.nan
        for reply in replies
    ]
    return [
        replace(reply, trend=_adjusted(reply.trend, p))
        for reply, p in zip(replies, benjamini_hochberg(ps).tolist(), strict=True)
    ]


def _adjusted(trend: TrendOver | None, p: float) -> TrendOver | None:
    if trend is None:
        return None
    if np.isnan(p):
        return TrendOver("none", None, trend.levels)
    return TrendOver(trend.direction if p < SIGNIFICANT else "none", p, trend.levels)
