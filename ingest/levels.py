"""Rating bands ("levels") and how people write them."""

from __future__ import annotations

import re
from dataclasses import dataclass

from ingest.errors import UsageError

DEFAULT_CUTS = (800, 1000, 1200, 1400, 1600, 1800, 2000)
HIGHEST_RATING = 4000
MOST_CUTS = 40


@dataclass(frozen=True, slots=True, order=True)
class Level:
    """A band of ratings, both ends included; ``low is high is None`` means unrated.

    ``low`` is None for a band open below, ``high`` is None for one open above.
    """

    low: int | None
    high: int | None

    @property
    def rated(self) -> bool:
        """False for the band of players without a rating."""
        return self.low is not None or self.high is not None

    @property
    def label(self) -> str:
        """The band in words: ``under 800``, ``800-999``, ``2000 and over``, ``unrated``."""
        if not self.rated:
            return "unrated"
        if self.low is None:
            return f"under {self.high + 1}"  # type: ignore[operator]
        if self.high is None:
            return f"{self.low} and over"
        return f"{self.low}-{self.high}"

    @property
    def typed(self) -> str:
        """The band as a person types it after ``--level``."""
        if not self.rated:
            return "unrated"
        if self.low is None:
            return f"under-{self.high + 1}"  # type: ignore[operator]
        if self.high is None:
            return f"{self.low}+"
        return f"{self.low}-{self.high}"

    def holds(self, rating: int | None) -> bool:
        """Whether a player of this rating (None: unrated) is of this level."""
        if rating is None or not self.rated:
            return rating is None and not self.rated
        return (self.low is None or self.low <= rating) and (
            self.high is None or rating <= self.high
        )


UNRATED = Level(None, None)


def bands(cuts: tuple[int, ...] = DEFAULT_CUTS) -> tuple[Level, ...]:
    """The levels between the cuts (one or more), low to high, with unrated last.

    Every player is in exactly one of them.
    """
    lows: list[int | None] = [None, *cuts]
    highs: list[int | None] = [*(cut - 1 for cut in cuts), None]
    return (*(Level(low, high) for low, high in zip(lows, highs, strict=True)), UNRATED)


def parse_bands(text: str) -> tuple[int, ...]:
    """``900,1300,1700`` -> the cuts. UsageError unless they are rising ratings, 40 at most."""
    parts = [part.strip() for part in text.split(",")]
    if not all(re.fullmatch(r"[0-9]{1,4}", part) for part in parts):
        raise UsageError(f"--bands {text}: not a list of ratings; write for example 900,1300,1700")
    cuts = tuple(int(part) for part in parts)
    if any(b <= a for a, b in zip((0, *cuts), (*cuts, HIGHEST_RATING), strict=False)):
        raise UsageError(
            f"--bands {text}: ratings must rise and lie between 1 and {HIGHEST_RATING - 1}; "
            "write for example 900,1300,1700"
        )
    if len(cuts) > MOST_CUTS:
        raise UsageError(f"--bands: {len(cuts)} ratings are too many; write at most {MOST_CUTS}")
    return cuts


def parse_level(text: str) -> Level:
    """``800-1199``, ``under-800``, ``2000+`` or ``unrated`` -> a Level.

    UsageError when it is none of these or its ends are the wrong way round.
    """
    word = re.sub(r"\s+", "-", text.strip().lower())
    if word == "unrated":
        return UNRATED
    if match := re.fullmatch(r"(?:under|below)-?([0-9]{1,4})", word):
        if 0 < (cut := int(match[1])) <= HIGHEST_RATING:
            return Level(None, cut - 1)
    elif match := re.fullmatch(r"([0-9]{1,4})(?:\+|-?and-over)", word):
        if (low := int(match[1])) <= HIGHEST_RATING:
            return Level(low, None)
    elif match := re.fullmatch(r"([0-9]{1,4})(?:-|–|-?to-?)([0-9]{1,4})", word):
        low, high = int(match[1]), int(match[2])
        if low <= high <= HIGHEST_RATING:
            return Level(low, high)
    raise UsageError(f"level {text!r}: not a level; write 800-1199, under-800, 2000+ or unrated")
