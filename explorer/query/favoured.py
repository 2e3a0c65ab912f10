"""The move that the numbers favour: the one rule for what to play, and to teach, instead."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from typing import Any, TypeAlias

import chess
import numpy as np
from duckdb import DuckDBPyConnection
from numpy.typing import NDArray

from explorer.numbers.discovery import FEWEST_GAMES, FEWEST_PLAYERS, POINTS
from explorer.numbers.expectation import PARTS
from explorer.numbers.welch import welch
from explorer.query.filters import Filters
from explorer.query.lesson_model import Favoured
from explorer.query.lesson_shares import visits_at_all
from explorer.query.library import Facts
from explorer.query.mistake_model import ALL_LEVELS
from explorer.query.moves import unpack
from explorer.query.pairs import PLAYER
from explorer.query.subtree import curves_of, expected_of
from explorer.query.sums import Sums, at, sums_of
from explorer.query.where import where
from ingest.levels import Level

Results: TypeAlias = Mapping[str, NDArray[Any]]  # columns

WORSE = 0.05  # one-sided p at which a move is called worse than the best


def favoured_row(sums: Sums, among: NDArray[np.bool_]) -> int | None:
    """The row of the commonest move that is not significantly worse than the best.

    ``among`` marks the moves at one position that may be chosen; of these only those with enough
    games and players, in all and with results to compare, can be. None when there is none.
    """
    results = sums.results.reply
    candidates = np.flatnonzero(among & enough(sums))
    if not len(candidates):
        return None
    mean = np.asarray(results.total)[candidates] / np.asarray(results.n)[candidates]
    best = candidates[int(mean.argmax())]
    test = welch(at(results, candidates), at(results, best), POINTS)
    good = candidates[(test.p_less >= WORSE) | (candidates == best)]
    return int(good[int(sums.games[good].argmax())])


def enough(sums: Sums) -> NDArray[np.bool_]:
    """Which moves have enough games and players, in all and with results to compare."""
    results = sums.results.reply
    games, players = np.minimum(sums.games, results.n), np.minimum(sums.players, results.clusters)
    return np.asarray((games >= FEWEST_GAMES) & (players >= FEWEST_PLAYERS))


def favoured_at(
    cursor: DuckDBPyConnection,
    facts: Facts,
    boards: Mapping[int, chess.Board],
    filters: Filters,
    never: Mapping[int, Collection[int]] | None = None,
) -> dict[int, Favoured | None]:
    """The favoured move at each position, by key; None where no move has enough games.

    ``boards`` are positions of one side to move, by key. ``filters.levels`` are those of that
    side. ``never`` has packed moves that may not be chosen, by key.
    """
    keys = list(boards)
    sums = moves_at(cursor, facts, keys, filters, white=_whites_turn(boards))
    found: dict[int, Favoured | None] = {}
    for number, (key, board) in enumerate(boards.items()):
        shut_out = list((never or {}).get(key, ()))
        row = favoured_row(sums, (sums.number == number) & ~np.isin(sums.move, shut_out))
        found[key] = None if row is None else _favoured(sums, row, board, filters.levels)
    return found


def _whites_turn(boards: Mapping[int, chess.Board]) -> bool:
    return any(board.turn for board in boards.values())


def _favoured(sums: Sums, row: int, board: chess.Board, levels: Sequence[Level]) -> Favoured:
    move = unpack(int(sums.move[row]))
    return Favoured(
        san=board.san(move),
        uci=move.uci(),
        games=int(sums.games[row]),
        players=int(sums.players[row]),
        share=float(sums.games[row] / sums.went_on[row]),
        over_expected=sums.mean(row),
        level=label_of(levels),
    )


def label_of(levels: Sequence[Level]) -> str:
    """``800-999 or unrated``; ``all levels`` for none."""
    return " or ".join(level.label for level in levels) or ALL_LEVELS


def moves_at(
    cursor: DuckDBPyConnection, facts: Facts, keys: Sequence[int], filters: Filters, *, white: bool
) -> Sums:
    """The moves of one side at positions, with score minus expected score.

    Positions are numbered in the order of ``keys``.
    """
    return moves_of(results_at(cursor, facts, keys, filters, white=white))


def moves_of(results: Results) -> Sums:
    """The sums over rows of `results_at`."""
    return sums_of([results], measures=["over"])


def results_at(
    cursor: DuckDBPyConnection, facts: Facts, keys: Sequence[int], filters: Filters, *, white: bool
) -> Results:
    """The same visit by visit, with the mover's rating."""
    chosen = where(cursor, facts, filters)
    here = visits_at_all(
        cursor,
        keys,
        "move, mover_id, game_id, mover_rating, opponent_rating, half_points, mated",
        chosen.sql,
    )
    sql = f"""
        SELECT number, move, {PLAYER} AS player, mated, mover_rating AS rating,
            {PARTS // 2} * half_points::INTEGER - {expected_of(str(white).upper())} AS over
        FROM (SELECT $white::INTEGER[] AS white_curve, $black::INTEGER[] AS black_curve), ({here})
    """
    return cursor.execute(sql, {**curves_of(facts), **chosen.params}).fetchnumpy()
