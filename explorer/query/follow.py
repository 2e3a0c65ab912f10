"""The commonest replies, followed down: one answer per position on the way."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress

from explorer.positions.position import Position
from explorer.query.filters import Filters
from explorer.query.library import Library
from explorer.query.model import FEW_GAMES, RepliesAnswer
from explorer.query.replies import replies
from ingest.errors import NothingFound

# How many replies are followed at each step down; one from the third on.
BRANCHES = (3, 2)


def follow(
    library: Library, position: Position, filters: Filters, moves: int
) -> tuple[RepliesAnswer, ...]:
    """The answer at the position, then those after its commonest replies, ``moves`` replies deep.

    Depth first, commonest first. A reply is followed when at least
    ``FEW_GAMES`` of the chosen games have it; a position that two lines reach
    is shown once. The level filters speak of the player to move, so below the
    first position they hold for whoever moves there; a line ends where none of
    the chosen games is left, or where the library's games end.
    """
    return tuple(_below(library, position, filters, moves, 0, set()))


def _below(
    library: Library, position: Position, filters: Filters, moves: int, depth: int, seen: set[int]
) -> Iterator[RepliesAnswer]:
    seen.add(position.key)
    answer = replies(library, position, filters)
    yield answer
    if depth == moves:
        return
    branches = BRANCHES[depth] if depth < len(BRANCHES) else 1
    for reply in answer.replies[:branches]:
        after = position.after(reply.uci)
        if reply.games >= FEW_GAMES and after.key not in seen:
            with suppress(NothingFound):
                yield from _below(library, after, filters, moves, depth + 1, seen)
