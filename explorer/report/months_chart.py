"""Is it getting better, as small charts: one measure each, a dot and its interval for each month.

Drawn in one ink, told apart by place and shape, and told in words too.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from math import ceil, floor
from xml.sax.saxutils import quoteattr

from explorer.query.model import FEW_GAMES
from explorer.query.student_model import Better, Period
from explorer.query.student_parts import OwnMean, OwnRate
from explorer.report import words
from explorer.report.palette import INK, MUTED, PAPER, RULE
from explorer.report.strip import FONT, SCALES

WIDE, HIGH = 340, 158
LEFT, RIGHT, TOP, FLOOR = 44, 334, 14, 118
APART = 26  # between two months' names
LEAST_MONTHS = 2
ENDS = (0.1, 0.25, 0.5, 1.0)  # of a scale around 0
TITLES = {
    "over_expected": "Score against expectation, a game",
    "mistakes": "Listed mistakes, of the chances to make them",
    "punished": "Opponents' mistakes that you punished",
    "kept": "Lesson moves played when it was your turn to",
    "left_at": "The move at which you left the lesson",
}
GOOD = {
    "over_expected": "higher is better",
    "mistakes": "lower is better",
    "punished": "higher is better",
    "kept": "higher is better",
    "left_at": "higher is better",
}

Found = OwnRate | OwnMean


@dataclass(frozen=True, slots=True)
class Panel:
    """One measure: what it is, which way is better, and its drawing."""

    title: str
    good: str
    drawing: str


@dataclass(frozen=True, slots=True)
class _Dot:
    """One month; ``value`` and the ends of its interval."""

    month: date
    value: float
    low: float
    high: float
    games: int
    few: bool


@dataclass(frozen=True, slots=True)
class _Scale:
    """The values at the floor and at the top, and how they are written."""

    low: float
    high: float
    kind: str

    def height(self, value: float) -> float:
        part = (min(max(value, self.low), self.high) - self.low) / (self.high - self.low)
        return round(FLOOR - (FLOOR - TOP) * part, 1)

    def text(self, value: float) -> str:
        if self.kind == "share":
            return f"{100 * value:.0f} %"
        return f"{value:.0f}" if self.kind == "moves" else words.signed(value, 2)


def panels(better: Better) -> Iterator[Panel]:
    """A chart for each measure that at least two months, and enough games, speak of."""
    for measure, title in TITLES.items():
        dots = [dot for month in better.months if (dot := _dot(month, measure))]
        if len(dots) >= LEAST_MONTHS and sum(dot.games for dot in dots) >= FEW_GAMES:
            drawing = _drawn(dots, _scale(dots, measure), better, title)
            yield Panel(title, GOOD[measure], drawing)


def _dot(month: Period, measure: str) -> _Dot | None:
    found: Found | None = getattr(month, measure)
    if found is None or month.since is None:
        return None
    value = found.share if isinstance(found, OwnRate) else found.value
    if value is None:
        return None
    low = value if found.low is None else found.low
    high = value if found.high is None else found.high
    return _Dot(month.since, value, low, high, found.games, found.few)


def _scale(dots: Sequence[_Dot], measure: str) -> _Scale:
    """The smallest usual one that holds the values."""
    if measure == "left_at":
        low, high = min(dot.value for dot in dots), max(dot.value for dot in dots)
        return _Scale(max(0.0, floor(low) - 1), ceil(high) + 1, "moves")
    most = max(abs(dot.value) for dot in dots)
    if measure == "over_expected":
        end = next((end for end in ENDS if most <= 0.8 * end), 1.0)
        return _Scale(-end, end, "signed")
    return _Scale(0.0, next((end for end in SCALES if most <= end), 1.0), "share")


def _drawn(dots: Sequence[_Dot], scale: _Scale, better: Better, title: str) -> str:
    months = _months(dots)
    step = (RIGHT - LEFT) / len(months)
    places = {month: round(LEFT + step * (i + 0.5), 1) for i, month in enumerate(months)}
    parts = (
        _frame(scale),
        _turn(better.since, months, step),
        "".join(_mark(dot, places[dot.month], scale) for dot in dots),
        _names(months, places, step),
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="months" role="img" '
        f'viewBox="0 0 {WIDE} {HIGH}" aria-label={quoteattr(in_words(dots, scale, title))}>'
        f"{''.join(parts)}</svg>"
    )


def _months(dots: Sequence[_Dot]) -> list[date]:
    """Every month from the first to the last: the axis has no hole."""
    first, last = (12 * day.year + day.month - 1 for day in (dots[0].month, dots[-1].month))
    return [date(number // 12, number % 12 + 1, 1) for number in range(first, last + 1)]


def _frame(scale: _Scale) -> str:
    middle = (scale.low + scale.high) / 2
    lines = "".join(
        f'<path d="M{LEFT} {scale.height(value)}H{RIGHT}"{dash}/>'
        for value, dash in (
            (scale.low, ""),
            (middle, ' stroke-dasharray="1 4"' if scale.kind != "signed" else ""),
            (scale.high, ' stroke-dasharray="1 4"'),
        )
    )
    texts = "".join(
        f'<text x="{LEFT - 5}" y="{scale.height(value) + 4}">{_printed(scale.text(value))}</text>'
        for value in (scale.low, middle, scale.high)
        if scale.kind != "moves" or value == int(value)
    )
    return (
        f'<g stroke="{RULE}">{lines}</g>'
        f'<g fill="{INK}" {FONT} font-size="12" text-anchor="end">{texts}</g>'
    )


def _printed(text: str) -> str:
    return text.replace("-", "\u2212").replace(" ", "\u00a0")


def _turn(since: date | None, months: Sequence[date], step: float) -> str:
    """An upright line at the day that parts before and after, where it lies on the axis."""
    if since is None:
        return ""
    number = 12 * (since.year - months[0].year) + since.month - months[0].month
    x = LEFT + step * (number + (since.day - 1) / 31)
    if not LEFT < x < RIGHT:
        return ""
    return (
        f'<path d="M{x:.1f} {TOP - 6}V{FLOOR}" stroke="{INK}" stroke-dasharray="5 3"/>'
        f'<text x="{x + 4:.1f}" y="{TOP - 2}" fill="{INK}" {FONT} font-size="11">since</text>'
    )


def _mark(dot: _Dot, x: float, scale: _Scale) -> str:
    """Dot and whisker; hollow and grey where there are too few games to say."""
    ink, fill = (MUTED, PAPER) if dot.few else (INK, INK)
    dashed = ' stroke-dasharray="2 2"' if dot.few else ""
    return (
        f'<path d="M{x} {scale.height(dot.low)}V{scale.height(dot.high)}" stroke="{ink}" '
        f'stroke-width="1.5"{dashed}/>'
        f'<circle cx="{x}" cy="{scale.height(dot.value)}" r="3.8" fill="{fill}" '
        f'stroke="{ink}" stroke-width="1.5"/>'
    )


def _names(months: Sequence[date], places: dict[date, float], step: float) -> str:
    """The months below the floor, some left out where they crowd; the year below the first."""
    every = ceil(APART / step)
    texts, year = [], 0
    for month in months[::every]:
        x = places[month]
        texts.append(f'<text x="{x}" y="{FLOOR + 15}">{words.MONTHS[month.month - 1][:3]}</text>')
        if month.year != year:
            texts.append(f'<text x="{x}" y="{FLOOR + 29}">{month.year}</text>')
            year = month.year
    ticks = "".join(f"M{x} {FLOOR}v4" for x in places.values())
    return (
        f'<path d="{ticks}" stroke="{RULE}"/>'
        f'<g fill="{INK}" {FONT} font-size="12" text-anchor="middle">{"".join(texts)}</g>'
    )


def in_words(dots: Sequence[_Dot], scale: _Scale, title: str) -> str:
    """The chart for those who cannot see it."""
    told = [f"{title}, month by month."]
    for dot in dots:
        name = f"{words.MONTHS[dot.month.month - 1]} {dot.month.year}"
        few = ", too few to say" if dot.few else ""
        value, low, high = (_said(end, scale.kind) for end in (dot.value, dot.low, dot.high))
        what = "chance" if scale.kind == "share" else "game"
        told.append(f"{name}: {value}, {low} to {high}, of {words.count(dot.games, what)}{few}.")
    return " ".join(told)


def _said(value: float, kind: str) -> str:
    if kind == "share":
        return words.percent(value)
    return f"{value:.1f}" if kind == "moves" else words.signed(value)
