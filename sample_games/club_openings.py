"""What the invented players play in the opening, by level: an invented table.

Each row is a line and the replies to it; each reply has its percentage at
the strengths 600, 1000, 1400 and 1800 (straight lines between, flat outside).
What is missing to 100 the player finds alone, never choosing a move of the
row. ``?`` after a move marks a planted mistake, ``!`` the move that punishes
one. Rows are found by position, so that move orders flow together.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence, Set
from dataclasses import dataclass
from functools import cache
from random import Random
from zlib import crc32

import chess
from club_lines import TABLE
from club_player import on_lines

ANCHORS = (600, 1000, 1400, 1800)
# How often a player keeps to a favourite reply, by the ply it is played at.
LOYALTY = (0.8, 0.8, 0.7, 0.6, 0.5, 0.5)


@dataclass(frozen=True, slots=True)
class Reply:
    """One reply of a row, with its percentages at the ANCHORS."""

    san: str
    uci: str
    mark: str  # "?" a planted mistake, "!" what punishes one, or nothing
    percent: tuple[float, ...]

    def rate(self, strength: float) -> float:
        """The share (0 to 1) at a strength."""
        return on_lines(ANCHORS, self.percent, strength) / 100


def board_after(line: str) -> chess.Board:
    """The board after SAN moves with blanks between them."""
    board = chess.Board()
    for san in line.split():
        board.push_san(san)
    return board


@cache
def rows() -> dict[str, tuple[Reply, ...]]:
    """EPD of the position -> its replies; the first row for a position holds."""
    table: dict[str, tuple[Reply, ...]] = {}
    for entry in TABLE.strip().replace("\n    ", " ").splitlines():
        if entry:
            line, replies = entry.split(" : ")
            board = board_after("" if line == "*" else line)
            if table.setdefault(board.epd(), _replies(board, replies)) is not table[board.epd()]:
                raise ValueError(f"two rows for the position after {line}")
    return table


def _replies(board: chess.Board, text: str) -> tuple[Reply, ...]:
    """``e5 68 56 43 36, g6? 12 6 1.2 .1`` -> replies."""
    replies = []
    for part in text.split(","):
        san, *percent = part.split()
        mark = san[-1] if san[-1] in "?!" else ""
        move = board.parse_san(san.rstrip("?!"))
        replies.append(Reply(san.rstrip("?!"), move.uci(), mark, tuple(map(float, percent))))
    return tuple(replies)


def rate(line: str, san: str, strength: float) -> float:
    """The planted share of a reply at a strength."""
    for reply in rows()[board_after(line).epd()]:
        if reply.san == san:
            return reply.rate(strength)
    raise KeyError(f"no reply {san} planted after {line!r}")


def draw(
    epd: str, ply: int, strength: float, taste: int, rng: Random, without: Set[str]
) -> Reply | None:
    """The reply that a player picks at a position of the table; None: thinks alone.

    Mistakes and their punishments are drawn afresh each time; among the rest
    a player of some ``taste`` (a whole number, one a player) keeps to a
    favourite as often as LOYALTY says, so that one player's games cluster
    while the shares of a level stay those of the table.
    """
    replies = [reply for reply in rows().get(epd, ()) if reply.san not in without]
    fresh = rng.random()
    picked = _pick(replies, fresh, strength)
    if picked is not None and picked.mark:
        return picked
    plain = [reply for reply in replies if not reply.mark]
    if not plain or rng.random() >= LOYALTY[min(ply, len(LOYALTY) - 1)]:
        return picked
    marked = sum_of(reply.rate(strength) for reply in replies if reply.mark)
    favourite = Random(taste * 2**32 + crc32(epd.encode())).random() * (1 - marked)
    return _pick(plain, favourite, strength)


def _pick(replies: Sequence[Reply], point: float, strength: float) -> Reply | None:
    """The reply whose stretch of the line from 0 to 1 holds the point."""
    for reply in replies:
        point -= reply.rate(strength)
        if point < 0:
            return reply
    return None


def sum_of(values: Iterable[float]) -> float:
    """A sum from left to right (the built-in one rounds otherwise since Python 3.12)."""
    total = 0.0
    for value in values:
        total += value
    return total
