"""Chances and finds as bars, one below the other: what was on offer, found, and escaped."""

from __future__ import annotations

from xml.sax.saxutils import quoteattr

from explorer.query.mistake_model import Step
from explorer.report import words
from explorer.report.diagram import HATCH
from explorer.report.palette import INK, MUTED, PAPER

WIDE, HIGH = 300, 22
EDGE = 1.0


def step_bar(step: Step, most: int, name: str) -> str:
    """One step as SVG, on a scale of ``most`` games, the chances of the first step.

    Filled: found; empty: the chance was there and not taken; hatched: escaped before.
    """
    ink = MUTED if step.found.few else INK
    found, chances = (_width(n, most) for n in (step.found.cases, step.found.games))
    escaped = _width(step.escaped, most)
    label = (
        f"{name}: found {step.found.cases:,} of {words.count(step.found.games, 'chance')}"
        f"{f'; {step.escaped:,} escaped before' if step.escaped else ''}."
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="bar" role="img" '
        f'viewBox="0 0 {WIDE} {HIGH}" aria-label={quoteattr(label)}>'
        f"{_box(0, chances, PAPER, ink)}{_box(0, found, ink, ink)}"
        f"{_box(chances, escaped, f'url(#{HATCH})', ink)}</svg>"
    )


def _width(games: int, most: int) -> float:
    return round((WIDE - 2 * EDGE) * games / max(most, 1), 1)


def _box(start: float, width: float, fill: str, ink: str) -> str:
    if not width:
        return ""
    return (
        f'<path d="M{EDGE + start:g} 3h{width:g}v16h-{width:g}Z" fill="{fill}" stroke="{ink}" '
        'stroke-width="1.5"/>'
    )
