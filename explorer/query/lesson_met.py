"""How often games come to the positions of a lesson, and what opponents reply at each."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from explorer.positions.lesson import Lesson
from explorer.positions.position import Position
from explorer.query.filters import Filters
from explorer.query.lesson_check import MIN_GAMES, SHOWN, START, TO_MOVE, lesson_check
from explorer.query.lesson_model import LessonAnswer
from explorer.query.lesson_shares import Shares, played_at
from explorer.query.library import Library
from explorer.query.model import FEW_GAMES, FEW_PLAYERS
from explorer.query.moves import unpack
from explorer.query.reach import reach, route_of
from ingest.levels import Level


@dataclass(frozen=True, slots=True)
class Replies:
    """What opponents of the chosen levels play at one position: UCI move -> games.

    ``of`` games went on there, by ``players``; ``borrowed``: those of neighbouring levels are
    among them.
    """

    games: Mapping[str, int]
    of: int
    players: int
    borrowed: bool

    @property
    def few(self) -> bool:
        """Too few games or players to claim anything."""
        return self.of < FEW_GAMES or self.players < FEW_PLAYERS


@dataclass(frozen=True)
class LessonMet:
    """What a lesson answers, and its positions by key.

    ``replies`` are at those of the opponent where the lesson answers something. ``in_100``: of
    100 games in how many the student comes to a position, to the lesson's end, if the taught
    moves are played; a position that is not in it comes after too few games to say.
    """

    answer: LessonAnswer
    replies: Mapping[int, Replies]
    in_100: Mapping[int, float]


def lesson_met(
    library: Library,
    lesson: Lesson,
    filters: Filters,
    start: Position = START,
    to_move: int = TO_MOVE,
    min_games: int = MIN_GAMES,
    next_level: Level | None = None,
    top: int = SHOWN,
) -> LessonMet:
    """What `lesson_check` says, with the replies at every position of the lesson.

    The arguments and errors are those of `lesson_check`.
    """
    answer = lesson_check(library, lesson, filters, start, to_move, min_games, next_level, top)
    route = route_of(lesson, start, max(to_move, _last_turn(lesson)))
    with library.reading() as (cursor, facts):
        played = played_at(cursor, facts, list(route.after), filters)
    found = reach(route, played.chosen(filters.levels, min_games), min_games)
    come = {place for masses in found.run.met.values() for place in masses}
    return LessonMet(
        answer=answer,
        replies={place: _replies(shares) for place, shares in found.shares.items()},
        in_100={place: 100 * found.run.reach(place) for place in come},
    )


def _last_turn(lesson: Lesson) -> int:
    """The number of the last move that the student is taught."""
    return max(len(place.line) // 2 + 1 for place in lesson.taught)


def _replies(shares: Shares) -> Replies:
    games = {unpack(move).uci(): n for move, n in sorted(shares.replies.items())}
    return Replies(games, shares.games, shares.players, shares.borrowed)
