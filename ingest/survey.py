"""One look at a whole block of text: where games may begin, and which of them are plain.

A stretch is plain when nothing in it can make `gamescan` decide otherwise than
"one game, up to the next tag section, which any reader takes alike". Array
operations over the few characters that matter; no loop over lines or games.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Places = NDArray[np.int64]
Flags = NDArray[np.bool_]

_LOUD = bytes(byte in b'\n"[{}*-;<\\' for byte in range(256))
_NAME = np.array([chr(byte).isalnum() or byte == ord("_") for byte in range(128)] + [False] * 128)
_LETTER = np.array([chr(byte).isalpha() for byte in range(128)] + [False] * 128)
_LONGEST_NAME = 24
_LONGEST_VALUE = 1000  # of a tag; as in gamescan
_BLANKS = bytes(range(33))


@dataclass(frozen=True, slots=True)
class Survey:
    """Stretch k is ``text[starts[k]:starts[k + 1]]``, the last one runs to the end.

    ``ends`` are the stretches' ends without blanks. ``unplain`` are the
    numbers of those that need a walk, ``newlines`` the places of line feeds.
    """

    starts: Places
    ends: Places
    unplain: Places
    newlines: Places


class _Marks:
    """The characters that matter in a block, and where they stand."""

    def __init__(self, text: bytes) -> None:
        self.size = len(text)
        # A margin, so that looking a little past the end needs no care.
        self.bytes = np.frombuffer(text + bytes(_LONGEST_NAME + 2), np.uint8)
        loud = np.frombuffer(text.translate(_LOUD), np.bool_)
        self.places: Places = np.flatnonzero(loud)
        self.kinds = self.bytes[self.places]
        self.newlines = self.of("\n")

    def of(self, characters: str) -> Places:
        """The places of these characters, rising."""
        chosen = self.kinds == ord(characters[0])
        for character in characters[1:]:
            chosen |= self.kinds == ord(character)
        places: Places = self.places[chosen]
        return places


class _Sections:
    """The tag sections: the lines that begin with ``[`` and a letter, those that stand together."""

    def __init__(self, marks: _Marks, text: bytes) -> None:
        # The block begins with the character before its first line.
        lines = marks.newlines + 1
        tags = (marks.bytes[lines] == ord("[")) & _LETTER[marks.bytes[lines + 1]]
        line_ends = np.append(marks.newlines[1:], marks.size)
        self.begins: Places = lines[tags]
        self.line_ends: Places = line_ends[tags]
        first = np.ones(len(self.begins), np.bool_)
        first[1:] = self.begins[1:] != self.line_ends[:-1] + 1
        for tag in np.flatnonzero(first[1:] & ~self._ink_follows(marks)) + 1:
            first[tag] = self._parts(text, self.line_ends[tag - 1], self.begins[tag])
        self.first: Places = np.flatnonzero(first)
        self.starts: Places = self.begins[self.first]
        last = np.append(self.first[1:], len(self.begins)) - 1
        self.header_ends: Places = self.line_ends[last] if len(self.begins) else self.begins

    def _ink_follows(self, marks: _Marks) -> Flags:
        """Whether moves stand on one of the two lines below each tag but the last."""
        end, following = self.line_ends[:-1], self.begins[1:]
        return (marks.bytes[end + 1] > 32) | ((marks.bytes[end + 2] > 32) & (end + 2 < following))

    def _parts(self, text: bytes, end: int, following: int) -> bool:
        """Whether a tag behind another one, but not right below it, begins a game."""
        between = text[end:following].strip(_BLANKS)
        return bool(between) or text.startswith(b"[Event ", following)


def survey(text: bytes, longest: int) -> Survey:
    """Survey a block; ``text[0]`` is the character before its first game.

    A stretch of more than ``longest`` bytes is not plain.
    """
    marks = _Marks(text)
    sections = _Sections(marks, text)
    bounds = np.append(sections.starts, marks.size)
    ends = _trimmed(text, marks.bytes, bounds)
    check = _Check(marks, sections, bounds, ends)
    check.plain &= np.diff(bounds) <= longest
    check.tags()
    check.comments()
    check.results()
    check.lines()
    return Survey(sections.starts, ends, np.flatnonzero(~check.plain), marks.newlines)


def _trimmed(text: bytes, data: NDArray[np.uint8], bounds: Places) -> Places:
    """The ends of the stretches, without the blanks there."""
    ends = bounds[1:].copy()
    for _ in range(4):
        ends -= data[ends - 1] <= 32
    for k in np.flatnonzero(data[ends - 1] <= 32):
        ends[k] = bounds[k] + len(text[bounds[k] : ends[k]].rstrip(bytes(range(33))))
    return ends


class _Check:
    """Finds the stretches that are not plain."""

    def __init__(self, marks: _Marks, sections: _Sections, bounds: Places, ends: Places) -> None:
        self.marks, self.sections, self.bounds, self.ends = marks, sections, bounds, ends
        self.plain: Flags = np.ones(len(ends), np.bool_)
        self.braces = marks.of("{}")
        self.opens: Flags = marks.bytes[self.braces] == ord("{")

    def spoil(self, places: Places) -> None:
        """The stretches that hold these places are not plain."""
        stretch = np.searchsorted(self.bounds, places, "right") - 1
        self.plain[stretch[(stretch >= 0) & (stretch < len(self.plain))]] = False

    def in_moves(self, places: Places) -> Places:
        """Those of the places that lie behind a tag section."""
        stretch = np.searchsorted(self.bounds, places, "right") - 1
        known = stretch >= 0
        places, stretch = places[known], stretch[known]
        return places[places > self.sections.header_ends[stretch]]

    def outside_comments(self, places: Places) -> Places:
        """Those of the places that no opening brace of their own stretch goes before."""
        if not len(self.braces):
            return places
        before = np.searchsorted(self.braces, places) - 1
        begin = self.bounds[np.searchsorted(self.bounds, places, "right") - 1]
        return places[(before < 0) | (self.braces[before] < begin) | ~self.opens[before]]

    def tags(self) -> None:
        """Each tag line is a name, a blank and a value in the line's only two quotes."""
        begins, ends = self.sections.begins, self.sections.line_ends
        quotes = np.append(self.marks.of('"'), [self.marks.size] * 2)
        quote = np.searchsorted(quotes, begins)
        opening, closing = quotes[quote], quotes[np.minimum(quote + 1, len(quotes) - 1)]
        data = self.marks.bytes
        odd = (closing != ends - 2) | (data[ends - 1] != ord("]")) | (data[opening - 1] != 32)
        length = opening - 2 - begins
        odd |= (length > _LONGEST_NAME) | (closing - opening > _LONGEST_VALUE + 1)
        for letter in range(1, min(int(length.max(initial=0)), _LONGEST_NAME)):
            odd |= ~_NAME[data[begins + 1 + letter]] & (letter < length)
        self.spoil(begins[odd])
        self.spoil(self.marks.of("\\"))

    def comments(self) -> None:
        """Braces come in pairs, behind the tags; nothing outside them begins a comment or a tag."""
        braces, opens = self.braces, self.opens
        low, high = (
            np.searchsorted(braces, self.bounds[:-1]),
            np.searchsorted(braces, self.bounds[1:]),
        )
        some = high > low
        first, last = low[some], high[some] - 1
        odd = ~opens[first] | opens[last] | (braces[first] < self.sections.header_ends[some])
        self.plain[np.flatnonzero(some)[odd]] = False
        self.spoil(braces[1:][opens[1:] == opens[:-1]])
        self.spoil(self.outside_comments(self.in_moves(self.marks.of(";[<"))))

    def results(self) -> None:
        """At most one thing looks like a result, and it stands at the end."""
        data = self.marks.bytes
        dashes = self.marks.of("-")
        before, behind = data[dashes - 1], data[dashes + 1]
        score = (before == ord("1")) & (behind == ord("0")) | (before == 0xBD)
        score |= ((before == ord("0")) | (before == ord("2"))) & (behind == ord("1"))
        stars = self.marks.of("*")
        found = self.in_moves(np.sort(np.concatenate([dashes[score], stars])))
        stretch = np.searchsorted(self.bounds, found, "right") - 1
        room = np.where(data[found] == ord("*"), 1, 4)
        self.plain[stretch[self.ends[stretch] - found > room]] = False
        self.plain[stretch[1:][stretch[1:] == stretch[:-1]]] = False

    def lines(self) -> None:
        """No escape line, and no blank line within the moves."""
        newlines, data = self.marks.newlines, self.marks.bytes
        self.spoil(newlines[data[newlines + 1] == ord("%")] + 1)
        blank = self.in_moves(newlines[data[newlines + 1] == ord("\n")])
        blank = self.outside_comments(blank)
        stretch = np.searchsorted(self.bounds, blank, "right") - 1
        self.spoil(blank[blank + 1 < self.ends[stretch]])
