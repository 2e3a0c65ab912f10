"""`week`: what a class played since a day, and three positions to talk about.

Games count by the day on which they were played, not by the day on which they were added: a
teacher may add a whole season at once.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date

import chess
import numpy as np
from duckdb import DuckDBPyConnection

from explorer.positions.lesson import Lesson
from explorer.query.filters import Filters
from explorer.query.library import Facts, Library
from explorer.query.model import Source
from explorer.query.moves import unpack
from explorer.query.student_games import OwnGames, own_games, source_of
from explorer.query.student_lesson import against, course_of
from explorer.query.student_listed import Chance, Findings
from explorer.query.student_model import AgainstLesson
from explorer.query.student_numbers import own_rate, results_of
from explorer.query.student_others import Crowd
from explorer.query.student_parts import OwnRate, Results
from explorer.query.student_who import find, level_of, with_neighbours
from explorer.query.whole_class import Pupil
from ingest.errors import NothingFound
from ingest.levels import Level
from ingest.poskey import format_key

TO_SHOW = 3


@dataclass(frozen=True, slots=True)
class WeekStudent:
    """What one student played since the day.

    ``number`` is the place in the class, from 0. ``met`` counts games that came to a taught
    position, ``kept`` the taught moves played of the turns at which one was taught; both are
    None without a lesson. ``made``: listed mistakes made, of the chances; ``punished``: those of
    opponents punished, of the chances.
    """

    number: int
    student: str
    results: Results
    met: int | None
    kept: OwnRate | None
    made: OwnRate
    punished: OwnRate


@dataclass(frozen=True, slots=True)
class ToShow:
    """A position to talk about.

    ``kind``: "lesson" (a taught move), "mistake" (a listed one that the class made) or "punish"
    (one that opponents made). ``missed`` of ``met`` times it went wrong, with ``by`` students;
    ``played`` is what was played most where it did. ``answer`` is the move to find, None where the
    numbers know none.
    """

    kind: str
    side: str
    line: str
    fen: str
    key: str
    answer: str | None
    answer_uci: str | None
    played: str | None
    missed: int
    met: int
    by: int
    students: int


@dataclass(frozen=True, slots=True)
class WeekAnswer:
    """What a class played since a day. ``absent`` are members, by place, without a game since.

    ``not_found`` says of members whom the library does not know why, by place. ``to_show``: what
    most students missed first. ``source.vague_dates`` games may or may not be of these days.
    """

    since: date
    filters: Filters
    source: Source
    students: tuple[WeekStudent, ...]
    absent: tuple[int, ...]
    not_found: tuple[tuple[int, str], ...]
    to_show: tuple[ToShow, ...]


@dataclass(frozen=True, slots=True)
class _Seen:
    """One position in one student's games: how often met, how often missed, with what."""

    number: int
    kind: str
    side: str
    line: str
    fen: str
    key: str
    answer: str | None
    answer_uci: str | None
    played: str | None
    missed: int
    met: int


def week(
    library: Library,
    pupils: Sequence[Pupil],
    since: date,
    filters: Filters | None = None,
    findings: Findings | None = None,
) -> WeekAnswer:
    """What each pupil played from ``since`` on, and what to show to all of them.

    ``filters`` choose the games as for `student`. NothingFound when nobody played a game.
    """
    filters = replace(filters or Filters(), player=None, side=None, since=since)
    findings = findings or Findings(library)
    students, absent, not_found, sources = [], [], [], []
    seen: list[_Seen] = []
    for number, pupil in enumerate(pupils):
        try:
            played = _played(library, pupil, filters)
        except NothingFound as error:
            not_found.append((number, str(error)))
            continue
        sources.append(played.source)
        if not len(played.games):
            absent.append(number)
            continue
        chances = findings.chances(played.crowd.asked)
        beside = played.beside(pupil.lesson)
        listed = [*_listed(played.games, chances, number)]
        seen += [*(_taught(beside, number) if beside else ()), *listed]
        students.append(_student(number, pupil, played.games, beside, listed))
    if not students:
        raise NothingFound(
            f"no game of the class since {since}; choose an earlier day, or add the games first"
        )
    return WeekAnswer(
        since=since,
        filters=filters,
        source=_together(sources),
        students=tuple(students),
        absent=tuple(absent),
        not_found=tuple(not_found),
        to_show=tuple(_to_show(seen)),
    )


@dataclass(frozen=True)
class _Played:
    """One pupil's games since the day, and who the others are."""

    games: OwnGames
    crowd: Crowd
    source: Source

    def beside(self, lesson: Lesson | None) -> AgainstLesson | None:
        return against(course_of(self.games, lesson), ()) if lesson else None


def _played(library: Library, pupil: Pupil, filters: Filters) -> _Played:
    """NothingFound when the library knows none of the names."""
    with library.reading() as (cursor, facts):
        found = find(cursor, pupil.who.names)
        games = own_games(cursor, facts, filters, found.ids)
        levels = _levels(cursor, facts, pupil, filters, found.ids)
        source = source_of(cursor, facts, filters, found.ids, games)
    return _Played(games, Crowd(*levels, found.ids, filters), source)


def _levels(
    cursor: DuckDBPyConnection,
    facts: Facts,
    pupil: Pupil,
    filters: Filters,
    ids: tuple[int, ...],
) -> tuple[tuple[Level, ...], tuple[Level, ...]]:
    """The pupil's level by all games, as on the pupil's own page, and it with its neighbours."""
    every = own_games(cursor, facts, replace(filters, since=None), ids)
    levels, by = level_of(pupil.who, filters.levels, every, filters.cuts)
    return levels, with_neighbours(levels, by, filters.cuts)


def _student(
    number: int,
    pupil: Pupil,
    games: OwnGames,
    beside: AgainstLesson | None,
    listed: Sequence[_Seen],
) -> WeekStudent:
    def rate(kind: str) -> tuple[int, int]:
        rows = [one for one in listed if one.kind == kind]
        return sum(one.missed for one in rows), sum(one.met for one in rows)

    made, missed = rate("mistake"), rate("punish")
    return WeekStudent(
        number=number,
        student=pupil.who.names[0],
        results=results_of("all", games.points, games.over),
        met=beside.met if beside else None,
        kept=beside.kept if beside else None,
        made=own_rate(*made),
        punished=own_rate(missed[1] - missed[0], missed[1]),
    )


def _taught(beside: AgainstLesson, number: int) -> Iterator[_Seen]:
    """The taught positions that one student met."""
    for place in beside.places:
        yield _Seen(
            number=number,
            kind="lesson",
            side=beside.side,
            line=place.line,
            fen=place.fen,
            key=place.key,
            answer=place.taught,
            answer_uci=chess.Board(place.fen).parse_san(place.taught).uci(),
            played=place.missed,
            missed=place.kept.games - place.kept.cases,
            met=place.kept.games,
        )


def _listed(games: OwnGames, chances: Sequence[Chance], number: int) -> Iterator[_Seen]:
    """The listed mistakes that came up in one student's games."""
    visits = games.visits.choices
    for chance in chances:
        here = visits.at(chance.key)
        if not len(here):
            continue
        moves = visits.move[here]
        wrong = chance.wrong(moves)
        board, made = chance.position.board(), chance.what == "made"
        instead = chance.costly.instead.san if chance.costly.instead else None
        answer = instead if made else chance.costly.punisher
        yield _Seen(
            number=number,
            kind="mistake" if made else "punish",
            side=chance.side,
            line=chance.position.numbered,
            fen=chance.position.fen,
            key=format_key(chance.key),
            answer=answer,
            answer_uci=board.parse_san(answer).uci() if answer else None,
            played=_commonest(moves[wrong].tolist(), chance),
            missed=int(np.count_nonzero(wrong)),
            met=len(here),
        )


def _commonest(moves: Sequence[int], chance: Chance) -> str | None:
    if not moves:
        return None
    packed = max(sorted(set(moves)), key=moves.count)
    return chance.position.board().san(unpack(packed))


def _to_show(seen: Sequence[_Seen]) -> list[ToShow]:
    """What most students missed, then what was missed most often, then what was met most."""
    places: dict[tuple[str, str, str | None], list[_Seen]] = {}
    for one in seen:
        places.setdefault((one.key, one.kind, one.answer), []).append(one)
    every = [_shown(rows) for rows in places.values()]
    every.sort(key=lambda one: (-one.by, -one.missed, -one.met, one.line, one.kind))
    chosen: dict[str, ToShow] = {}
    for place in every:
        if place.line:  # the start of the game is no question
            chosen.setdefault(place.key, place)
    return list(chosen.values())[:TO_SHOW]


def _shown(rows: Sequence[_Seen]) -> ToShow:
    worst = max(rows, key=lambda row: row.missed)
    return ToShow(
        kind=worst.kind,
        side=worst.side,
        line=worst.line,
        fen=worst.fen,
        key=worst.key,
        answer=worst.answer,
        answer_uci=worst.answer_uci,
        played=worst.played,
        missed=sum(row.missed for row in rows),
        met=sum(row.met for row in rows),
        by=sum(row.missed > 0 for row in rows),
        students=len(rows),
    )


def _together(sources: Sequence[Source]) -> Source:
    """Where the games of all of them are from."""
    first = sources[0]
    return replace(
        first,
        collections=tuple(sorted({name for one in sources for name in one.collections})),
        vague_dates=sum(one.vague_dates for one in sources),
        rating_scales=tuple(sorted({scale for one in sources for scale in one.rating_scales})),
    )
