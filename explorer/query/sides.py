"""Whole games from the normal start as arrays, some thousand at a time: never all at once.

For questions about what players do in general, which no position holds.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
import pyarrow as pa
from duckdb import DuckDBPyConnection
from numpy.typing import NDArray

from explorer.query.filters import Filters
from explorer.query.library import Facts
from explorer.query.model import Source
from explorer.query.origin import NO_GAMES_YET
from explorer.query.visits import NOT_KNOWN, Flags, Ints
from explorer.query.where import COLOURS, Where, side_chosen
from ingest.errors import NothingFound
from ingest.schema import END_CHECKMATE, END_OF_RECORD

GAMES_AT_A_TIME = 4096
GAMES = "(SELECT *, id AS game_id FROM games) WHERE start_fen IS NULL AND plies > 0"


@dataclass(frozen=True, slots=True)
class Games:
    """n games. Columns of arrays (n, 2) are White and Black.

    ``moves`` (n, T) are the first T, packed, 0 beyond ``lengths``, which are those of the
    whole games. ``player`` is as in `Visits`, ratings and White's half points ``result``
    are NOT_KNOWN where they are not. ``finished``: by a known result of a record that is
    whole, or on the board; ``checkmate``: by that. ``chosen``: the sides that are asked for.
    """

    id: Ints
    moves: NDArray[np.uint16]
    lengths: Ints
    player: Ints
    rating: Ints
    result: Ints
    finished: Flags
    checkmate: Flags
    chosen: Flags


def games_of(
    cursor: DuckDBPyConnection, where: Where, filters: Filters, plies: int
) -> Iterator[Games]:
    """The chosen games with a move, from the normal start, with their first ``plies`` plies.

    ``where`` is `of_games` of the filters.
    """
    # A cursor of its own: nothing else can be asked on one that still hands rows on. The
    # relation, not the cursor, hands arrow on without a copy of all rows.
    with cursor.cursor() as own:
        found = own.sql(_sql(where, filters, plies), params=where.params)
        for batch in found.arrow(GAMES_AT_A_TIME):
            yield _games(batch, plies)


def _sql(where: Where, filters: Filters, plies: int) -> str:
    white, black = (side_chosen(filters, colour) for colour in COLOURS)
    return f"""
        SELECT id, white_id, black_id, white_rating, black_rating, result,
            ending, cut_short, plies, {white} AS white, {black} AS black,
            mainline[1:{plies}] AS moves
        FROM {GAMES} {where.sql}
    """


def _games(batch: pa.RecordBatch, plies: int) -> Games:
    def numbers(name: str, unknown: Any = NOT_KNOWN) -> Ints:
        column = batch.column(name).cast(pa.int64()).fill_null(unknown)
        return np.asarray(column.to_numpy(zero_copy_only=False), np.int64)

    def sides(names: str, unknown: Any = NOT_KNOWN) -> Ints:
        return np.stack([numbers(names.format(colour), unknown) for colour in COLOURS], axis=1)

    id, result, ending = numbers("id"), numbers("result"), numbers("ending")
    player = sides("{}_id", -1)
    nameless = -1 - 2 * id[:, None] - np.arange(2)
    return Games(
        id=id,
        moves=_moves(batch.column("moves"), plies),
        lengths=numbers("plies"),
        player=np.where(player < 0, nameless, player),
        rating=sides("{}_rating"),
        result=result,
        finished=(ending != END_OF_RECORD) | ((result >= 0) & (numbers("cut_short") == 0)),
        checkmate=ending == END_CHECKMATE,
        chosen=sides("{}") > 0,
    )


def _moves(lists: pa.ListArray, plies: int) -> NDArray[np.uint16]:
    """Lists of moves -> one row each, filled up with 0."""
    here = np.arange(plies) < np.diff(lists.offsets.to_numpy())[:, None]
    moves = np.zeros(here.shape, np.uint16)
    moves[here] = lists.flatten().to_numpy()
    return moves


def source_of_games(
    cursor: DuckDBPyConnection, facts: Facts, filters: Filters, where: Where
) -> Source:
    """Where numbers about whole games come from."""
    vague, scales = 0, ()
    if where.possible:
        vague = _count(cursor, f"played IS NULL AND {where.possible} {where.undated}", where.params)
    if facts.scales:
        rows = cursor.execute(
            f"""
            SELECT DISTINCT rating_scale FROM {GAMES} AND rating_scale IS NOT NULL {where.sql}
            ORDER BY rating_scale
            """,
            where.params,
        ).fetchall()
        scales = tuple(scale for (scale,) in rows)
    return Source(
        collections=filters.collections or tuple(facts.collections),
        expectation=facts.expectation_source,
        vague_dates=vague,
        rating_scales=scales,
        plies=facts.plies,
        people=facts.people,
    )


def no_games(cursor: DuckDBPyConnection, facts: Facts, source: Source) -> NothingFound:
    """Why no game answers a question about whole games."""
    if not facts.collections:
        return NothingFound(NO_GAMES_YET)
    dates = f" ({source.vague_dates:,} because of a vague date)" if source.vague_dates else ""
    games = _count(cursor, "TRUE", {})
    return NothingFound(
        f"games: none of the {games:,} from the normal starting position passes the filters"
        f"{dates}; loosen them"
    )


def _count(cursor: DuckDBPyConnection, condition: str, params: dict[str, Any]) -> int:
    """Games from the normal start with a move."""
    row = cursor.execute(f"SELECT count(*) FROM {GAMES} AND {condition}", params).fetchone()
    return int(row[0]) if row else 0
