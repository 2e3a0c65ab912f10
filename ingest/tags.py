"""PGN tag values -> typed values: dates, ratings, names, pace, results.

Tags are written by many hands, so nothing here raises on a strange value: it
becomes "unknown". Section numbers are those of the PGN standard (1994).
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields
from datetime import date
from enum import IntEnum
from functools import lru_cache
from typing import NamedTuple, TypeVar

import chess
import numpy as np
import pyarrow as pa
from numpy.typing import NDArray

from ingest.errors import UsageError
from ingest.levels import HIGHEST_RATING

# FIDE Laws of Chess 2023, Appendix A.1 and B.1: limits on "all the moves" within a
# fixed time, or main time + 60 times the increment. Seconds.
BLITZ_AT_MOST = 10 * 60
STANDARD_FROM = 60 * 60
MOVES_COUNTED = 60
A_DAY = 24 * 60 * 60

CACHED = 1 << 16
T = TypeVar("T")
_STROKES = str.maketrans({"ø": "o", "ł": "l", "đ": "d", "ð": "d", "æ": "ae", "œ": "oe", "ı": "i"})
_BETWEEN_WORDS = re.compile(r"[\s,.?]+")
_NOBODY = frozenset({"", "nn"})
A_PLAYER = "a player"  # instead of a forgotten name; as a tag it names nobody


class Pace(IntEnum):
    """How much time the players had; the numbers are stored in the library."""

    UNKNOWN = 0
    BLITZ = 1
    RAPID = 2
    STANDARD = 3
    CORRESPONDENCE = 4

    @property
    def word(self) -> str:
        """The pace as people write it: ``rapid``."""
        return self.name.lower()


def pace_named(text: str) -> Pace:
    """``rapid`` -> Pace.RAPID. UsageError when there is no such pace."""
    for pace in Pace:
        if pace.word == text.strip().lower():
            return pace
    words = ", ".join(pace.word for pace in Pace)
    raise UsageError(f"pace {text!r}: no such pace; write one of {words}")


def pace_of(time_control: str) -> Pace:
    """A TimeControl tag (9.6.1) -> its pace by the FIDE Laws' limits."""
    periods = [_period(text) for text in time_control.replace(" ", "").split(":")]
    seconds = 0.0
    left = MOVES_COUNTED
    for number, period in enumerate(periods, start=1):
        if period is None:
            return Pace.UNKNOWN
        moves, main, increment = period
        if moves and main >= A_DAY * moves:
            return Pace.CORRESPONDENCE
        # The last period with a number of moves comes again until the game ends.
        played = left if not moves or number == len(periods) else min(moves, left)
        seconds += (main * played / moves if moves else main) + increment * played
        left -= played
        if left == 0:
            break
    if seconds <= 0:
        return Pace.UNKNOWN
    if seconds <= BLITZ_AT_MOST:
        return Pace.BLITZ
    return Pace.RAPID if seconds < STANDARD_FROM else Pace.STANDARD


def _period(text: str) -> tuple[int, int, int] | None:
    """One period -> (moves or 0 for the whole game, seconds, increment); None: cannot tell."""
    match = re.fullmatch(r"(?:([0-9]{1,4})/)?([0-9]{1,9})(?:\+([0-9]{1,6}))?", text, re.ASCII)
    if not match or (match[1] and int(match[1]) == 0):
        return None
    return int(match[1] or 0), int(match[2]), int(match[3] or 0)


def rating_of(text: str) -> int | None:
    """A rating tag (9.1.2) -> 1..4000, or None for ``-``, ``?``, 0 and anything odd."""
    text = text.strip()
    if not re.fullmatch(r"[0-9]{1,5}", text, re.ASCII):
        return None
    rating = int(text)
    return rating if 0 < rating <= HIGHEST_RATING else None


class Date(NamedTuple):
    """A date as far as it is known: a month only with its year, a day only with its month."""

    year: int | None
    month: int | None
    day: int | None

    @property
    def played(self) -> date | None:
        """The calendar date, None when it is vague."""
        if self.year is None or self.month is None or self.day is None:
            return None
        return date(self.year, self.month, self.day)


NO_DATE = Date(None, None, None)


def date_of(text: str) -> Date:
    """A Date tag (8.1.1.3) -> a Date; ``-`` and ``/`` are read as the point is."""
    parts = re.split(r"[./-]", re.sub(r"\s", "", text))
    year, month, day = (
        int(part) if part.isascii() and part.isdigit() and len(part) in lengths else 0
        for part, lengths in zip((*parts, "", "")[:3], ((4,), (1, 2), (1, 2)), strict=True)
    )
    if year == 0 or len(parts) > 3:
        return NO_DATE
    if not 1 <= month <= 12:
        return Date(year, None, None)
    try:
        date(year, month, day)
    except ValueError:
        return Date(year, month, None)
    return Date(year, month, day)


def text_of(text: str) -> str | None:
    """A free tag value without escapes (section 7) and stray blanks; None for ``?``, ``-``."""
    if "\\" in text:
        text = re.sub(r'\\(["\\])', r"\1", text)
    if not text.isprintable():
        text = "".join(c if c.isprintable() else " " for c in text)
    text = " ".join(text.split())
    return text if text.strip("?- ") else None


def name_of(text: str) -> str | None:
    """A player's name as shown; None when the tag names nobody (``?``, ``N.N.``, ``a player``)."""
    return named(text)[0]


def named(text: str) -> tuple[str | None, str | None]:
    """A player's name, and the form in which it is compared."""
    name = text_of(text)
    same = "" if name is None else same_name(name)
    return (None, None) if same in _NOBODY or name == A_PLAYER else (name, same)


def same_name(name: str) -> str:
    """The form in which two names are compared: no case, accents, blanks, dots or word order."""
    plain = name.casefold()
    if not plain.isascii():
        plain = unicodedata.normalize("NFKD", plain).translate(_STROKES)
        plain = "".join(c for c in plain if not unicodedata.combining(c)).casefold()
    return "".join(sorted(_BETWEEN_WORDS.split(plain)))


_LONGEST_SHOWN = 40  # characters of a strange value in a remark
_HALF_POINTS = {"1-0": 2, "1/2-1/2": 1, "½-½": 1, "1/2": 1, "½": 1, "0-1": 0}


def _half_points(text: str | None) -> int | None:
    """A result as written (8.1.1.7) -> White's half-points; letter O counts as the digit."""
    plain = re.sub(r"\s", "", text or "").replace("O", "0").replace("–", "-")
    return _HALF_POINTS.get(plain)


def result_of(tag: str | None, token: str | None) -> tuple[int | None, str | None]:
    """Result tag and the token after the moves -> (White's half-points, remark).

    The half-points are 2, 1, 0, or None when unknown. The tag wins when both
    give a result; the remark says so whenever the two are not the same.
    """
    by_tag, by_token = _half_points(tag), _half_points(token)
    written = (text_of(tag or "") or "?")[:_LONGEST_SHOWN]
    if by_tag is not None:
        if by_tag == by_token:
            return by_tag, None
        ending = f"the moves end with {token}" if token else "no result stands after the moves"
        return by_tag, f"the Result tag says {written}, {ending}; the tag counts"
    if by_token is not None:
        if written == "?":
            return by_token, None
        return by_token, f"the Result tag says {written}, the moves end with {token}; that counts"
    if written in {"?", "*"}:
        return None, None
    return None, f"the Result tag says {written}, which is no result; taken as unknown"


_TERMINATIONS = frozenset(
    (
        "abandoned",
        "adjudication",
        "death",
        "emergency",
        "normal",
        "rules infraction",
        "time forfeit",
        "unterminated",
    )
)


def termination_of(text: str) -> str | None:
    """A Termination tag reduced to the values of 9.8.1: elsewhere it can carry names."""
    word = " ".join(text.lower().split())
    return word if word in _TERMINATIONS else None


_STANDARD_CHESS = frozenset(
    ("", "standard", "normal", "chess", "orthodox", "regular", "fromposition", "classical")
)
_CHESS960 = frozenset(("chess960", "fischerandom", "fischerrandom", "960", "frc"))


def variant_of(headers: Mapping[str, str]) -> str | None:
    """The name of the variant that a game is played by; None for standard chess."""
    variant = text_of(headers.get("Variant", "")) or ""
    plain = re.sub(r"[\W_]", "", variant.lower())
    if plain in _CHESS960:
        return "Chess960"
    if plain not in _STANDARD_CHESS:
        return variant[:_LONGEST_SHOWN]
    return "Chess960" if "FEN" in headers and _castles_as_960(headers["FEN"]) else None


@lru_cache(CACHED)
def _castles_as_960(fen: str) -> bool:
    """Whether the FEN's castling rights are possible in Chess960 only; a bad FEN is no variant."""
    try:
        return chess.Board(fen, chess960=True).has_chess960_castling_rights()
    except ValueError:
        return False


@dataclass(frozen=True, slots=True)
class Names:
    """The players of n games with one colour, each distinct spelling once."""

    of: NDArray[np.int64]  # (n,): which of the spellings below
    name: list[str | None]  # None: the tag names nobody
    same: list[str | None]  # same_name() of it

    def __len__(self) -> int:
        """The number of games."""
        return len(self.of)

    @property
    def given(self) -> NDArray[np.bool_]:
        """(n,): whether the tag names somebody."""
        named: NDArray[np.bool_] = np.array([name is not None for name in self.name], np.bool_)
        return named[self.of]

    def take(self, rows: NDArray[np.int64]) -> Names:
        """Those of some games."""
        return Names(self.of[rows], self.name, self.same)


@dataclass(frozen=True, slots=True)
class TagColumns:
    """The tags of n games, one value a game in each column.

    Texts are null where they are not given. In the arrays 0 stands for that, in
    ``played`` NaT. ``time_control`` is the tag as written.
    """

    white: Names
    black: Names
    white_rating: NDArray[np.uint16]
    black_rating: NDArray[np.uint16]
    played: NDArray[np.datetime64]  # datetime64[D]
    year: NDArray[np.uint16]
    month: NDArray[np.uint8]
    day: NDArray[np.uint8]
    event: pa.StringArray
    site: pa.StringArray
    round: pa.StringArray
    time_control: pa.StringArray
    pace: NDArray[np.uint8]
    termination: pa.StringArray

    def take(self, rows: NDArray[np.int64]) -> TagColumns:
        """The tags of some games, by row numbers."""
        return TagColumns(*(getattr(self, field.name).take(rows) for field in fields(self)))


# Distinct values are parsed once: few of them make up most of a column.
_cached_text = lru_cache(CACHED)(text_of)
_cached_name = lru_cache(CACHED)(named)
_cached_rating = lru_cache(CACHED)(lambda text: rating_of(text) or 0)
_cached_pace = lru_cache(CACHED)(lambda text: int(pace_of(text)))
_cached_termination = lru_cache(CACHED)(termination_of)
_NAT = np.datetime64("NaT", "D")


@lru_cache(CACHED)
def _cached_date(text: str) -> tuple[np.datetime64, int, int, int]:
    known = date_of(text)
    played = _NAT if known.played is None else np.datetime64(known.played, "D")
    return played, known.year or 0, known.month or 0, known.day or 0


def columns(
    headers: pa.Table, *, pace: Pace | None = None, unrated_as: int | None = None
) -> TagColumns:
    """The tags of a batch of games as columns, in the order of the games.

    ``headers`` has a column of text for each tag that is needed, as
    `headers.table_of` makes it. ``pace`` and ``unrated_as`` stand in where a game does
    not say its own.
    """

    def ratings(tag: str) -> NDArray[np.uint16]:
        of, values = _distinct(headers, tag, _cached_rating)
        known = np.array(values, np.uint16)[of]
        known[known == 0] = unrated_as or 0
        return known

    def names(tag: str) -> Names:
        of, values = _distinct(headers, tag, _cached_name)
        return Names(of, [name for name, _ in values], [same for _, same in values])

    def texts(tag: str, parse: Callable[[str], str | None] = _cached_text) -> pa.StringArray:
        of, values = _distinct(headers, tag, parse)
        return pa.array(values, pa.string()).take(pa.array(of))

    of, dates = _distinct(headers, "Date", _cached_date)
    played, year, month, day = zip(*dates, strict=True) if dates else ((),) * 4
    of_pace, values = _distinct(headers, "TimeControl", _cached_pace)
    paces = np.array(values, np.uint8)[of_pace]
    paces[paces == Pace.UNKNOWN] = pace or Pace.UNKNOWN
    return TagColumns(
        white=names("White"),
        black=names("Black"),
        white_rating=ratings("WhiteElo"),
        black_rating=ratings("BlackElo"),
        played=np.array(played, "datetime64[D]")[of],
        year=np.array(year, np.uint16)[of],
        month=np.array(month, np.uint8)[of],
        day=np.array(day, np.uint8)[of],
        event=texts("Event"),
        site=texts("Site"),
        round=texts("Round"),
        time_control=texts("TimeControl"),
        pace=paces,
        termination=texts("Termination", _cached_termination),
    )


def _distinct(
    headers: pa.Table, tag: str, parse: Callable[[str], T]
) -> tuple[NDArray[np.int64], list[T]]:
    """The distinct values of a tag, parsed, and which of them each game has; none is ""."""
    column = headers[tag].combine_chunks().fill_null("").dictionary_encode()
    of = column.indices.to_numpy().astype(np.int64)
    return of, [parse(text) for text in column.dictionary.to_pylist()]
