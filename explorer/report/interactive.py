"""The level strip as a chart to point at: an addition for screens, never the content."""

from __future__ import annotations

from explorer.query.model import RepliesAnswer, Reply, ReplyLevel
from explorer.report import grouped, words
from explorer.report.palette import INK, MUTED, OCHRE, PAPER, PLUM, RULE

MOST_REPLIES = 6
COLOURS = (INK, PLUM, OCHRE, MUTED, INK, PLUM)
SYMBOLS = ("circle", "square", "diamond", "triangle-up", "cross", "x")
NO_LEVEL = " "
DASHES = ("solid", "dash", "dot", "dashdot", "longdash", "longdashdot")


def chart_json(answer: RepliesAnswer, letters: str | None = None) -> str:
    """The chart's data and layout as JSON for plotly.js; the same bytes for the same answer."""
    import plotly.graph_objects as go

    figure = go.Figure(
        data=[
            _curve(i, reply, words.spelled(reply.san, letters), answer)
            for i, reply in enumerate(answer.replies[:MOST_REPLIES])
        ],
        layout=_layout(grouped.wording(answer).axis),
    )
    text = str(figure.to_json())
    # Inside a page nothing of the data may close the script element.
    return text.replace("<", "\\u003c")


def _curve(i: int, reply: Reply, name: str, answer: RepliesAnswer) -> dict[str, object]:
    """One reply's curve over the shown levels, years, ...

    No line leads to the last if it stands apart: unrated is no level above the others.
    Collections and paces have no order, and so no line.
    """
    shown, last = grouped.shown(answer), len(reply.levels) - 1
    apart = last in shown and not grouped.axis(answer)[last].rated
    levels: list[ReplyLevel | None] = [reply.levels[n] for n in shown if n != last or not apart]
    if apart:
        levels += [None, reply.levels[last]]
    mode = "markers" if answer.filters.by in grouped.UNORDERED else "lines+markers"
    return {
        "type": "scatter",
        "name": name,
        "x": [level.label if level else NO_LEVEL for level in levels],
        "y": [_hundredths(level) for level in levels],
        "error_y": {
            "type": "data",
            "symmetric": False,
            "array": [_reach(level, above=True) for level in levels],
            "arrayminus": [_reach(level, above=False) for level in levels],
            "thickness": 1,
            "width": 3,
        },
        "text": [_hint(level) for level in levels],
        "hovertemplate": "%{text}<extra>%{fullData.name}</extra>",
        "mode": mode,
        "line": {"color": COLOURS[i], "dash": DASHES[i], "width": 1.5},
        "marker": {"symbol": SYMBOLS[i], "size": 9},
    }


def _layout(axis_title: str) -> dict[str, object]:
    axis = {"linecolor": RULE, "gridcolor": "#e4dfd3", "zeroline": False}
    return {
        "template": "none",
        "paper_bgcolor": PAPER,
        "plot_bgcolor": PAPER,
        "font": {"family": "Georgia, serif", "size": 14, "color": INK},
        "margin": {"l": 60, "r": 10, "t": 10, "b": 70},
        "legend": {"orientation": "h", "y": 1.12},
        "xaxis": {
            **axis,
            "title": {"text": axis_title, "standoff": 12},
            "type": "category",
            "automargin": True,
        },
        "yaxis": {**axis, "title": {"text": "games in 100"}, "rangemode": "tozero"},
    }


def _hundredths(level: ReplyLevel | None) -> float | None:
    return None if level is None or level.share is None else round(100 * level.share, 2)


def _reach(level: ReplyLevel | None, *, above: bool) -> float | None:
    """How far the interval reaches from the share, in 100."""
    if level is None or level.share is None:
        return None
    end = level.share_high if above else level.share_low
    return None if end is None else round(100 * abs(end - level.share), 2)


def _hint(level: ReplyLevel | None) -> str:
    """What is said when one points at a dot."""
    if level is None:
        return ""
    return (
        f"{level.label}: {words.percent(level.share)} "
        f"({words.percents(level.share_low, level.share_high)})<br>"
        f"{level.games:,} of {words.count(level.of, 'game')}"
        f"{', too few to say' if level.few else ''}"
    )


def plotly_source() -> str:
    """plotly.js itself, as the plotly package carries it (the whole library: 4.8 MB)."""
    from plotly.offline import get_plotlyjs

    return str(get_plotlyjs())
