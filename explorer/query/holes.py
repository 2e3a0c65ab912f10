"""The replies that a lesson leaves unanswered, those that are met most often first."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import chess
from duckdb import DuckDBPyConnection

from explorer.positions.lesson import Lesson
from explorer.positions.names import name_of_key
from explorer.query.favoured import favoured_at
from explorer.query.filters import Filters
from explorer.query.lesson_model import Added, Unanswered
from explorer.query.library import Facts
from explorer.query.moves import unpack
from explorer.query.pairs import PLAYER
from explorer.query.reach import Reach, whole
from explorer.query.where import where

GROWS = 0.005  # of all games


@dataclass(slots=True)
class Hole:
    """A position of the student without an answer, by the way that most games take to it.

    ``place`` is the opponent's position before it and ``move`` the reply, packed; ``turn`` the
    student's turn that it would be. ``part`` of all games come by that way, and by ``ways``
    ways together ``in_all``.
    """

    position: int
    place: int
    move: int
    turn: int
    part: float
    in_all: float
    ways: int = 1


def holes(found: Reach) -> list[Hole]:
    """Every unanswered position that games come to, most often met first."""
    route = found.route
    last, known = route.last_turn, route.known
    best: dict[int, Hole] = {}
    for turn, parts in found.run.asked.items():
        for place, part in parts.items():
            for move in found.shares[place].replies if turn < last else ():
                to = route.after[place][move]
                if to not in known:
                    here = part * found.chain.replies[place][to]
                    _join(best, Hole(to, place, move, turn + 1, here, here))
    return sorted(best.values(), key=lambda hole: (-hole.in_all, hole.position))


def _join(best: dict[int, Hole], way: Hole) -> None:
    """Add one more way to the holes."""
    other = best.get(way.position)
    if other is not None:
        in_all, ways = way.in_all + other.in_all, other.ways + 1
        way = replace(way if way.part > other.part else other, in_all=in_all, ways=ways)
    best[way.position] = way


def describe(
    cursor: DuckDBPyConnection,
    facts: Facts,
    lesson: Lesson,
    found: Reach,
    shown: Sequence[Hole],
    filters: Filters,
) -> tuple[Unanswered, ...]:
    """What is said of some holes. ``filters.levels`` are those of ``found``."""
    if not shown:
        return ()
    boards = {hole.position: _board(found, hole) for hole in shown}
    answers = favoured_at(cursor, facts, boards, of_students(filters))
    scores = _scores(cursor, facts, shown, filters)
    intervals = found.coming_to([hole.position for hole in shown])
    rows = []
    for hole, (points, scored, scorers), about in zip(shown, scores, intervals, strict=True):
        board, move = chess.Board(found.route.fens[hole.place]), unpack(hole.move)
        shares = found.shares[hole.place]
        low, high = about or (None, None)
        rows.append(
            Unanswered(
                line=lesson.places[hole.place].numbered,
                fen=found.route.fens[hole.place],
                san=board.san(move),
                uci=move.uci(),
                move=hole.turn,
                reached=100 * whole(found.run.reach_asked(hole.place)),
                in_100=100 * whole(hole.in_all),
                low=None if low is None else 100 * low,
                high=None if high is None else 100 * high,
                share=shares.replies[hole.move] / shares.games,
                games=shares.replies[hole.move],
                players=found.chosen.players_of(hole.place, hole.move),
                of=shares.games,
                of_players=shares.players,
                score=points / 2 / scored if scored else None,
                borrowed=shares.borrowed,
                name=name_of_key(hole.position),
                answer=answers[hole.position],
                ways=hole.ways,
                score_games=scored,
                score_players=scorers,
            )
        )
    return tuple(rows)


def of_students(filters: Filters) -> Filters:
    """The filters for the student's own moves: the class plays at the level of its opponents,
    if nothing else is said of it."""
    return replace(filters, levels=filters.opponents or filters.levels, opponents=())


def _board(found: Reach, hole: Hole) -> chess.Board:
    board = chess.Board(found.route.fens[hole.place])
    board.push(unpack(hole.move))
    return board


def _scores(
    cursor: DuckDBPyConnection, facts: Facts, shown: Sequence[Hole], filters: Filters
) -> list[tuple[int, int, int]]:
    """The opponent's half points after each reply, at the chosen levels alone; games with a
    result, and players."""
    chosen = where(cursor, facts, filters)
    sql = " UNION ALL ".join(
        f"SELECT {number} AS number, coalesce(sum(half_points), 0)::BIGINT AS points, "
        f"count(*) AS n, count(DISTINCT {PLAYER}) AS players FROM visits WHERE "
        f"key = {hole.place} AND move = {hole.move} AND half_points IS NOT NULL {chosen.sql}"
        for number, hole in enumerate(shown)
    )
    sql = f"SELECT points, n, players FROM ({sql}) ORDER BY number"
    return cursor.execute(sql, chosen.params).fetchall()


def added(
    cursor: DuckDBPyConnection,
    facts: Facts,
    lesson: Lesson,
    now: Reach,
    then: Reach,
    filters: Filters,
    top: int,
) -> tuple[Added, ...]:
    """The holes that grow by GROWS or more when the class moves up, those that grow most first.

    ``filters.levels`` is the next level, ``then`` its reach.
    """
    every = holes(then)
    growth = {hole.position: hole.in_all - now.run.reach(hole.position) for hole in every}
    growing = [hole for hole in every if growth[hole.position] >= GROWS]
    growing.sort(key=lambda hole: -growth[hole.position])
    rows = describe(cursor, facts, lesson, then, growing[:top], filters)
    return tuple(
        Added(row, 100 * now.run.reach(hole.position))
        for row, hole in zip(rows, growing, strict=False)
    )
