"""Where 100 games stand at each of the student's moves: stacked bars, one below the other.

The five states differ by pattern and number, not by colour alone.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from xml.sax.saxutils import quoteattr

from explorer.query.lesson_model import STATES, States
from explorer.report import words
from explorer.report.diagram import HATCH
from explorer.report.palette import INK, PAPER

WIDE, LEFT, RIGHT = 360, 52, 358
ROW, BAR, TOP, FLOOR = 25, 19, 2, 18
NARROWEST = 22  # of a part with its number in it
DOTS, LINES = "rb-dots", "rb-lines"
FONT = "font-family=\"'Helvetica Neue', Arial, sans-serif\""
FILLS = {
    "answer": INK,
    "won": f"url(#{LINES})",
    "ended": PAPER,
    "unanswered": f"url(#{HATCH})",
    "too_few": f"url(#{DOTS})",
}
NAMES = {
    "answer": "has an answer",
    "won": "has won",
    "ended": "the lesson has ended",
    "unanswered": "no answer",
    "too_few": "too few games to say",
}


def patterns() -> str:
    """The patterns that the charts of a page share, beside the diagrams' hatching."""
    size = 'width="6" height="6" patternUnits="userSpaceOnUse"'
    return (
        f'<pattern id="{DOTS}" {size}><rect width="6" height="6" fill="{PAPER}"/>'
        f'<circle cx="3" cy="3" r="1.1" fill="{INK}"/></pattern>'
        f'<pattern id="{LINES}" {size}><rect width="6" height="6" fill="{INK}"/>'
        f'<path d="M0 3H6" stroke="{PAPER}" stroke-width="1.6"/></pattern>'
    )


def states_chart(states: Sequence[States], name: str) -> str:
    """One bar for each move as SVG; ``name`` says whose games they are."""
    high = TOP + ROW * len(states) + FLOOR
    bars = "".join(_bar(one, TOP + ROW * row, row == 0) for row, one in enumerate(states))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="states" role="img" '
        f'viewBox="0 0 {WIDE} {high}" aria-label={quoteattr(in_words(states, name))}>'
        f'<g {FONT} font-size="12" fill="{INK}">{bars}{_scale(high)}</g></svg>'
    )


def key(state: str) -> str:
    """The pattern of a state, for the legend."""
    return (
        '<svg class="key-sign" viewBox="0 0 26 14" aria-hidden="true">'
        f'<rect x="1" y="1" width="24" height="12" fill="{FILLS[state]}" stroke="{INK}"/></svg>'
    )


def legend(states: Sequence[States]) -> Iterator[tuple[str, str]]:
    """The pattern and words of each state that occurs."""
    for state in STATES:
        if any(getattr(one, state) for one in states):
            yield key(state), NAMES[state]


def in_words(states: Sequence[States], name: str) -> str:
    """The chart for those who cannot see it."""
    told = [f"{name}, of 100 games."]
    for one in states:
        parts = ", ".join(
            f"{NAMES[state]} {words.fine_hundredths(getattr(one, state))}"
            for state in STATES
            if getattr(one, state)
        )
        told.append(f"At move {one.move}: {parts}.")
    return " ".join(told)


def _bar(states: States, y: int, first: bool) -> str:
    """The parts of one bar, each with its number where there is room."""
    parts, at = [], float(LEFT)
    for state in STATES:
        share = getattr(states, state)
        wide = (RIGHT - LEFT) * share
        if share:
            parts.append(_part(state, share, at, wide, y))
        at += wide
    label = f"move {states.move}" if first else f"{states.move}"
    return f'<text x="{LEFT - 7}" y="{y + 14}" text-anchor="end">{label}</text>{"".join(parts)}'


def _part(state: str, share: float, x: float, wide: float, y: int) -> str:
    box = (
        f'<rect x="{x:.1f}" y="{y}" width="{wide:.1f}" height="{BAR}" fill="{FILLS[state]}" '
        f'stroke="{INK}"/>'
    )
    if wide < NARROWEST:
        return box
    number, middle = words.fine_hundredths(share), x + wide / 2
    half = 4 + 3.4 * len(number)
    ground = (
        ""
        if state in ("answer", "ended")
        else f'<rect x="{middle - half:.1f}" y="{y + 2.5}" width="{2 * half:.1f}" '
        f'height="{BAR - 5}" fill="{PAPER}"/>'
    )
    ink = f' fill="{PAPER}"' if state == "answer" else ""
    text = f'<text x="{middle:.1f}" y="{y + 14}" text-anchor="middle"{ink}>{number}</text>'
    return f"{box}{ground}{text}"


def _scale(high: int) -> str:
    """0, 50 and 100 games below the bars."""
    places = ((LEFT, "0", "start"), ((LEFT + RIGHT) / 2, "50", "middle"), (RIGHT, "100", "end"))
    return "".join(
        f'<text x="{x:g}" y="{high - 4}" text-anchor="{anchor}" font-size="11">{text}</text>'
        for x, text, anchor in places
    )
