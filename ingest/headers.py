"""The tags of many games as columns of text, straight from where they stand.

Games whose tags each fill a line, as the PGN standard has them (8.1), are read by
array operations over all lines; the few others by a regular expression, game by game.
Tags that may be read in more than one way are not read here at all.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import pyarrow as pa
from numpy.typing import NDArray

from ingest.poskey import I64, U64

Flags = NDArray[np.bool_]

TAGS = (
    "Event",
    "Site",
    "Date",
    "Round",
    "White",
    "Black",
    "Result",
    "WhiteElo",
    "BlackElo",
    "TimeControl",
    "Termination",
    "FEN",
    "Variant",
)
# Written in any case; the fast reader takes every one of them.
_ANY_CASE = {"fen": "FEN", "setup": "SetUp", "variant": "Variant"}

_LONGEST_NAME = 24
_MARGIN = bytes(_LONGEST_NAME + 2)
_NAME = np.array([chr(byte).isalnum() or byte == ord("_") for byte in range(128)] + [False] * 128)
_BLANK = np.array([byte in b" \t\n\r\f\v" for byte in range(256)])
_FIRST_OF_MOVES = np.array([byte in b"{*" or bool(_NAME[byte]) for byte in range(256)])
_FIRST_OF_MOVES[ord("_")] = False
_BLANKS = 4  # between tags and moves
# The same with several tags on a line, or blanks around them.
_LAX = re.compile(rb'\s*+(?:\[[A-Za-z0-9_]++ "[^"\\\n]*+"\]\s*+)*+(?=[0-9A-Za-z{*]|\Z)')
_LAX_TAG = re.compile(rb'\[([A-Za-z0-9_]++) "([^"\\\n]*+)"\]')


def tag_name(name: str) -> str:
    """A tag's name as the PGN standard writes it, where another case changes how a game is read."""
    return _ANY_CASE.get(name.lower(), name)


def table_of(headers: Sequence[Mapping[str, str]]) -> pa.Table:
    """Tags by name, game by game -> a column of text a tag of TAGS, null where a game has none."""
    return pa.table(
        {tag: pa.array([tags.get(tag) for tags in headers], pa.large_string()) for tag in TAGS}
    )


@dataclass(frozen=True, slots=True)
class Heads:
    """The tags of those games that could be read: ``rows`` (rising) of the games given.

    ``tagged``: whether the game has any tag at all.
    """

    rows: I64
    table: pa.Table  # as `table_of` makes it
    tagged: Flags

    def take(self, places: I64) -> Heads:
        """Some of these games."""
        return Heads(self.rows[places], self.table.take(pa.array(places)), self.tagged[places])


def read_heads(text: bytes, starts: I64, ends: I64) -> Heads:
    """Read the tags of the games ``text[starts[i]:ends[i]]`` (UTF-8, in order, not empty).

    The latest of several tags of one name counts.
    """
    lines = _TagLines(text, starts, ends)
    rows = np.flatnonzero(lines.plain)
    tagged = lines.count[rows] > 0
    table = lines.table().take(pa.array(rows))
    others = np.flatnonzero(~lines.plain)
    read = [
        (row, tags) for row in others if (tags := _lax(text, starts[row], ends[row])) is not None
    ]
    if not read:
        return Heads(rows, table, tagged)
    more = np.array([row for row, _ in read])
    found = [tags for _, tags in read]
    order = np.argsort(np.concatenate([rows, more]))
    return Heads(
        np.concatenate([rows, more])[order],
        pa.concat_tables([table, table_of(found)]).take(pa.array(order)),
        np.concatenate([tagged, [bool(tags) for tags in found]])[order],
    )


def _lax(text: bytes, start: int, end: int) -> dict[str, str] | None:
    """A game's tags, None when they are not as they should be."""
    head = _LAX.match(text, start, end)
    if head is None:
        return None
    tags = {name.decode(): value.decode() for name, value in _LAX_TAG.findall(head[0])}
    odd = any(tag_name(name) != name for name in tags)
    return None if odd else tags


def strings_of(text: bytes, starts: I64, ends: I64) -> pa.LargeStringArray:
    """``text[starts[i]:ends[i]]`` (UTF-8, in order) as an array of strings."""
    # What lies between them are strings too, which are left out.
    bounds = pa.py_buffer(np.stack([starts, ends], axis=1))
    both = pa.LargeStringArray.from_buffers(max(2 * len(starts) - 1, 0), bounds, pa.py_buffer(text))
    return both.take(pa.array(np.arange(0, 2 * len(starts), 2)))


def _pattern(text: str) -> tuple[U64, U64]:
    """The first sixteen bytes of a text as two numbers, and which of their bits the text has."""
    raw = text.encode()
    return (
        np.frombuffer(raw.ljust(16, b"\0"), "<u8"),
        np.frombuffer((b"\xff" * len(raw)).ljust(16, b"\0"), "<u8"),
    )


_PATTERNS = [(name, *_pattern(f'{name} "')) for name in (*TAGS, "SetUp")]
_SMALL = np.uint64(0x2020202020202020)  # makes ASCII letters small


class _TagLines:
    """The lines with which the games begin, each a tag, one after the other without a gap.

    ``game`` is whose a line is, ``begins`` and ``ends`` where it stands, ``values`` what
    stands between the quotes. ``plain`` are the games whose lines are all as they
    should be, ``count`` is how many each has.
    """

    def __init__(self, text: bytes, starts: I64, ends: I64) -> None:
        self.starts = starts
        self.data = np.frombuffer(text + _MARGIN, np.uint8)
        self.plain: Flags = self._find(len(text), ends)
        self.count = np.bincount(self.game, minlength=len(starts))
        self.plain &= self._moves_follow(ends)
        self.tag, self.quotes = self._names()
        self.values = self._values(text)

    def _find(self, size: int, ends: I64) -> Flags:
        """Find the lines; which of the games begin with a line is the answer."""
        newlines = np.flatnonzero(self.data[:size] == ord("\n"))
        lines = np.concatenate(([0], newlines + 1))
        number = np.flatnonzero(self.data[lines] == ord("["))
        begins = lines[number]
        game = np.searchsorted(self.starts, begins, "right") - 1
        # Without a gap: as many lines behind the game's first as brackets.
        behind = np.arange(len(begins)) - np.searchsorted(begins, self.starts)[game]
        first = np.searchsorted(lines, self.starts)
        head = (game >= 0) & (number - first[game] == behind) & (begins < ends[game])
        self.game, self.begins = game[head], begins[head]
        self.ends = np.minimum(np.append(newlines, size)[number[head]], ends[self.game])
        with_a_line: Flags = np.append(lines, size)[first] == self.starts
        return with_a_line

    def _moves_follow(self, ends: I64) -> Flags:
        """Whether moves, or nothing, follow each game's tags."""
        at = self.starts.copy()
        at[self.game] = self.ends  # of lines of one game the last one counts
        for _ in range(_BLANKS):
            at += _BLANK[self.data[at]]
        follows: Flags = (at >= ends) | _FIRST_OF_MOVES[self.data[at]]
        return follows

    def _names(self) -> tuple[NDArray[np.int8], I64]:
        """Which of TAGS each line has, else some number outside, and where its first quote is."""
        eights = np.ndarray(len(self.data) - 7, "<u8", self.data, strides=(1,))
        one, two = eights[self.begins + 1], eights[self.begins + 9]
        tag = np.full(len(self.begins), -1, np.int8)
        quotes = np.zeros(len(self.begins), np.int64)
        for number, (name, bits, bits_read) in enumerate(_PATTERNS):
            differ = (one ^ bits[0]) & bits_read[0]
            if bits_read[1]:
                differ |= (two ^ bits[1]) & bits_read[1]
            found = np.flatnonzero(differ == 0)
            tag[found] = number
            quotes[found] = self.begins[found] + len(name) + 2
        others = np.flatnonzero(tag < 0)
        quotes[others] = self._other_names(others, one[others])
        return tag, quotes

    def _other_names(self, lines: I64, one: U64) -> I64:
        """The first quotes of lines with other tags; ``one`` is the eight bytes of their names."""
        begins, data = self.begins[lines] + 1, self.data
        at = begins.copy()
        for _ in range(_LONGEST_NAME):
            at += _NAME[data[at]]
        odd = (at == begins) | (data[at] != ord(" ")) | (data[at + 1] != ord('"'))
        for name in _ANY_CASE:
            (bits, _), (bits_read, _) = _pattern(name)
            odd |= (at - begins == len(name)) & ((one | _SMALL) & bits_read == bits)
        self.plain[self.game[lines[odd]]] = False
        quotes: I64 = at + 1
        return quotes

    def _values(self, text: bytes) -> pa.LargeStringArray:
        """What stands between the line's only two quotes."""
        first, behind = self.quotes + 1, self.ends - 2
        odd = (self.data[behind] != ord('"')) | (self.data[behind + 1] != ord("]"))
        odd |= behind < first
        behind = np.maximum(behind, first)
        values = strings_of(text, first, behind)
        _, offsets, inside = values.buffers()
        inside = np.frombuffer(inside, np.uint8)
        marks = np.flatnonzero((inside == ord('"')) | (inside == ord("\\")))
        odd[np.searchsorted(np.frombuffer(offsets, np.int64), marks, "right") - 1] = True
        self.plain[self.game[odd]] = False
        return values

    def table(self) -> pa.Table:
        """The tags of all games, plain or not."""
        columns = {}
        for number, tag in enumerate(TAGS):
            found = np.flatnonzero(self.tag == number)
            line = np.full(len(self.starts), -1)
            line[self.game[found]] = found  # of several the last one counts
            columns[tag] = self.values.take(pa.array(line, mask=line < 0))
        return pa.table(columns)
