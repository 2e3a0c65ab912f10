"""A student's games as arrays, fetched once: everything about them is counted on these."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np
import pyarrow as pa
from duckdb import DuckDBPyConnection
from numpy.typing import NDArray

from explorer.numbers.expectation import PARTS, WIDEST
from explorer.query.filters import Filters
from explorer.query.library import Facts
from explorer.query.model import Source
from explorer.query.visits import NO_DAY, NOT_KNOWN, Flags, Ints
from explorer.query.where import COLOURS, Where, of_games
from ingest.schema import END_CHECKMATE

Floats = NDArray[np.float64]
Moves = NDArray[np.uint16]

MOST_POINTS = 2  # half points of a game
_NUMBERS = ("id", "points", "rating", "opponent", "pace", "day", "plies")
_FLAGS = ("white", "normal", "cut_short", "mate")


@dataclass(frozen=True, eq=False)
class OwnVisits:
    """The first visits of positions in the games from the normal start, by game and ply.

    ``game`` is the game's row; ``mine``: the student is to move. ``move`` is 0 where the record
    stops; ``swing`` is NOT_KNOWN where it is not.
    """

    game: Ints
    ply: Ints
    key: NDArray[np.uint64]
    move: Ints
    mine: Flags
    swing: Ints
    mated: Flags

    def __len__(self) -> int:
        """The number of visits."""
        return len(self.game)

    def only(self, which: Flags | Ints) -> OwnVisits:
        """The rows that are marked."""
        columns = (getattr(self, name)[which] for name in self.__dataclass_fields__)
        return OwnVisits(*columns)

    @cached_property
    def choices(self) -> OwnVisits:
        """Those in which the student went on."""
        return self.only(self.mine & (self.move != 0))

    @cached_property
    def _places(self) -> dict[int, tuple[int, int]]:
        keys, starts, counts = np.unique(
            self.key[self._order], return_index=True, return_counts=True
        )
        ends = zip(starts.tolist(), (starts + counts).tolist(), strict=True)
        return dict(zip(keys.tolist(), ends, strict=True))

    @cached_property
    def _order(self) -> Ints:
        return np.argsort(self.key, kind="stable")

    def at(self, key: int) -> Ints:
        """The rows at a position, in order of game."""
        start, end = self._places.get(key, (0, 0))
        return self._order[start:end]


@dataclass(frozen=True, eq=False)
class OwnGames:
    """n games of one student, those of a whole date in order of day, the others first.

    ``points`` are the student's half points, ratings as they were, NOT_KNOWN where they are not;
    ``day`` as in `Visits`. ``normal``: from the normal start. ``over`` is score minus expected
    score, NaN without one; ``mate``: mate ended it. ``moves`` (n, T) are the whole mainlines,
    packed, 0 beyond ``plies``. ``both_sides`` more games have the student on both sides.
    """

    id: Ints
    white: Flags
    points: Ints
    rating: Ints
    opponent: Ints
    pace: Ints
    day: Ints
    plies: Ints
    normal: Flags
    cut_short: Flags
    mate: Flags
    over: Floats
    scale: list[str | None]
    site: list[str | None]
    moves: Moves
    visits: OwnVisits
    both_sides: int

    def __len__(self) -> int:
        """The number of games."""
        return len(self.id)

    def of(self, side: str) -> Flags:
        """The games from the normal start that the student had with a colour."""
        return np.asarray(self.normal & (self.white == (side == COLOURS[0])))


def own_games(
    cursor: DuckDBPyConnection, facts: Facts, filters: Filters, ids: Sequence[int]
) -> OwnGames:
    """The student's games that pass the filters but for the levels, which are the others'."""
    chosen = games_where(cursor, facts, filters)
    those = ", ".join(map(str, ids))
    table = cursor.sql(
        f"""
        SELECT {_COLUMNS} FROM (
            SELECT CASE WHEN white_id IN ({those}) AND black_id IN ({those}) THEN NULL
                    ELSE coalesce(white_id IN ({those}), FALSE) END AS own, *
            FROM (SELECT *, id AS game_id FROM games)
            WHERE (white_id IN ({those}) OR black_id IN ({those})) {chosen.sql})
        ORDER BY played NULLS FIRST, source, game_number
        """,
        params=chosen.params or None,
    )
    found = table.to_arrow_table()
    both = found["both_sides"].to_numpy()
    found = found.filter(~both)
    columns: dict[str, Any] = {name: _numbers(found, name) for name in _NUMBERS}
    columns |= {name: _numbers(found, name) > 0 for name in _FLAGS}
    return OwnGames(
        **columns,
        over=_over(facts, columns),
        scale=found["rating_scale"].to_pylist(),
        site=[_place(site) for site in found["site"].to_pylist()],
        moves=_padded(found["mainline"].combine_chunks(), columns["plies"]),
        visits=_visits(cursor, *(columns[name] for name in ("id", "white", "normal"))),
        both_sides=int(both.sum()),
    )


_COLUMNS = f"""
    own IS NULL AS both_sides, id, own::TINYINT AS white,
    (CASE WHEN own THEN result ELSE {MOST_POINTS} - result END)::TINYINT AS points,
    CASE WHEN own THEN white_rating ELSE black_rating END AS rating,
    CASE WHEN own THEN black_rating ELSE white_rating END AS opponent,
    pace, coalesce(played - DATE '1970-01-01', {NO_DAY}) AS day, plies,
    (start_fen IS NULL)::TINYINT AS normal, cut_short::TINYINT AS cut_short,
    (ending = {END_CHECKMATE})::TINYINT AS mate, rating_scale, site, mainline
"""


def _numbers(table: Any, name: str) -> Ints:
    column = table[name].cast(pa.int64()).fill_null(NOT_KNOWN)
    return np.asarray(column.to_numpy(), np.int64)


def _place(site: str | None) -> str | None:
    """A site that is a place: a web address may name each game."""
    return None if site is None or "://" in site or "www." in site.casefold() else site


def _padded(lists: Any, plies: Ints) -> Moves:
    """Lists of moves -> one row each, filled up with 0."""
    here = np.arange(int(plies.max(initial=1))) < plies[:, None]
    moves = np.zeros(here.shape, np.uint16)
    moves[here] = np.asarray(lists.flatten(), np.uint16)
    return moves


def _over(facts: Facts, games: Mapping[str, Any]) -> Floats:
    points, rating, opponent = (games[name] for name in ("points", "rating", "opponent"))
    known = np.minimum(np.minimum(points, rating), opponent) >= 0
    gap = np.clip(np.where(known, rating - opponent, 0), -WIDEST, WIDEST) + WIDEST
    white, black = (np.asarray(facts.curve(colour)) for colour in COLOURS)
    expected = np.where(games["white"], white[gap], black[gap]) / PARTS
    return np.where(known, points / MOST_POINTS - expected, np.nan)


def _visits(cursor: DuckDBPyConnection, id: Ints, white: Flags, normal: Flags) -> OwnVisits:
    """The visits of games, whose rows are in the order of the arrays."""
    found = cursor.execute(
        f"""
        SELECT game_id, ply, key, move, coalesce(swing::INTEGER, {NOT_KNOWN}) AS swing, mated
        FROM visits WHERE game_id IN (SELECT unnest($ids::UINTEGER[]))
        """,
        {"ids": id[normal].tolist()},
    ).fetchnumpy()
    number = np.argsort(id, kind="stable")
    row = number[np.searchsorted(id[number], found["game_id"])]
    order = np.lexsort((found["ply"], row))
    game, ply = row[order], found["ply"][order].astype(np.int64)
    return OwnVisits(
        game=game,
        ply=ply,
        key=found["key"][order],
        move=found["move"][order].astype(np.int64),
        mine=(ply % 2 == 0) == white[game],
        swing=found["swing"][order].astype(np.int64),
        mated=found["mated"][order],
    )


def games_where(cursor: DuckDBPyConnection, facts: Facts, filters: Filters) -> Where:
    """The conditions on the student's games: levels speak of the others."""
    return of_games(cursor, facts, replace(filters, levels=(), opponents=(), player=None))


def source_of(
    cursor: DuckDBPyConnection, facts: Facts, filters: Filters, ids: Sequence[int], own: OwnGames
) -> Source:
    """Where the student's games come from: the collections that they are in, no others."""
    chosen = games_where(cursor, facts, filters)
    those = ", ".join(map(str, ids))
    hers = f"(white_id IN ({those}) OR black_id IN ({those}))"
    vague = 0
    if chosen.possible:
        sql = f"""SELECT count(*) FROM (SELECT *, id AS game_id FROM games)
            WHERE {hers} AND played IS NULL AND {chosen.possible} {chosen.undated}"""
        ((vague,),) = cursor.execute(sql, chosen.params).fetchall()
    names = cursor.execute(
        """
        SELECT DISTINCT name FROM collections
        JOIN memberships ON collection_id = collections.id
        WHERE game_id IN (SELECT unnest($ids::UINTEGER[])) ORDER BY name
        """,
        {"ids": own.id.tolist()},
    ).fetchall()
    return Source(
        collections=filters.collections or tuple(name for (name,) in names),
        expectation=facts.expectation_source,
        vague_dates=vague,
        rating_scales=tuple(sorted({scale for scale in own.scale if scale})),
        plies=facts.plies,
        people=facts.people,
    )
