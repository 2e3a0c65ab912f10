"""Example games of a mistake: the shortest decisive ones in which it was made and play went on."""

from __future__ import annotations

from dataclasses import replace

from explorer.positions.position import Position
from explorer.query.filters import Filters
from explorer.query.games import games
from explorer.query.library import Library
from explorer.query.model import GameRow, GamesAnswer
from ingest.errors import NothingFound

SHOWN = 4
LONGEST = 100  # moves; longer games are no examples of an opening mistake
SPARE = 20  # for games that reach the position by another move


def examples(
    library: Library, line: Position, filters: Filters, top: int = SHOWN
) -> GamesAnswer | None:
    """The games in which the last move of ``line`` was played, at most ``top``; None for none.

    ``filters.levels`` speak of the player who made that move.
    """
    # Seen from the position after the mistake, who errs is the opponent.
    turned = replace(filters, levels=filters.opponents, opponents=filters.levels, top=top + SPARE)
    try:
        found = games(library, line, turned, sort="length", at_most_moves=LONGEST)
    except NothingFound:
        return None
    rows = tuple(row for row in found.rows if _made(row, line.ucis[-1]))[:top]
    return replace(found, filters=filters, rows=rows) if rows else None


def _made(row: GameRow, uci: str) -> bool:
    """Whether the move was played, and something came after it that a class can look at."""
    return 0 < row.ply_here < len(row.ucis) and row.ucis[row.ply_here - 1] == uci
