"""The level strip: one small panel per reply, shares with intervals from low levels to high.

Also its parts that cards use: the 0-1 line of a score.
"""

from __future__ import annotations

from collections.abc import Sequence
from xml.sax.saxutils import quoteattr

from explorer.query.model import Reply, ReplyLevel
from explorer.report import words
from explorer.report.palette import INK, MUTED, PAPER, RULE
from explorer.report.sentences import few_of
from ingest.levels import Level

WIDE, HIGH = 250, 128
LEFT, RIGHT, TOP, FLOOR = 40, 246, 12, 102
SCALES = (0.05, 0.1, 0.25, 0.5, 1.0)
GAP = 1.0  # between the rated levels and unrated, in steps
FONT = "font-family=\"'Helvetica Neue', Arial, sans-serif\""


def panel(reply: Reply, levels: Sequence[Level], name: str) -> str:
    """One reply's shares by level as SVG.

    ``levels`` are the bands of ``reply.levels``, ``name`` is the move as shown.
    The scale is the smallest that holds the shares, and is written beside it.
    """
    top = scale_of(reply)
    xs = _places(levels)
    marks = [
        _mark(x, level, top)
        for x, level in zip(xs, reply.levels, strict=True)
        if level.share is not None
    ]
    label = panel_in_words(reply, name)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="panel" role="img" '
        f'viewBox="0 0 {WIDE} {HIGH}" aria-label={quoteattr(label)}>'
        f"{_frame(top)}{_cuts(levels, xs)}{''.join(marks)}</svg>"
    )


def scale_of(reply: Reply) -> float:
    """The share at the top of a reply's panel. Levels with few games do not stretch it."""
    solid = [level.share_high or 0.0 for level in reply.levels if not few_of(level)]
    highest = max([*solid, reply.share or 0.0, *(level.share or 0.0 for level in reply.levels)])
    return next((scale for scale in SCALES if highest <= scale), 1.0)


def panel_in_words(reply: Reply, name: str) -> str:
    """The panel for those who cannot see it."""
    told = [f"{name}, share by level of the player."]
    for level in reply.levels:
        if level.share is None:
            continue
        spread = words.percents(level.share_low, level.share_high, " to ")
        few = ", too few to say" if few_of(level) else ""
        told.append(
            f"{level.label}: {words.percent(level.share)}, {spread}, "
            f"of {words.count(level.of, 'game')}{few}."
        )
    return " ".join(told)


def _places(levels: Sequence[Level]) -> list[float]:
    """The horizontal place of each level; unrated stands apart from the order."""
    steps = [i + 0.5 + (0 if level.rated else GAP) for i, level in enumerate(levels)]
    step = (RIGHT - LEFT) / (len(levels) + GAP)
    return [round(LEFT + step * place, 1) for place in steps]


def _height(share: float, top: float) -> float:
    return round(FLOOR - (FLOOR - TOP) * min(share, top) / top, 1)


def _frame(top: float) -> str:
    """The floor, a thin line at the top and in the middle, and the scale in words."""
    middle = (TOP + FLOOR) // 2
    return (
        f'<g stroke="{RULE}"><path d="M{LEFT} {FLOOR}H{RIGHT}"/>'
        f'<path d="M{LEFT} {TOP}H{RIGHT}M{LEFT} {middle}H{RIGHT}" stroke-dasharray="1 4"/></g>'
        f'<g fill="{INK}" {FONT} font-size="12" text-anchor="end">'
        f'<text x="{LEFT - 5}" y="{TOP + 4}">{100 * top:.0f} %</text>'
        f'<text x="{LEFT - 5}" y="{FLOOR + 4}">0</text></g>'
    )


def _cuts(levels: Sequence[Level], xs: Sequence[float]) -> str:
    """The ratings at which the levels part, below the floor; every second one if they crowd."""
    ticks, texts = [], []
    every = 2 if len(levels) > 6 else 1
    for i, level in enumerate(levels):
        if not level.rated:
            texts.append(f'<text x="{RIGHT}" y="{HIGH - 8}" text-anchor="end">unrated</text>')
        elif level.low is not None:
            x = (xs[i - 1] + xs[i]) / 2
            ticks.append(f"M{x:.1f} {FLOOR}v5")
            if i % every == every - 1:
                texts.append(f'<text x="{x:.1f}" y="{HIGH - 8}">{level.low}</text>')
    return (
        f'<path d="{"".join(ticks)}" stroke="{RULE}"/>'
        f'<g fill="{INK}" {FONT} font-size="12" text-anchor="middle">{"".join(texts)}</g>'
    )


def _mark(x: float, level: ReplyLevel, top: float) -> str:
    """Dot and whisker; hollow and grey where there are too few games to say."""
    few = few_of(level)
    ink, fill = (MUTED, PAPER) if few else (INK, INK)
    low, high = level.share_low or 0.0, level.share_high or 0.0
    dashed = ' stroke-dasharray="2 2"' if few else ""
    return (
        f'<path d="M{x} {_height(low, top)}V{_height(high, top)}" stroke="{ink}" '
        f'stroke-width="1.5"{dashed}/>'
        f'<circle cx="{x}" cy="{_height(level.share or 0.0, top)}" r="3.6" fill="{fill}" '
        f'stroke="{ink}" stroke-width="1.5"/>'
    )


def _across(score: float) -> float:
    return round(8 + 184 * score, 1)


def score_line(reply: Reply, colour: str) -> str:
    """A score as a dot with its interval on a line from 0 to 1; a tick where it was expected."""
    if reply.score is None or reply.score_low is None or reply.score_high is None:
        return ""
    tick = expected = ""
    if reply.expected is not None:
        x = _across(reply.expected)
        tick = f'<path d="M{x} 3V19" stroke="{INK}" stroke-width="1.5" stroke-dasharray="3 2"/>'
        expected = f", expected {words.score(reply.expected)}"
    label = (
        f"Score {words.score(reply.score)} on a line from 0 to 1, between "
        f"{words.score(reply.score_low)} and {words.score(reply.score_high)}{expected}."
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="line" role="img" viewBox="0 0 200 22" '
        f"aria-label={quoteattr(label)}>"
        f'<path d="M8 11H192M8 7V15M100 8V14M192 7V15" stroke="{RULE}"/>{tick}'
        f'<path d="M{_across(reply.score_low)} 11H{_across(reply.score_high)}" stroke="{colour}" '
        f'stroke-width="3"/>'
        f'<circle cx="{_across(reply.score)}" cy="11" r="4.5" fill="{colour}"/></svg>'
    )
