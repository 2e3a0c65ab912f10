"""Where one game's text ends and the next begins: the exact rules, one game at a time.

`splitter` finds most games by a look at the whole block and asks here only where
something is unusual. Every rule looks at most LOOKAHEAD bytes beyond the place it
decides on, so that a stream may be cut anywhere without changing the answer.

The rules: a game begins at a tag, outside comments, that follows moves. A comment
that is not closed ends at the next tag section. A blank line within the moves begins
no game, unless the moves begin again at number 1 behind it. Behind a result, moves
begin a game without tags.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass

LOOKAHEAD = 8192
NONE = -1

_TAG = (
    rb'\[[ \t]{0,99}[A-Za-z][^"\[\]\n]{0,99}\s{0,99}'
    rb'"(?:[^"\\\n]|\\.){0,1000}"[ \t]{0,99}\]'
)  # fmt: skip
_FIRST_NUMBER = rb"1(?:[ \t]{0,9}\.(?![ \t]{0,9}\.)|[ \t]{1,9}[A-Za-z])"
_TAG_HERE = re.compile(_TAG)
_TAG_BEGINS = re.compile(rb"\[[ \t]{0,99}[A-Za-z]")
_BLANK = re.compile(rb"[\0- ]*")  # old files end with a control character
# Between tags stand leftovers of web pages; < and > are reserved (PGN standard 7).
_BETWEEN_TAGS = re.compile(rb"(?:[\0- ]|<[^>\n]{0,400}>)*")
_AGAIN = re.compile(rb"[ \t]{0,99}(?=" + _FIRST_NUMBER + rb")")
_INK = re.compile(rb"[^\0- ]")
# A tag line that every reader takes alike.
_PLAIN_TAG = re.compile(rb'\[[A-Za-z][A-Za-z0-9_]{0,23} "[^"\\\n]*"\](?:\n|\Z)')
_FRESH = re.compile(
    _FIRST_NUMBER + rb"|(?:[A-Z]?[a-h]?[1-8]?x?[a-h][1-8]|[O0]-[O0](?:-[O0])?)(?![\w/-])"
)
# A tag section inside a comment: it shows that the comment was never closed.
_SECTION = re.compile(
    rb'^\[Event[ \t]{1,99}"|^' + _TAG + rb"[ \t]{0,99}\n(?=" + _TAG + rb")", re.MULTILINE
)
_STEP = re.compile(
    rb"""
      (?P<comment> \{ )
    | (?P<odd> \} )
    | (?P<rest_of_line> ; | ^% )
    | (?P<left> \( )
    | (?P<right> \) )
    | (?P<tag> ^[ \t]{0,99}\[[ \t]{0,99}[A-Za-z] | """
    + _TAG
    + rb""" )
    | (?P<bracket> [\[<] )
    | (?P<result> (?<![^\s{}();]) (?:1-0|0-1|1/2-1/2|\xc2\xbd-\xc2\xbd|\*) (?![^\s{}();]) )
    | (?P<blank_line> \n{2,99} )
    """,
    re.VERBOSE | re.MULTILINE,
)


@dataclass(frozen=True, slots=True)
class Scanned:
    """What a scan found.

    ``next`` is where the next game begins, NONE when that is not within the
    text looked at. ``careful`` says that the reference reader must read the
    game. ``holds`` is False when it is nothing but comments and blanks.
    """

    next: int
    careful: bool
    holds: bool


def scan_game(text: bytes, at: int, stop: int) -> Scanned:
    """Look for the end of the game that begins at ``at`` > 0, up to ``stop``.

    ``text[at - 1]`` tells whether the game begins a line.
    """
    walk = _Walk(text, at, stop)
    return Scanned(walk.next_start(), walk.careful, walk.holds)


def blanks_end(text: bytes, at: int) -> int:
    """Where the blanks (and NUL bytes) that begin at ``at`` end."""
    blanks = _BLANK.match(text, at)
    return blanks.end() if blanks else at


def find_section(text: bytes, at: int) -> int:
    """The next sure tag section, whatever comments say, behind ``at``; NONE if there is none."""
    section = _SECTION.search(text, at)
    return section.start() if section else NONE


class _Walk:
    """The state of one scan: each step goes on at ``at``, or gives the next game's start."""

    __slots__ = ("at", "broken", "careful", "depth", "fresh", "holds", "moved", "stop", "text")

    def __init__(self, text: bytes, at: int, stop: int) -> None:
        self.text, self.at, self.stop = text, at, stop
        self.careful = self.holds = False
        self.moved = False  # anything but tags and comments was seen
        self.fresh = False  # behind a result, where moves begin a game
        self.depth = 0
        self.broken = False  # by a blank line, where the fast reader stops

    def next_start(self) -> int:
        start = self.tag_section()
        while start == NONE:
            step = _STEP.search(self.text, self.at, self.stop)
            start = self.gap(step.start() if step else self.stop)
            if not step:
                break
            if start == NONE:
                kind = step.lastgroup or ""
                self.careful |= self.broken and kind not in {"tag", "blank_line"}
                start = _STEPS[kind](self, step)
        return start

    def tag_section(self) -> int:
        """Pass over the tags at the beginning."""
        while True:
            between = self.at
            if blanks := _BETWEEN_TAGS.match(self.text, self.at, self.stop):
                self.at = blanks.end()
            if self.at >= self.stop:
                return NONE
            if self.text.startswith(b"%", self.at) and self.begins_line():
                self.to_line_end()
            elif _TAG_BEGINS.match(self.text, self.at, self.stop):
                blank_line = self.text.count(b"\n", between, self.at) > 1
                if self.holds and blank_line and self.text.startswith(b"[Event ", self.at):
                    return self.at
                self.holds = True
                self.one_tag()
            else:
                return NONE

    def one_tag(self) -> None:
        tag = _TAG_HERE.match(self.text, self.at, self.stop)
        if not tag:
            self.to_line_end()
            return
        if not (self.begins_line() and _PLAIN_TAG.match(self.text, self.at, self.stop)):
            self.careful = True
        self.at = tag.end()

    def gap(self, end: int) -> int:
        """Look at the text before the next step."""
        ink = _INK.search(self.text, self.at, end)
        if not ink:
            return NONE
        if self.fresh and _FRESH.match(self.text, ink.start(), self.stop):
            return ink.start()
        self.fresh, self.holds, self.moved = False, True, True
        self.careful |= self.broken
        return NONE

    def comment(self, step: re.Match[bytes]) -> int:
        closed = self.text.find(b"}", step.end(), self.stop)
        end = self.stop if closed < 0 else closed
        if self.text.find(b"\n[", step.end(), end) >= 0:
            section = _SECTION.search(self.text, step.end(), min(self.stop, end + LOOKAHEAD))
            if section and section.start() < end:
                self.careful = True
                return section.start()
        if closed < 0 or self.text.find(b"{", step.end(), end) >= 0:
            self.careful = True
        self.at = end if closed < 0 else end + 1
        return NONE

    def tag(self, step: re.Match[bytes]) -> int:
        return self.text.index(b"[", step.start())

    def result(self, step: re.Match[bytes]) -> int:
        self.at = step.end()
        self.holds = self.moved = True
        self.fresh = self.depth == 0
        return NONE

    def blank_line(self, step: re.Match[bytes]) -> int:
        self.at = step.end()
        again = _AGAIN.match(self.text, self.at, self.stop)
        if again and self.moved and self.depth == 0:
            return again.end()
        self.broken = True
        return NONE

    def rest_of_line(self, step: re.Match[bytes]) -> int:
        self.at = step.start()
        self.to_line_end()
        return NONE

    def left(self, step: re.Match[bytes]) -> int:
        self.depth += 1
        self.fresh = False
        self.at = step.end()
        return NONE

    def right(self, step: re.Match[bytes]) -> int:
        self.depth = max(0, self.depth - 1)
        self.at = step.end()
        return NONE

    def odd(self, step: re.Match[bytes]) -> int:
        self.careful = True
        self.at = step.end()
        return NONE

    def begins_line(self) -> bool:
        return self.text.startswith(b"\n", self.at - 1)

    def to_line_end(self) -> None:
        """Pass over a line that only the reference reader takes right."""
        self.careful = True
        end = self.text.find(b"\n", self.at, self.stop)
        self.at = self.stop if end < 0 else end


_STEPS: dict[str, Callable[[_Walk, re.Match[bytes]], int]] = {
    "comment": _Walk.comment,
    "odd": _Walk.odd,
    "bracket": _Walk.odd,
    "rest_of_line": _Walk.rest_of_line,
    "left": _Walk.left,
    "right": _Walk.right,
    "tag": _Walk.tag,
    "result": _Walk.result,
    "blank_line": _Walk.blank_line,
}
