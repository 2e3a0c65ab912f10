"""`worksheet`: which exercises, from a lesson and from the mistakes of a level."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from duckdb import DuckDBPyConnection

from explorer.numbers.draw import draw
from explorer.positions.exercise import Exercise, lesson_exercises
from explorer.positions.lesson import Lesson
from explorer.positions.typed import parse_position
from explorer.query.costly import costly
from explorer.query.filters import Filters
from explorer.query.library import Library
from explorer.query.mistake_model import Costly
from explorer.query.model import Source
from explorer.query.origin import source_of
from explorer.query.where import Where, where
from ingest.errors import InputError, NothingFound

AT_ONCE = 20  # positions in one query
LOOKED_AT = 200  # findings at most


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a worksheet is to have. ``side`` is the student's ("white" or "black"); ``mistakes``
    asks for those of the opponents; ``seed`` None takes what is met most, else it draws."""

    side: str
    count: int
    seed: int | None = None
    mistakes: bool = False


@dataclass(frozen=True, slots=True)
class Origin:
    """Which games were asked, where a library was."""

    filters: Filters
    source: Source


@dataclass(frozen=True)
class Worksheet:
    """The exercises of a sheet, no two with the same position.

    ``title`` is the lesson's. ``of`` exercises could be chosen from, of which ``of_mistakes``
    are mistakes. ``weighed``: games of the library say which are met more; ``practised``: the
    positions are of one student's own games. ``origin`` is None when no library was asked.
    """

    side: str
    title: str
    exercises: tuple[Exercise, ...]
    of: int
    of_mistakes: int
    seed: int | None
    weighed: bool
    origin: Origin | None
    practised: bool = False


def worksheet(
    lesson: Lesson | None, wanted: Wanted, filters: Filters, library: Library | None = None
) -> Worksheet:
    """Exercises from a lesson's taught moves, and from the mistakes of the opponents' level.

    ``filters.levels`` are the opponents' own. With both, mistakes are half of the sheet and
    are those made at positions of the lesson. InputError when a lesson has nothing to draw
    from, NothingFound when the library has not.
    """
    punish = _mistakes(library, lesson, wanted, filters) if library and wanted.mistakes else []
    taught = list(lesson_exercises(lesson)) if lesson else []
    if lesson and not taught:
        raise InputError(
            f"{lesson.name}: nothing to draw from; it teaches no move after the first one"
        )
    origin = None
    if library is not None:
        with library.reading() as (cursor, facts):
            chosen = where(cursor, facts, filters, opponent_moves=True)
            start = parse_position("")
            origin = Origin(filters, source_of(cursor, facts, start, filters, chosen))
            taught = _met(cursor, taught, chosen)
    known = {one.key: one for one in taught}
    punish = [_as_taught(one, known.get(one.key)) for one in punish]
    half = wanted.count // 2 if taught else wanted.count
    first = _chosen(punish, max(half, wanted.count - len(taught)), wanted.seed)
    rest = [one for one in taught if one.key not in {other.key for other in first}]
    mistakes = {one.key for one in punish}
    return Worksheet(
        side=wanted.side,
        title=lesson.title if lesson else "",
        exercises=(*_chosen(rest, wanted.count - len(first), wanted.seed), *first),
        of=len(known | {one.key: one for one in punish}),
        of_mistakes=len(mistakes),
        seed=wanted.seed,
        weighed=any(one.games for one in (*taught, *punish)),
        origin=origin,
    )


def _chosen(exercises: Sequence[Exercise], count: int, seed: int | None) -> list[Exercise]:
    """Those met most first, or a draw in which they are likelier."""
    weights = [one.games or 0 for one in exercises]
    if seed is None:
        return sorted(exercises, key=lambda one: -(one.games or 0))[:count]
    return [exercises[i] for i in draw(weights, count, seed)]


def _met(cursor: DuckDBPyConnection, exercises: Sequence[Exercise], where: Where) -> list[Exercise]:
    """The exercises with the number of chosen games that came to each."""
    games: dict[int, int] = {}
    for start in range(0, len(exercises), AT_ONCE):
        # Equality by equality: row groups are passed over by `key = ...` only, not by a list.
        asked = " UNION ALL ".join(
            f"SELECT {one.key}::UBIGINT, count(*) FROM visits WHERE key = {one.key} {where.sql}"
            for one in exercises[start : start + AT_ONCE]
        )
        games |= dict(cursor.execute(asked, where.params).fetchall())
    return [replace(one, games=games[one.key]) for one in exercises]


def _mistakes(
    library: Library, lesson: Lesson | None, wanted: Wanted, filters: Filters
) -> list[Exercise]:
    """The opponents' costly replies that can be punished, one for each position after them."""
    opponents = "black" if wanted.side == "white" else "white"
    found = costly(library, parse_position(""), filters, opponents, top=LOOKED_AT).found
    exercises: dict[int, Exercise] = {}
    for one in _to_punish(found, lesson):
        position = parse_position(one.line)
        answer = position.board().parse_san(one.punisher or "").uci()
        punished = (one.punished.cases, one.punished.games) if one.punished else None
        made = Exercise(position, (answer,), games=one.rate.cases, found=punished)
        exercises.setdefault(made.key, made)
    if not exercises and lesson is None:
        raise NothingFound(
            "no reply of this level is sure to cost material, so there is nothing to punish; "
            "choose another level, or give a lesson"
        )
    return list(exercises.values())


def _to_punish(found: Iterable[Costly], lesson: Lesson | None) -> Iterable[Costly]:
    """The mistakes that cost material and have an answer; of a lesson only those it can meet.

    What costs by results alone may be a sound opening that suits few: nothing to punish.
    """
    for one in found:
        costs_material = one.found_by != "results" or (one.punisher or "").endswith("#")
        met = lesson is None or int(one.position.key, 16) in lesson.places
        if one.punisher and costs_material and met:
            yield one


def _as_taught(mistake: Exercise, taught: Exercise | None) -> Exercise:
    """Where the lesson has an answer to the mistake, that is the one to find."""
    return mistake if taught is None else replace(taught, games=mistake.games)
