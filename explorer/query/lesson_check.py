"""`lesson check`: what a lesson answers of what opponents play, and what is missing."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import chess
from duckdb import DuckDBPyConnection

from explorer.positions.lesson import Lesson
from explorer.positions.position import Position, position_of
from explorer.query.bands import level_number
from explorer.query.favoured import label_of
from explorer.query.filters import Filters
from explorer.query.holes import added, describe, holes
from explorer.query.lesson_model import LessonAnswer, StatesAt
from explorer.query.lesson_shares import Played, played_at
from explorer.query.library import Facts, Library
from explorer.query.origin import nothing_found, reached, source_of
from explorer.query.outscored import outscored
from explorer.query.rare_lines import rare_lines
from explorer.query.reach import Reach, Route, reach, route_of
from explorer.query.where import Where, where
from ingest.errors import UsageError
from ingest.levels import Level, bands

MIN_GAMES = 30
TO_MOVE = 8
SHOWN = 10
NAMED = 3  # lines that a warning names

START = position_of(chess.Board())


def lesson_check(
    library: Library,
    lesson: Lesson,
    filters: Filters,
    start: Position = START,
    to_move: int = TO_MOVE,
    min_games: int = MIN_GAMES,
    next_level: Level | None = None,
    top: int = SHOWN,
) -> LessonAnswer:
    """What the lesson answers up to the student's move ``to_move`` in games that come to ``start``.

    ``filters.levels`` are those of the opponents, ``filters.opponents`` that of the students.
    Positions where opponents of the level went on in fewer than ``min_games`` games borrow from
    neighbouring bands. ``top`` bounds each list of lines. UsageError when ``to_move`` comes
    before the start, InputError when the lesson does not come to it, NothingFound when no
    game of the level does.
    """
    route = route_of(lesson, start, to_move)
    if to_move < route.bare.first_turn:
        raise UsageError(
            f"--to-move {to_move}: the student's first move here is number "
            f"{route.bare.first_turn}; write a higher number"
        )
    with library.reading() as (cursor, facts):
        asked = _Asked(cursor, facts, lesson, start, filters)
        began = asked.began(filters.levels)
        if not began:
            raise nothing_found(cursor, facts, start, asked.where(filters.levels))
        following = (next_level,) if next_level else ()
        played = played_at(cursor, facts, list(route.after), filters, [following])
        runs = _Runs(route, played, min_games)
        now = runs.at(filters.levels)
        every = holes(now)
        then = runs.at(following) if next_level else None
        later = replace(filters, levels=following)
        return LessonAnswer(
            lesson=lesson.name,
            title=lesson.title,
            side=lesson.side,
            start=start.numbered,
            filters=filters,
            source=source_of(cursor, facts, start, filters, asked.where(filters.levels)),
            to_move=to_move,
            min_games=min_games,
            positions=len(lesson.taught),
            levels=(
                *asked.by_band(runs),
                _states(now, label_of(filters.levels), None, began),
            ),
            unanswered=describe(cursor, facts, lesson, now, every[:top], filters),
            unanswered_left_out=len(every[top:]),
            outscored=outscored(cursor, facts, lesson, now, filters)[:top],
            rare=rare_lines(lesson, now)[:top],
            added=added(cursor, facts, lesson, now, then, later, top) if then else (),
            next_level=next_level.label if next_level else None,
            warnings=tuple(warnings_of(lesson)),
            next=_states(then, label_of(following), next_level, asked.began(following))
            if then
            else None,
        )


@dataclass(frozen=True, slots=True)
class _Runs:
    """How games run through the lesson, level by level."""

    route: Route
    played: Played
    min_games: int

    def at(self, levels: Sequence[Level]) -> Reach:
        return reach(self.route, self.played.chosen(levels, self.min_games), self.min_games)


@dataclass(frozen=True, slots=True)
class _Asked:
    """The games that come to the lesson's start."""

    cursor: DuckDBPyConnection
    facts: Facts
    lesson: Lesson
    start: Position
    filters: Filters

    @property
    def students_turn(self) -> bool:
        return self.start.to_move == self.lesson.side

    def where(self, levels: Sequence[Level]) -> Where:
        """The conditions on visits of the start, for opponents of some levels."""
        filters = replace(self.filters, levels=tuple(levels))
        return where(self.cursor, self.facts, filters, opponent_moves=self.students_turn)

    def began(self, levels: Sequence[Level]) -> int:
        """How many games come to the start."""
        return reached(self.cursor, self.start.key, self.where(levels))

    def by_band(self, runs: _Runs) -> Iterator[StatesAt]:
        """Each band that the chosen levels lie in, if there are more than one."""
        rating = "opponent_rating" if self.students_turn else "mover_rating"
        chosen, anyone = self.where(self.filters.levels), self.where(())
        band = (
            f"SELECT {level_number(self.filters.cuts, rating)} AS band FROM visits WHERE key = $key"
        )
        sql = f"""
            SELECT band, count(*) FROM ({band} {anyone.sql})
            WHERE band IN ({band} {chosen.sql}) GROUP BY band ORDER BY band
        """
        params = {"key": self.start.key, **chosen.params}
        rows = self.cursor.execute(sql, params).fetchall()
        levels = bands(self.filters.cuts)
        for number, games in rows if len(rows) > 1 else ():
            level = levels[number]
            yield _states(runs.at((level,)), level.label, level, games)


def _states(found: Reach, label: str, level: Level | None, games: int) -> StatesAt:
    asked = {place for parts in found.run.asked.values() for place in parts}
    return StatesAt(
        label=label,
        low=level.low if level else None,
        high=level.high if level else None,
        games=games,
        states=found.states(),
        borrowed=sum(found.shares[place].borrowed for place in asked),
    )


def warnings_of(lesson: Lesson) -> Iterator[str]:
    """What a teacher should know of the file, in sentences."""
    if lesson.looks_like_the_other_side:
        other = "Black" if lesson.side == "white" else "White"
        yield f"Only the student's side has a choice of moves here: is it a lesson for {other}?"
    for two in lesson.two_taught:
        yield (
            f"Two moves are taught in one position: {two.taught} {_after(two.line)}, and "
            f"{two.other} {_after(two.other_line)}; the first one counts."
        )
    if lines := lesson.not_followed:
        more = f" and {len(lines) - NAMED} more" if len(lines) > NAMED else ""
        yield f"Alternatives are not followed: {'; '.join(lines[:NAMED])}{more}."
    if games := lesson.not_reached:
        yield f"No line leads to where these begin: {'; '.join(games)}."


def _after(line: str) -> str:
    return f"after {line}" if line else "at the start"
