"""The chosen sides of all games as rows: whose they are, how they went, which habits they show."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

import chess
import numpy as np
from duckdb import DuckDBPyConnection
from numpy.typing import NDArray

from explorer.numbers.expectation import PARTS, WIDEST, left_by_level
from explorer.positions.walking import walk
from explorer.query.filters import Filters
from explorer.query.habit_rules import PLIES, RULES, Marks, Played, marks, records
from explorer.query.library import Facts
from explorer.query.sides import Games, games_of
from explorer.query.visits import NOT_KNOWN, Flags, Ints, levels_of
from explorer.query.where import COLOURS, Where

MOST_POINTS = 2  # half points of a game


@dataclass(frozen=True, slots=True)
class Sides:
    """One row for each chosen side of a game, in order of game, White first.

    ``player`` and ``person`` are as in `Visits`; ``level`` as `visits.levels_of` has it.
    Ratings and half ``points`` are NOT_KNOWN where they are not. ``seen`` (habits, n) holds
    `habit_rules.marks`.
    """

    game: Ints
    white: Flags
    player: Ints
    person: Ints
    level: Ints
    rating: Ints
    opponent: Ints
    points: Ints
    seen: Marks

    def joined(self, players: Sequence[int]) -> Sides:
        """With several players as one, who has the first one's number."""
        if len(players) < 2:
            return self
        player = np.where(np.isin(self.player, players), players[0], self.player)
        return replace(self, player=player, person=np.unique(player, return_inverse=True)[1])

    @property
    def games(self) -> int:
        """The number of games."""
        return 1 + int(np.count_nonzero(np.diff(self.game)))

    @property
    def players(self) -> int:
        """The number of players, each nameless one another."""
        return 1 + int(self.person.max())

    def ratings(self, levels: int) -> list[float]:
        """The mean rating at each of so many levels; 0 where nobody is."""
        total = np.bincount(self.level, self.rating, levels)
        return [*(total / np.maximum(1, np.bincount(self.level, minlength=levels)))[:levels]]

    def over(self, facts: Facts) -> tuple[Flags, NDArray[np.float64]]:
        """Which rows can be compared with an expectation, and score minus expected in those.

        What players of their level and colour score beside the expectation is taken off.
        """
        known = np.minimum(np.minimum(self.points, self.rating), self.opponent) >= 0
        gap = np.clip(self.rating[known] - self.opponent[known], -WIDEST, WIDEST) + WIDEST
        white, level = self.white[known], self.level[known]
        curves = [np.asarray(facts.curve(colour)) for colour in COLOURS]
        expected = np.where(white, curves[0][gap], curves[1][gap])
        over = self.points[known] / MOST_POINTS - expected / PARTS
        left = left_by_level(white, level, np.ones(len(over)), over)
        return known, over - left[white.astype(np.int64), level]


def sides_of(cursor: DuckDBPyConnection, where: Where, filters: Filters) -> Sides | None:
    """The chosen sides, of games from the normal start; None when there are none.

    ``where`` is `of_games` of the filters. The games are played some thousand at a time.
    """
    parts = [part for games in games_of(cursor, where, filters, PLIES) for part in _parts(games)]
    if not parts:
        return None
    game, white, player, rating, opponent, points, seen = (
        np.concatenate(columns, axis=-1) for columns in zip(*parts, strict=True)
    )
    order = np.argsort(2 * game - white, kind="stable")
    player, rating = player[order], rating[order]
    return Sides(
        game=game[order],
        white=white[order],
        player=player,
        person=np.unique(player, return_inverse=True)[1],
        level=levels_of(rating, filters.cuts),
        rating=rating,
        opponent=opponent[order],
        points=points[order],
        seen=seen[:, order],
    )


def _parts(games: Games) -> Iterator[tuple[NDArray[Any], ...]]:
    """The rows of White and those of Black, in the order of the fields that `sides_of` joins."""
    played = walk(chess.Board(), games.moves, games.lengths)
    record = records(played, games.lengths, games.checkmate, games.finished)
    for white in (True, False):
        own, other = (0, 1) if white else (1, 0)
        here, side = games.chosen[:, own], Played(white, record)
        points = games.result if white else _turned(games.result)
        yield (
            games.id[here],
            np.full(np.count_nonzero(here), white),
            games.player[here, own],
            games.rating[here, own].astype(np.int32),
            games.rating[here, other].astype(np.int32),
            points[here].astype(np.int32),
            np.stack([marks(rule, side)[here] for rule in RULES]),
        )


def _turned(result: Ints) -> Ints:
    """White's half points -> Black's."""
    return np.where(result < 0, NOT_KNOWN, MOST_POINTS - result)
