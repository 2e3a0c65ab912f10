"""`student`: one student's own games, beside those of the others of the level."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import date

from duckdb import DuckDBPyConnection

from explorer.positions.lesson import Lesson
from explorer.query.favoured import label_of
from explorer.query.filters import Filters
from explorer.query.habits import habits
from explorer.query.lesson_check import warnings_of
from explorer.query.library import Facts, Library
from explorer.query.model import FEW_GAMES
from explorer.query.student_better import Measured, better_of
from explorer.query.student_costs import costs_of
from explorer.query.student_games import OwnGames, own_games, source_of
from explorer.query.student_lesson import against, course_of
from explorer.query.student_lines import Lines
from explorer.query.student_listed import Chance, Findings, tally_of
from explorer.query.student_model import StudentAnswer
from explorer.query.student_others import Crowd, levels_label, others_at
from explorer.query.student_plays import Tree, own_trees, trees_of
from explorer.query.student_practise import practise_of
from explorer.query.student_short import short_of
from explorer.query.student_short_games import short_games
from explorer.query.student_who import Found, Who, doubts_of, find, level_of, with_neighbours
from ingest.errors import NothingFound


@dataclass(frozen=True)
class StudentOptions:
    """What is asked about a student.

    ``filters``: pace, ``until`` and collections choose the student's games, pace those of the
    others too; ``levels`` are the others' (none: that of the student's ratings). ``since`` is
    the day that parts before and after. ``habits`` asks for those of `habits` as well, which
    looks at every game of the library.
    """

    filters: Filters = field(default_factory=Filters)
    lesson: Lesson | None = None
    since: date | None = None
    habits: bool = False


def student(
    library: Library, who: Who, options: StudentOptions, findings: Findings | None = None
) -> StudentAnswer:
    """A student's own games: what is played, what costs, whether it got better.

    ``findings`` are shared by the students of a class: discovery takes longest. NothingFound
    when the library knows none of the names, or no game of theirs passes the filters.
    """
    filters = replace(options.filters, player=who.names[0], side=None, since=None)
    with library.reading() as (cursor, facts):
        found = find(cursor, who.names)
        games = own_games(cursor, facts, filters, found.ids)
        if not len(games):
            raise _no_games(who, games)
    levels, by = level_of(who, filters.levels, games, filters.cuts)
    crowd = Crowd(levels, with_neighbours(levels, by, filters.cuts), found.ids, filters)
    chances = (findings or Findings(library)).chances(crowd.asked)
    with library.reading() as (cursor, facts):
        answer = _Asked(cursor, facts, games, crowd, chances, options).answer(found, by)
    if not options.habits:
        return answer
    level = replace(filters, player=None, levels=())
    try:
        return replace(answer, habits=habits(library, level, found.names))
    except NothingFound:  # no game with a move from the normal start
        return answer


def _no_games(who: Who, games: OwnGames) -> NothingFound:
    both = (
        f" ({games.both_sides} with the name on both sides are left out)"
        if games.both_sides
        else ""
    )
    return NothingFound(
        f"player {who.names[0]!r}: no game of theirs passes the filters{both}; loosen them"
    )


@dataclass(frozen=True, eq=False)
class _Asked:
    """Everything that the sections are counted on."""

    cursor: DuckDBPyConnection
    facts: Facts
    games: OwnGames
    crowd: Crowd
    chances: list[Chance]
    options: StudentOptions

    def answer(self, found: Found, level_by: str) -> StudentAnswer:
        games, lines, lesson = self.games, Lines(), self.options.lesson
        trees = trees_of(games, lines)
        others = others_at(self.cursor, self.facts, self._whites(trees), self.crowd)
        wide = label_of(self.crowd.wide)
        tally = tally_of(games, self.chances, others.level, wide)
        course = course_of(games, lesson) if lesson else None
        beside = against(course, tuple(warnings_of(course.lesson))) if course else None
        costs = costs_of(games, trees, lines, others.wide, wide)
        few = len(games) < FEW_GAMES
        name = found.names[0]
        rates = {"mistakes": tally.made, "punished": tally.punished}
        if course:
            rates["kept"] = course.turns
        measured = Measured(games, rates, course.left_at if course else None)
        filters = replace(self.crowd.filters, player=name)
        return StudentAnswer(
            student=name,
            names=found.names,
            not_found=found.not_found,
            doubts=doubts_of(games),
            filters=filters,
            source=source_of(self.cursor, self.facts, filters, found.ids, games),
            level=levels_label(self.crowd.levels),
            level_by=level_by,
            few=few,
            short=short_of(games),
            plays=own_trees(games, trees, lines, others.level),
            lesson=beside,
            costs=costs,
            mistakes=tally.listed,
            better=better_of(measured, self.options.since),
            practise=() if few else practise_of(tally.listed, costs, beside, lesson),
            won=short_games(self.cursor, games, lines, name, True),
            lost=short_games(self.cursor, games, lines, name, False),
        )

    def _whites(self, trees: tuple[Tree, ...]) -> dict[int, bool]:
        """The positions to be asked about: whether White is to move there, by key."""
        met = {node.key: tree.side == "white" for tree in trees for node in tree.nodes}
        visited = self.games.visits.choices
        for chance in self.chances:
            if len(visited.at(chance.key)):
                met[chance.key] = chance.side == "white"
        return met
