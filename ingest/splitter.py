"""A stream of bytes -> the texts of its games, in blocks, in bounded memory.

Most games look as the PGN standard wants them; for those a few array operations
over the whole block find where each begins and prove that it needs no closer look.
Any other game is walked through by `gamescan`, whose rules are the definition; the
fast look only ever agrees with it (a property test holds the two together).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from ingest.cleantext import CleanText
from ingest.gamescan import LOOKAHEAD, NONE, blanks_end, find_section, scan_game
from ingest.survey import Survey, survey

BLOCK_BYTES = 4 << 20
MAX_GAME_BYTES = 4 << 20
"""The longest game text that is read; a longer one is rejected and passed over."""
EXCERPT_BYTES = 1000
BLANK = bytes(range(33))  # blanks and control characters


@dataclass(frozen=True, slots=True)
class Block:
    """Some games that follow one another in a file.

    Game i is ``text[starts[i]:ends[i]]``, valid UTF-8, lines end in a line
    feed, no blanks at either end. ``lines`` holds the number of the line it
    begins on, ``first_number`` the number of game 0 in the file, both from 1.
    ``careful[i]``: the reference reader must read it, the fast one might
    misread it. ``faults`` names the games that are rejected as they are, and why.
    ``encoding`` and ``bytes_done`` are those of the file up to here.
    """

    text: bytes
    starts: NDArray[np.int64]
    ends: NDArray[np.int64]
    lines: NDArray[np.int64]
    first_number: int
    careful: NDArray[np.bool_]
    faults: dict[int, str]
    encoding: str
    bytes_done: int


def split(
    chunks: Iterable[bytes],
    *,
    block_bytes: int = BLOCK_BYTES,
    max_game_bytes: int = MAX_GAME_BYTES,
) -> Iterator[Block]:
    """A file's bytes, cut anywhere -> its games in order, about ``block_bytes`` a block.

    How the bytes are cut and the size of a block do not change the games.
    Holds at most a block, a chunk and ``max_game_bytes`` at a time.
    """
    clean = CleanText()
    text = _Text(max_game_bytes)
    done = 0
    for chunk in chunks:
        done += len(chunk)
        text.add(clean.feed(chunk))
        if text.waiting >= block_bytes:
            yield from text.take(clean.encoding, done)
    text.add(clean.feed(b"", final=True))
    yield from text.take(clean.encoding, done, final=True)


@dataclass(slots=True)
class _Games:
    """The games found in the text at hand, as they are found."""

    starts: list[int] = field(default_factory=list)
    ends: list[int] = field(default_factory=list)
    careful: list[bool] = field(default_factory=list)
    faults: dict[int, str] = field(default_factory=dict)

    def add(self, start: int, end: int, careful: bool) -> None:
        self.starts.append(start)
        self.ends.append(end)
        self.careful.append(careful)

    def add_plain(self, view: Survey, first: int, behind: int) -> None:
        self.starts += view.starts[first:behind].tolist()
        self.ends += view.ends[first:behind].tolist()
        self.careful += [False] * (behind - first)


class _Text:
    """The text at hand: from the first game that is not handed on yet.

    Its first byte is the one before that game, so that every rule can see
    whether the game begins a line.
    """

    def __init__(self, max_game_bytes: int) -> None:
        self.max = max_game_bytes
        self.parts = [b"\n"]
        self.waiting = 0  # bytes added since the last look
        self.line = 1  # of the byte behind the first
        self.number = 1  # of the next game
        self.passing_over = False  # in a game that is too long

    def add(self, text: bytes) -> None:
        self.parts.append(text)
        self.waiting += len(text)

    def take(self, encoding: str, done: int, *, final: bool = False) -> Iterator[Block]:
        """The games that are whole, as one block, if there are any."""
        text = b"".join(self.parts)
        view = survey(text, self.max)
        games = _Games()
        at = self._find(text, view, games, final)
        newlines = view.newlines
        skipped = int(np.searchsorted(newlines, 1))
        starts = np.array(games.starts, np.int64)
        ends = np.array(games.ends, np.int64)
        lines = np.searchsorted(newlines, starts) - skipped + self.line
        self.line += int(np.searchsorted(newlines, at)) - skipped
        # Of the byte before, all that matters is what it is not: a blank or a bracket.
        self.parts = [text[at - 1 : at] if text[at - 1] < 0x80 else b"?", text[at:]]
        self.waiting = 0
        if not games.starts:
            return
        careful = np.array(games.careful, np.bool_)
        faults = _nul_bytes(text, starts, ends) | games.faults
        yield Block(text, starts, ends, lines, self.number, careful, faults, encoding, done)
        self.number += len(starts)

    def _find(self, text: bytes, view: Survey, games: _Games, final: bool) -> int:
        """Find the whole games; returns where the rest begins."""
        size, at = len(text), 1
        # A start is sure when what lies LOOKAHEAD behind it is known.
        sure = size if final else size - LOOKAHEAD
        if self.passing_over:
            at = self._pass_over(text, at, sure)
        while not self.passing_over:
            at = blanks_end(text, at)
            at = self._plain_run(view, games, at, size, sure)
            if at == size:
                break
            limit = at + self.max
            scanned = scan_game(text, at, min(size, limit + LOOKAHEAD))
            following = scanned.next
            if limit < sure and not at < following <= limit:
                games.faults[len(games.starts)] = f"its text is longer than {self.max:,} bytes"
                games.add(at, _character_start(text, at + min(self.max, EXCERPT_BYTES)), True)
                at = self._pass_over(text, limit, sure)
                continue
            if following == NONE and final:
                following = size
            if following == NONE or following > sure:
                break
            if scanned.holds:
                games.add(at, at + len(text[at:following].rstrip(BLANK)), scanned.careful)
            at = following
        return at

    def _plain_run(self, view: Survey, games: _Games, at: int, size: int, sure: int) -> int:
        """Take plain games as long as they come; returns where the next one begins."""
        first = int(np.searchsorted(view.starts, at))
        if first == len(view.starts) or view.starts[first] != at:
            return at
        bounds = np.append(view.starts, size)
        odd = np.searchsorted(view.unplain, first)
        behind = int(view.unplain[odd]) if odd < len(view.unplain) else len(view.starts)
        behind = min(behind, int(np.searchsorted(bounds, sure, "right")) - 1)
        if behind <= first:
            return at
        games.add_plain(view, first, behind)
        return int(bounds[behind])

    def _pass_over(self, text: bytes, at: int, sure: int) -> int:
        """Look for the tag section behind a game that is too long."""
        start = find_section(text, at)
        self.passing_over = not at <= start <= sure
        if not self.passing_over:
            return start
        return _character_start(text, max(at, min(sure, len(text))))


def _character_start(text: bytes, at: int) -> int:
    """``at``, or the nearest place before it where a character of UTF-8 begins."""
    while at < len(text) and text[at] & 0xC0 == 0x80:
        at -= 1
    return at


def _nul_bytes(text: bytes, starts: NDArray[np.int64], ends: NDArray[np.int64]) -> dict[int, str]:
    if b"\0" not in text:
        return {}
    nuls = np.flatnonzero(np.frombuffer(text, np.uint8) == 0)
    holding = np.flatnonzero(np.searchsorted(nuls, starts) < np.searchsorted(nuls, ends))
    return {int(game): "NUL bytes stand in its text: the file is damaged there" for game in holding}
