"""The level strip as a chart to point at: an addition for screens, never the content."""

from __future__ import annotations

from explorer.query.model import RepliesAnswer, Reply
from explorer.report import words
from explorer.report.palette import INK, MUTED, OCHRE, PAPER, PLUM, RULE
from explorer.report.sentences import few_of

MOST_REPLIES = 6
COLOURS = (INK, PLUM, OCHRE, MUTED, INK, PLUM)
SYMBOLS = ("circle", "square", "diamond", "triangle-up", "cross", "x")
NO_LEVEL = " "
DASHES = ("solid", "dash", "dot", "dashdot", "longdash", "longdashdot")


def chart_json(answer: RepliesAnswer, letters: str | None = None) -> str:
    """The chart's data and layout as JSON for plotly.js; the same bytes for the same answer."""
    import plotly.graph_objects as go

    labels = [level.label for level in answer.levels]
    figure = go.Figure(
        data=[
            _curve(i, reply, words.spelled(reply.san, letters), labels)
            for i, reply in enumerate(answer.replies[:MOST_REPLIES])
        ],
        layout=_layout(),
    )
    text = str(figure.to_json())
    # Inside a page nothing of the data may close the script element.
    return text.replace("<", "\\u003c")


def _curve(i: int, reply: Reply, name: str, labels: list[str]) -> dict[str, object]:
    """One reply's curve. No line leads to unrated, the last: it is no level above the others."""
    gap = len(labels) - 1
    x, y = [*labels[:gap], NO_LEVEL, *labels[gap:]], _hundredths(reply)
    above, below = _spread(reply, above=True), _spread(reply, above=False)
    for column in (y, above, below):
        column.insert(gap, None)
    return {
        "type": "scatter",
        "name": name,
        "x": x,
        "y": y,
        "error_y": {
            "type": "data",
            "symmetric": False,
            "array": above,
            "arrayminus": below,
            "thickness": 1,
            "width": 3,
        },
        "text": [*_hints(reply)[:gap], "", *_hints(reply)[gap:]],
        "hovertemplate": "%{text}<extra>%{fullData.name}</extra>",
        "mode": "lines+markers",
        "line": {"color": COLOURS[i], "dash": DASHES[i], "width": 1.5},
        "marker": {"symbol": SYMBOLS[i], "size": 9},
    }


def _layout() -> dict[str, object]:
    axis = {"linecolor": RULE, "gridcolor": "#e4dfd3", "zeroline": False}
    return {
        "template": "none",
        "paper_bgcolor": PAPER,
        "plot_bgcolor": PAPER,
        "font": {"family": "Georgia, serif", "size": 14, "color": INK},
        "margin": {"l": 60, "r": 10, "t": 10, "b": 70},
        "legend": {"orientation": "h", "y": 1.12},
        "xaxis": {**axis, "title": {"text": "level of the player"}, "type": "category"},
        "yaxis": {**axis, "title": {"text": "games in 100"}, "rangemode": "tozero"},
    }


def _hundredths(reply: Reply) -> list[float | None]:
    return [None if level.share is None else round(100 * level.share, 2) for level in reply.levels]


def _spread(reply: Reply, *, above: bool) -> list[float | None]:
    """How far the interval reaches from the share, in 100."""
    sizes: list[float | None] = []
    for level in reply.levels:
        end = level.share_high if above else level.share_low
        missing = level.share is None or end is None
        sizes.append(None if missing else round(100 * abs(end - level.share), 2))  # type: ignore[operator]
    return sizes


def _hints(reply: Reply) -> list[str]:
    """What is said when one points at a dot."""
    return [
        f"{level.label}: {words.percent(level.share)} "
        f"({words.percents(level.share_low, level.share_high)})<br>"
        f"{level.games:,} of {words.count(level.of, 'game')}"
        f"{', too few to say' if few_of(level) else ''}"
        for level in reply.levels
    ]


def plotly_source() -> str:
    """plotly.js itself, as the plotly package carries it (the whole library: 4.8 MB)."""
    from plotly.offline import get_plotlyjs

    return str(get_plotlyjs())
