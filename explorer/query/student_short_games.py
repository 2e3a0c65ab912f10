"""A student's shortest decisive games, with the moment at which each turned."""

from __future__ import annotations

from dataclasses import replace
from itertools import islice

import numpy as np
from duckdb import DuckDBPyConnection

from explorer.query.games import rows_at
from explorer.query.model import GameRow
from explorer.query.student_games import MOST_POINTS, OwnGames
from explorer.query.student_lines import Lines
from explorer.query.student_model import ShortGame
from explorer.query.visits import NOT_KNOWN
from explorer.query.where import COLOURS

SHOWN = 3
LONGEST = 25  # moves; a longer game is not short
TELLING_LOSS = 3  # pawns: a piece


def short_games(
    cursor: DuckDBPyConnection, games: OwnGames, lines: Lines, name: str, won: bool
) -> tuple[ShortGame, ...]:
    """The shortest games that the student won, or lost; of equals the newest first.

    Only those of which something tells when they turned: a game given up after two moves does not.
    """
    points = MOST_POINTS if won else 0
    short = (games.plies > 0) & (games.plies <= 2 * LONGEST) & ~games.cut_short
    rows = np.flatnonzero(short & games.normal & (games.points == points))
    rows = rows[np.lexsort((-rows, games.plies[rows]))]
    turns = ((row, _turn(games, row, won)) for row in rows.tolist())
    shown = list(islice(((row, turn) for row, turn in turns if turn), SHOWN))
    found = rows_at(cursor, [(int(games.id[row]), 0, 0) for row, _ in shown])
    return tuple(
        _told(games, lines, row, _renamed(games, row, one, name), won, *turn)
        for (row, turn), one in zip(shown, found, strict=True)
    )


def _renamed(games: OwnGames, row: int, found: GameRow, name: str) -> GameRow:
    """The student in one spelling, so that the name is hidden where it must be."""
    return replace(found, white=name) if games.white[row] else replace(found, black=name)


def _told(
    games: OwnGames,
    lines: Lines,
    row: int,
    found: GameRow,
    won: bool,
    ply: int,
    swing: float | None,
) -> ShortGame:
    side = COLOURS[0] if games.white[row] else COLOURS[1]
    moves = tuple(games.moves[row, : ply + 1].tolist())
    stop = lines.at(moves[:ply])
    return ShortGame(won, side, found, ply, stop.line, stop.fen, stop.san(moves[ply]), swing)


def _turn(games: OwnGames, row: int, won: bool) -> tuple[int, float | None] | None:
    """The ply of the loser's move that lost most, with its swing; before a mate without
    losses the loser's last move. None where nothing tells."""
    visits, loser_white = games.visits, bool(games.white[row]) != won
    here = (visits.game == row) & (visits.move != 0) & ((visits.ply % 2 == 0) == loser_white)
    known = np.flatnonzero(here & (visits.swing != NOT_KNOWN))
    if len(known):
        # Of moves before one and the same loss the last, which is the nearest to it.
        swings = visits.swing[known]
        worst = known[int(np.flatnonzero(swings == swings.min())[-1])]
        if visits.swing[worst] <= -TELLING_LOSS:
            return int(visits.ply[worst]), float(visits.swing[worst])
    plies = int(games.plies[row])
    mated = games.mate[row] and (plies % 2 == 0) == loser_white  # a result may say otherwise
    return (plies - 2, None) if mated and plies > 1 else None
