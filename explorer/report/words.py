"""Numbers and filters in plain words. Shares and scores come in as fractions of 1."""

from __future__ import annotations

import re
import unicodedata
from calendar import monthrange
from collections.abc import Iterable, Sequence
from datetime import date
from math import ceil, log10

from explorer.positions.letters import localise
from explorer.query.filters import Filters
from explorer.report.privacy import Veil
from ingest.levels import HIGHEST_RATING, UNRATED, Level

NOTHING = "-"
NO_BREAK = "\u00a0"  # a blank at which no line ends
MONTHS = [
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
]
# Terminal sequences (ECMA-48: CSI; OSC and other strings; two-character escapes).
_ESCAPES = re.compile(
    r"(?:\x1b\[|\x9b)[0-?]*[ -/]*[@-~]|\x1b[\]PX^_].*?(?:\x07|\x1b\\|\x9c|$)|\x1b.?", re.DOTALL
)
# Line ends and controls part words. Formatting characters (bidirectional
# overrides among them), surrogates and private use can forge what is shown.
_PARTING, _UNSEEN = {"Cc", "Zl", "Zp"}, {"Cf", "Cs", "Co"}


def clean(text: str) -> str:
    """Text from a file as one line without terminal sequences, controls and formatting."""
    kept = (
        " " if unicodedata.category(c) in _PARTING else c
        for c in _ESCAPES.sub("", text)
        if unicodedata.category(c) not in _UNSEEN
    )
    return " ".join("".join(kept).split())


def count(number: int, thing: str) -> str:
    """``1 game``, ``1,234 games``."""
    return f"{number:,} {thing}{'' if number == 1 else 's'}"


def listed(words: Sequence[str], last: str = "and") -> str:
    """``a, b and c``."""
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} {last} {words[-1]}"


def hundredths(share: float | None) -> str:
    """A share in 100, without the sign: ``53``, ``9.1``; one decimal near either end.

    What is not quite none or all never reads as none or all.
    """
    if share is None:
        return NOTHING
    value = 100 * share
    if 0 < value < 0.1:
        return "<0.1"
    if 99.9 < value < 100:
        return ">99.9"
    if value in (0, 100) or 9.95 <= value < 99.5:
        return f"{value:.0f}"
    return f"{value:.1f}"


def fine_hundredths(share: float) -> str:
    """A share in 100 with as many decimals as it takes to show a digit: ``53``, ``0.04``."""
    value = 100 * share
    return f"{value:.{ceil(-log10(value))}f}" if 0 < value < 0.1 else hundredths(share)


def percent(share: float | None) -> str:
    """``53 %``."""
    return NOTHING if share is None else f"{hundredths(share)} %"


def percents(low: float | None, high: float | None, joint: str = "-") -> str:
    """``50-56 %``."""
    if low is None or high is None:
        return NOTHING
    return f"{hundredths(low)}{joint}{hundredths(high)} %"


def score(value: float | None) -> str:
    """A score between 0 and 1: ``0.48``."""
    return NOTHING if value is None else f"{round(value, 2) + 0.0:.2f}"


def signed(value: float | None, digits: int = 2) -> str:
    """``+0.06``, ``-0.06``, ``0.00``."""
    if value is None:
        return NOTHING
    rounded = round(value, digits) + 0.0
    return f"{rounded:+.{digits}f}" if rounded else f"{0:.{digits}f}"


def pawns(value: float) -> str:
    """``1.4 pawns``, ``1 pawn``; the sign is dropped."""
    size = f"{abs(value):.1f}".removesuffix(".0")
    return f"{size} pawn{'' if size == '1' else 's'}"


def one_in(share: float) -> str:
    """``about 1 in 9``: the share as people say it."""
    if share >= 0.995:
        return "all" if share == 1 else "nearly all"
    if share >= 0.95:
        return "nearly all"
    if share >= 0.55:
        return f"about {round(10 * share)} in 10"
    if share >= 0.45:
        return "about half the"
    if share >= 0.365:  # nearer to 2 in 5 than to 1 in 3
        return "about 2 in 5"
    if share >= 0.005:
        return f"about 1 in {round(1 / share)}"
    return "fewer than 1 in 200" if share else "none"


def spelled(moves: str, letters: str | None) -> str:
    """SAN moves with the piece letters of a language; English ones for None."""
    return localise(moves, letters) if letters else moves


def sentence(text: str) -> str:
    """The text with a capital at its start and a full stop at its end."""
    return f"{text[:1].upper()}{text[1:]}{'' if text.endswith(('.', '?')) else '.'}"


def side(to_move: str) -> str:
    """``White`` or ``Black``."""
    return to_move.capitalize()


def band(level: Level) -> str:
    """``under 800``, ``rated 800 to 999``, ``rated 2000 and over``, ``unrated``."""
    if not level.rated or level.low is None:
        return level.label
    return f"rated {level.low} {'and over' if level.high is None else f'to {level.high}'}"


def players_of(level: Level) -> str:
    """``players under 800``, ``unrated players``."""
    return f"players {band(level)}" if level.rated else "unrated players"


def players(levels: Sequence[Level]) -> str:
    """``players rated 800 to 1199``; ``players of every level`` for no level."""
    return f"players {_bands(levels)}" if levels else "players of every level"


def _bands(levels: Iterable[Level]) -> str:
    """Several levels joined; those that touch or overlap are told as one band."""
    levels = tuple(levels)
    joined: list[list[int]] = []
    for low, high in sorted(_ends(level) for level in levels if level.rated):
        if joined and low <= joined[-1][1] + 1:
            joined[-1][1] = max(joined[-1][1], high)
        else:
            joined.append([low, high])
    told = [_between(low, high) for low, high in joined]
    return listed([*told, "unrated"] if UNRATED in levels else told, "or")


def _ends(level: Level) -> tuple[int, int]:
    return level.low or 0, HIGHEST_RATING if level.high is None else level.high


def _between(low: int, high: int) -> str:
    level = Level(low or None, None if high >= HIGHEST_RATING else high)
    return band(level) if level.rated else "with a rating"


def filter_sentence(filters: Filters, veil: Veil) -> str:
    """The filters as a sentence: ``Players rated 800 to 1199, rapid, since September 2025.``"""
    parts = [players(filters.levels)]
    if filters.opponents:
        parts.append(f"against opponents {_bands(filters.opponents)}")
    if filters.player is not None:
        who = veil.person(filters.player) or "one student"
        parts.append(f"in games of {who}{f' as {side(filters.side)}' if filters.side else ''}")
    elif filters.side:
        parts.append(f"with {side(filters.side)}")
    parts.append(paces(filters.pace))
    if when := _period(filters.since, filters.until):
        parts.append(when)
    if filters.collections:
        names = listed([f'"{clean(veil.text(name))}"' for name in filters.collections], "or")
        parts.append(f"from {names}")
    return sentence(", ".join(parts))


def opponents_sentence(filters: Filters, veil: Veil) -> str:
    """The same where the levels are the opponents': ``Opponents rated 800 to 999, any pace.``"""
    said = filter_sentence(filters, veil)
    return said.replace("against opponents", "against students").replace("Players", "Opponents", 1)


def paces(chosen: Sequence[str]) -> str:
    """``any pace``, ``rapid``, ``rapid or pace unknown``."""
    if not chosen:
        return "any pace"
    return listed(["pace unknown" if pace == "unknown" else pace for pace in chosen], "or")


def day(when: date) -> str:
    """``14 September 2025``."""
    return f"{when.day} {MONTHS[when.month - 1]} {when.year}"


def _period(since: date | None, until: date | None) -> str:
    """``since September 2025``, ``until 14 March 2026`` or both; whole months by name."""
    words = []
    if since is not None:
        words.append(f"since {day(since) if since.day > 1 else day(since)[2:]}")
    if until is not None:
        whole = until.day == monthrange(until.year, until.month)[1]
        words.append(f"until {day(until).split(' ', 1)[1] if whole else day(until)}")
    return " ".join(words)
