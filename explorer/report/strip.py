"""The level strip: one small panel per reply, shares with intervals from low levels to high.

Also its parts that cards use: the 0-1 line of a score.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import ceil
from typing import Protocol
from xml.sax.saxutils import escape, quoteattr

from explorer.query.mistake_model import Rate
from explorer.query.model import Reply
from explorer.report import words
from explorer.report.palette import INK, MUTED, PAPER, RULE

WIDE, HIGH = 250, 128
LEFT, RIGHT, TOP, FLOOR = 40, 246, 12, 102
SCALES = (0.05, 0.1, 0.25, 0.5, 1.0)
GAP = 1.0  # between the rated levels and unrated, in steps
TEXT = 28  # room for a rating below the floor
LETTER = 6.6  # width of one, on average
SHORTEST = 7  # letters of a name: "2025/26"
FONT = "font-family=\"'Helvetica Neue', Arial, sans-serif\""


class _Level(Protocol):
    """A share at one level: ``of`` so many games; ``few`` is drawn hollow."""

    @property
    def label(self) -> str: ...
    @property
    def share(self) -> float | None: ...
    @property
    def share_low(self) -> float | None: ...
    @property
    def share_high(self) -> float | None: ...
    @property
    def of(self) -> int: ...
    @property
    def few(self) -> bool: ...


class _Place(Protocol):
    """A place on the axis: a band of ratings, or another group, which has no ends."""

    @property
    def label(self) -> str: ...
    @property
    def rated(self) -> bool: ...
    @property
    def low(self) -> int | None: ...
    @property
    def high(self) -> int | None: ...


class _Shares(Protocol):
    """A share over all levels and at each, low levels first."""

    @property
    def share(self) -> float | None: ...
    @property
    def levels(self) -> Sequence[_Level]: ...


@dataclass(frozen=True, slots=True)
class StripLevel:
    """A rate at one level, as the strip draws it; a muted one is hollow."""

    label: str
    share: float | None
    share_low: float | None
    share_high: float | None
    of: int
    few: bool


@dataclass(frozen=True, slots=True)
class Strip:
    """A rate over all levels and at each."""

    share: float | None
    levels: tuple[StripLevel, ...]


def strip_of(whole: Rate, levels: Iterable[tuple[str, Rate]]) -> Strip:
    """What `panel` draws of rates, from the label and rate of each level."""
    return Strip(
        whole.share,
        tuple(
            StripLevel(label, rate.share, rate.low, rate.high, rate.games, rate.muted)
            for label, rate in levels
        ),
    )


def panel(
    reply: _Shares,
    levels: Sequence[_Place],
    name: str,
    shown: Sequence[int] | None = None,
    by: str = "level of the player",
) -> str:
    """One reply's shares by level as SVG.

    ``levels`` are the bands of ``reply.levels``, ``name`` is the move as shown,
    ``shown`` are the numbers of the levels to show (None: all), ``by`` says what they are.
    The scale is the smallest that holds the shares, and is written beside it.
    """
    top = scale_of(reply)
    numbers = _stretch(levels, range(len(levels)) if shown is None else shown)
    levels = [levels[n] for n in numbers]
    xs = _places(levels)
    marks = [
        _mark(x, level, top)
        for x, level in zip(xs, (reply.levels[n] for n in numbers), strict=True)
        if level.share is not None
    ]
    label = panel_in_words(reply, name, by)
    below = _cuts if any(level.low or level.high for level in levels) else _names
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="panel" role="img" '
        f'viewBox="0 0 {WIDE} {HIGH}" aria-label={quoteattr(label)}>'
        f"{_frame(top)}{below(levels, xs)}{''.join(marks)}</svg>"
    )


def scale_of(reply: _Shares) -> float:
    """The share at the top of a reply's panel. Levels with few games do not stretch it."""
    solid = [level.share_high or 0.0 for level in reply.levels if not level.few]
    highest = max([*solid, reply.share or 0.0, *(level.share or 0.0 for level in reply.levels)])
    return next((scale for scale in SCALES if highest <= scale), 1.0)


def panel_in_words(reply: _Shares, name: str, by: str = "level of the player") -> str:
    """The panel for those who cannot see it."""
    told = [f"{name}, share by {by}."]
    for level in reply.levels:
        if level.share is None:
            continue
        spread = words.percents(level.share_low, level.share_high, " to ")
        few = ", too few to say" if level.few else ""
        told.append(
            f"{level.label}: {words.percent(level.share)}, {spread}, "
            f"of {words.count(level.of, 'game')}{few}."
        )
    return " ".join(told)


def _stretch(levels: Sequence[_Place], shown: Sequence[int]) -> list[int]:
    """The shown levels and those between them: the axis has no hole. Unrated stands apart."""
    rated = [n for n in shown if levels[n].rated]
    whole = list(range(rated[0], rated[-1] + 1)) if rated else []
    return [*whole, *(n for n in shown if not levels[n].rated)]


def _places(levels: Sequence[_Place]) -> list[float]:
    """The horizontal place of each level; unrated stands apart from the order."""
    rated = sum(level.rated for level in levels)
    gap = GAP if 0 < rated < len(levels) else 0.0
    steps = [i + 0.5 + (0 if level.rated else gap) for i, level in enumerate(levels)]
    # Where ratings end the axis, the last one needs room below it.
    right = RIGHT - TEXT / 2 if rated == len(levels) and levels[-1].high is not None else RIGHT
    step = (right - LEFT) / (len(levels) + gap)
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


def _cuts(levels: Sequence[_Place], xs: Sequence[float]) -> str:
    """The ratings at which the levels part, below the floor; only some of them if they crowd."""
    cuts = _bounds(levels, xs)
    texts = []
    room = float(RIGHT)
    if not levels[-1].rated:
        x = min(xs[-1], RIGHT - 22.0)
        texts.append(f'<text x="{x:.1f}" y="{HIGH - 8}">unrated</text>')
        room = x - 22 - TEXT / 2
    apart = cuts[1][0] - cuts[0][0] if len(cuts) > 1 else TEXT
    texts = [
        f'<text x="{x:.1f}" y="{HIGH - 8}">{rating}</text>'
        for x, rating in cuts[:: ceil(TEXT / apart)]
        if x <= room
    ] + texts
    ticks = "".join(f"M{x:.1f} {FLOOR}v5" for x, _ in cuts)
    return (
        f'<path d="{ticks}" stroke="{RULE}"/>'
        f'<g fill="{INK}" {FONT} font-size="12" text-anchor="middle">{"".join(texts)}</g>'
    )


def _names(levels: Sequence[_Place], xs: Sequence[float]) -> str:
    """What the places stand for, below the floor: in two rows, cut or left out if they crowd."""
    apart = xs[1] - xs[0] if len(xs) > 1 else float(RIGHT - LEFT)
    rows = 1 if max(len(level.label) for level in levels) * LETTER <= apart else 2
    most = max(SHORTEST, int(rows * apart / LETTER))
    names = [_shortened(level.label, most) for level in levels]
    every = ceil(max(map(len, names)) * LETTER / (rows * apart))
    told = [i for i, level in enumerate(levels) if i % every == 0 or not level.rated]
    texts, ends = [], [float(WIDE)] * rows
    for place in reversed(told):  # the one that stands apart is always told
        row, half = place // every % rows, len(names[place]) * LETTER / 2
        x = min(max(xs[place], half), WIDE - half)
        if x + half <= ends[row]:
            ends[row] = x - half
            y = FLOOR + 13 + 11 * row
            texts.append(f'<text x="{x:.1f}" y="{y}">{escape(names[place])}</text>')
    ticks = "".join(f"M{x:.1f} {FLOOR}v3" for x in xs)
    return (
        f'<path d="{ticks}" stroke="{RULE}"/>'
        f'<g fill="{INK}" {FONT} font-size="11" text-anchor="middle">{"".join(texts)}</g>'
    )


def _shortened(label: str, most: int) -> str:
    label = label.removesuffix(" year").removesuffix(" season")  # of "unknown"
    return label if len(label) <= most else f"{label[: most - 1]}\u2026"


def _bounds(levels: Sequence[_Place], xs: Sequence[float]) -> list[tuple[float, int]]:
    """Where the rated levels begin, and where the last one ends: place and rating."""
    rated = [(x, level) for x, level in zip(xs, levels, strict=True) if level.rated]
    half = (rated[1][0] - rated[0][0]) / 2 if len(rated) > 1 else xs[0] - LEFT
    cuts = [(x - half, level.low) for x, level in rated if level.low is not None]
    if rated and (last := rated[-1][1].high) is not None:
        cuts.append((rated[-1][0] + half, last + 1))
    return cuts


def _mark(x: float, level: _Level, top: float) -> str:
    """Dot and whisker; hollow and grey where there are too few games to say."""
    few = level.few
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
