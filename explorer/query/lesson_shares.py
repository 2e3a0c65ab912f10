"""What opponents play at many positions at once: the shares that carry a lesson.

One query for hundreds of positions; levels, borrowing and players are told apart on
arrays, because one lesson is asked about for each level and for the next one too.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np
from duckdb import DuckDBPyConnection
from numpy.typing import NDArray

from explorer.numbers.clusters import mean_designs
from explorer.query.breakdown import band_numbers
from explorer.query.filters import Filters
from explorer.query.library import Facts
from explorer.query.pairs import PLAYER
from explorer.query.where import where
from ingest.levels import HIGHEST_RATING, Level

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

FEW_KEYS = 12
AT_ONCE = 1024  # positions in one query
MOVES = 1 << 15  # a packed move is below it
# A row as one word, to be sorted: position, player, class of ratings, reply at the position.
REPLY_BITS, KIND_BITS, PLAYER_BITS = 8, 8, 33
FAR = 99  # bands that do not exist
_COLUMNS = f"move, ({PLAYER} + {1 << PLAYER_BITS - 1})::UBIGINT AS player, mover_rating AS rating"


@dataclass(frozen=True, slots=True)
class Shares:
    """What opponents play at one position: packed move -> games, of ``games`` by ``players``.

    ``borrowed``: the games of neighbouring bands are among them.
    """

    replies: dict[int, int]
    games: int
    players: int
    borrowed: bool


@dataclass(frozen=True, eq=False)
class Played:
    """The games that went on from the positions ``keys``, whoever moved there.

    A row is one player's ``k`` games with one reply at one position in one class of ratings
    (``kind``). ``reply`` and ``person`` count the replies and the players of all positions
    from 0, in order of position; ``reply_place`` and ``reply_move`` say what a reply is.
    ``of_rating`` is the class of each rating (0: unrated), as fine as the levels need it.
    """

    keys: tuple[int, ...]
    cuts: tuple[int, ...]
    of_rating: Ints
    reply_place: Ints
    reply_move: Ints
    reply: Ints
    person: Ints
    kind: Ints
    k: Floats

    @cached_property
    def replies(self) -> dict[tuple[int, int], int]:
        """The number of a reply by the key of its position and the packed move."""
        places, moves = self.reply_place.tolist(), self.reply_move.tolist()
        every = enumerate(zip(places, moves, strict=True))
        return {(self.keys[place], move): number for number, (place, move) in every}

    def chosen(self, levels: Sequence[Level], min_games: int) -> Chosen:
        """The games of some levels; none: of all.

        A position with fewer than ``min_games`` takes the bands next to the levels, then the
        next, until it has enough.
        """
        kinds = int(self.of_rating.max()) + 1
        near = np.full(kinds, FAR)
        near[self.of_rating] = _distance(levels, self.cuts)
        place = self.reply_place[self.reply]
        cell = np.bincount(place * kinds + self.kind, self.k, len(self.keys) * kinds)
        games = cell.reshape(-1, kinds)
        reach = np.zeros(len(self.keys), np.int64)
        for step in sorted({int(step) for step in near if step < FAR}):
            few = games[:, near <= reach.max(initial=0)].sum(axis=1) < min_games
            reach[few] = step
        return Chosen(self, near[None, :] <= reach[:, None], reach > 0)


def _distance(levels: Sequence[Level], cuts: Sequence[int]) -> Ints:
    """How many bands each rating is away from the nearest level: 0 inside, FAR if unrated."""
    ratings = np.arange(HIGHEST_RATING + 1, dtype=np.uint16)
    if not levels:
        return np.zeros(len(ratings), np.int64)
    inside = _inside(levels)
    band = band_numbers(cuts, ratings).astype(np.int64)
    rated = band <= len(cuts)
    own = np.unique(band[inside & rated])
    if not len(own):
        return np.where(inside, 0, FAR)
    away = np.abs(band[:, None] - own[None, :]).min(axis=1)
    return np.where(inside, 0, np.where(rated, np.maximum(1, away), FAR))


def _inside(levels: Sequence[Level]) -> Flags:
    """Which ratings lie in one of the levels; 0 is unrated."""
    ratings = np.arange(HIGHEST_RATING + 1)
    found = np.zeros(len(ratings), np.bool_)
    for level in levels:
        if level.rated:
            low, high = level.low or 1, HIGHEST_RATING if level.high is None else level.high
            found |= (ratings >= max(1, low)) & (ratings <= high)
        else:
            found[0] = True
    return found


@dataclass(frozen=True, eq=False)
class Chosen:
    """The games of some levels. ``taken``, positions x classes, says which rows count,
    ``borrowed`` at which positions neighbouring bands do too."""

    played: Played
    taken: Flags
    borrowed: Flags

    @cached_property
    def _rows(self) -> Ints:
        played = self.played
        return np.flatnonzero(self.taken[played.reply_place[played.reply], played.kind])

    @cached_property
    def by_reply(self) -> Floats:
        """Games with each reply."""
        played, rows = self.played, self._rows
        return np.bincount(played.reply[rows], played.k[rows], len(played.reply_move)).astype(float)

    def players_of(self, key: int, move: int) -> int:
        """How many players chose a reply."""
        reply = self.played.replies[key, move]
        place = int(self.played.reply_place[reply])
        rows = self._rows[self._ends[place] : self._ends[place + 1]]
        return len(np.unique(self.played.person[rows[self.played.reply[rows] == reply]]))

    @cached_property
    def _ends(self) -> Ints:
        """Where the rows of each position begin, and where the last one's end."""
        place = self.played.reply_place[self.played.reply[self._rows]]
        return np.searchsorted(place, np.arange(len(self.played.keys) + 1))

    def _players(self, place: int) -> int:
        rows = self._rows[self._ends[place] : self._ends[place + 1]]
        return int(np.count_nonzero(np.diff(self.played.person[rows], prepend=-1)))

    def shares(self) -> dict[int, Shares]:
        """What is played at each position, by its key."""
        played = self.played
        found = {}
        ends = np.searchsorted(played.reply_place, np.arange(len(played.keys) + 1)).tolist()
        moves, games = played.reply_move.tolist(), self.by_reply.astype(int).tolist()
        for place, key in enumerate(played.keys):
            here = range(ends[place], ends[place + 1])
            replies = {moves[i]: games[i] for i in here if games[i]}
            n, players = sum(replies.values()), self._players(place)
            found[key] = Shares(replies, n, players, bool(self.borrowed[place]))
        return found

    def variances(self, worths: Sequence[Mapping[tuple[int, int], float]]) -> Floats:
        """First-order variances of numbers that hang on the shares, players being the sample.

        Each of ``worths`` has what the replies are worth, by key of the position and packed
        move, as `numbers.chain.influence` gives it; replies that are not in it are worth 0.
        The variance of the mean worth of a game is summed up over the positions.
        """
        replies = self.played.replies
        value = np.zeros((len(worths), len(replies)))
        for row, worth in enumerate(worths):
            for reply, worth_of_it in worth.items():
                value[row, replies[reply]] = worth_of_it
        parts = list(self._sums(value))
        if not parts:
            return np.zeros(len(worths))
        total, n, squares, tt, tn, nn, players = np.moveaxis(np.array(parts), 1, 0)
        design = mean_designs(total, n, squares, tt, tn, nn, players)
        spread = np.maximum(0, squares / n - (total / n) ** 2)
        return np.asarray((design * spread / np.maximum(1, n - 1)).sum(axis=0))

    def _sums(self, value: Floats) -> Iterator[Floats]:
        """The sums that `mean_designs` needs, of every position where something has a worth."""
        played, rows = self.played, self._rows
        places = np.unique(played.reply_place[value.any(axis=0)]).tolist()
        for place in places:
            here = rows[self._ends[place] : self._ends[place + 1]]
            if not len(here):
                continue
            own = np.flatnonzero((played.reply_place == place) & value.any(axis=0))
            seat = np.cumsum(np.diff(played.person[here], prepend=played.person[here[0]]) > 0)
            people, width = int(seat[-1]) + 1, len(own) + 1
            column = np.full(len(played.reply_move), len(own))  # the last: worth nothing
            column[own] = np.arange(len(own))
            cell = seat * width + column[played.reply[here]]
            k = np.bincount(cell, played.k[here], people * width).reshape(people, width)
            v = np.pad(value[:, own], ((0, 0), (0, 1)))
            together = k.T @ k
            count = k.sum(axis=0)
            every = np.ones(len(v))
            yield np.array([
                v @ count,
                count.sum() * every,
                v**2 @ count,
                ((v @ together) * v).sum(axis=1),
                v @ together.sum(axis=1),
                together.sum() * every,
                people * every,
            ])  # fmt: skip


def played_at(
    cursor: DuckDBPyConnection,
    facts: Facts,
    keys: Sequence[int],
    filters: Filters,
    levels: Sequence[Sequence[Level]] = (),
) -> Played:
    """The games that pass the filters, those on levels apart, at distinct positions.

    ``levels`` are the groups of levels to be asked for beside ``filters.levels``, each with
    `Played.chosen`; single bands of ``filters.cuts`` need not be named.
    """
    anyone = where(cursor, facts, replace(filters, levels=()))
    of_rating = _classes(filters.cuts, [filters.levels, *levels])
    parts = []
    for start in range(0, max(1, len(keys)), AT_ONCE):
        some = list(keys[start : start + AT_ONCE])
        sql = visits_at_all(cursor, some, _COLUMNS, anyone.sql)
        rows = cursor.execute(sql, anyone.params).fetchnumpy()
        parts.append(_reduced(rows, len(some), of_rating, start))
    moves = np.cumsum([0, *(len(part["reply_move"]) for part in parts)])
    people = np.cumsum([0, *(int(part["person"].max(initial=-1)) + 1 for part in parts)])
    for part, first, before in zip(parts, moves, people, strict=False):
        part["reply"] += first
        part["person"] += before
    columns = {name: np.concatenate([part[name] for part in parts]) for name in parts[0]}
    return Played(tuple(keys), filters.cuts, of_rating, **columns)


def shares_at(
    cursor: DuckDBPyConnection,
    facts: Facts,
    keys: Sequence[int],
    filters: Filters,
    min_games: int,
) -> dict[int, Shares]:
    """What players of ``filters.levels`` play at distinct positions, by key.

    Positions with fewer than ``min_games`` borrow from neighbouring bands.
    """
    return played_at(cursor, facts, keys, filters).chosen(filters.levels, min_games).shares()


def _classes(cuts: Sequence[int], levels: Sequence[Sequence[Level]]) -> Ints:
    """The class of each rating: ratings of one class are in the same band and levels."""
    ratings = np.arange(HIGHEST_RATING + 1, dtype=np.uint16)
    traits = [band_numbers(cuts, ratings), *(_inside(group) for group in levels)]
    number: Ints = np.unique(np.stack(traits), axis=1, return_inverse=True)[1].reshape(-1)
    return number


def visits_at_all(
    cursor: DuckDBPyConnection, keys: Sequence[int], columns: str, condition: str
) -> str:
    """A SELECT of the visits that go on from distinct positions: columns, and ``number``, the
    place of the position among the keys.

    One pass over the library takes as long as FEW_KEYS look-ups by ``key = ...``. The keys of a
    pass stand in the table `asked`, until the next one.
    """
    if 0 < len(keys) <= FEW_KEYS:
        return " UNION ALL ".join(
            f"SELECT {number}::USMALLINT AS number, {columns} FROM visits "
            f"WHERE key = {key} AND move <> 0 {condition}"
            for number, key in enumerate(keys)
        )
    cursor.execute(
        """
        CREATE OR REPLACE TEMP TABLE asked AS
        SELECT unnest($1::UBIGINT[]) AS key, unnest($2::USMALLINT[]) AS number
        """,
        [list(keys), list(range(len(keys)))],
    )
    return (
        f"SELECT number, {columns} FROM visits JOIN asked USING (key) WHERE move <> 0 {condition}"
    )


def _reduced(
    rows: Mapping[str, Any], places: int, of_rating: Ints, first_place: int
) -> dict[str, NDArray[Any]]:
    """The rows of one query by player and reply."""
    number, move = (np.asarray(rows[name], np.int64) for name in ("number", "move"))
    code = number * MOVES + move
    there = np.zeros(places * MOVES, np.bool_)
    there[code] = True
    codes = np.flatnonzero(there)
    place_of, move_of = codes // MOVES, codes % MOVES
    begins = np.searchsorted(place_of, np.arange(places))
    nth = np.zeros(places * MOVES, np.uint16)
    nth[codes] = np.arange(len(codes)) - begins[place_of]
    kind = of_rating[np.ma.filled(rows["rating"], 0)].astype(np.uint64)
    word = number.astype(np.uint64) << np.uint64(PLAYER_BITS + KIND_BITS + REPLY_BITS)
    word |= np.asarray(rows["player"], np.uint64) << np.uint64(KIND_BITS + REPLY_BITS)
    word |= (kind << np.uint64(REPLY_BITS)) | nth[code]
    word.sort()
    starts = np.flatnonzero(np.diff(word, prepend=~word[:1]))
    k = np.diff(starts, append=len(word)).astype(float)
    word = word[starts]
    person = word >> np.uint64(KIND_BITS + REPLY_BITS)
    place = (person >> np.uint64(PLAYER_BITS)).astype(np.int64)
    return {
        "reply_place": place_of + first_place,
        "reply_move": move_of,
        "reply": begins[place] + (word & np.uint64((1 << REPLY_BITS) - 1)).astype(np.int64),
        "person": np.cumsum(np.diff(person, prepend=person[:1]) > 0),
        "kind": (word >> np.uint64(REPLY_BITS) & np.uint64((1 << KIND_BITS) - 1)).astype(np.int64),
        "k": k,
    }
