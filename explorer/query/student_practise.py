"""What a student can practise next: at most three positions, each with the move to find."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from explorer.positions.exercise import Exercise, lesson_exercises
from explorer.positions.lesson import Lesson
from explorer.positions.typed import parse_position
from explorer.query.exercises import Origin, Worksheet
from explorer.query.student_model import (
    AgainstLesson,
    Costs,
    Listed,
    OwnMistake,
    Practise,
    StudentAnswer,
)
from explorer.query.student_numbers import LEAST_CASES, own_rate
from explorer.query.where import COLOURS
from ingest.poskey import format_key

SHOWN = 3
OFTEN = 0.2


def practise_of(
    listed: Listed, costs: Costs, against: AgainstLesson | None, lesson: Lesson | None
) -> tuple[Practise, ...]:
    """What went wrong most often and is not over; a position once.

    It went wrong LEAST_CASES times at least, and in OFTEN of its chances.
    """
    items = [
        *(_lesson_items(against, lesson) if against and lesson else ()),
        *_mistakes([*listed.made, *listed.punished]),
        *_costs(costs),
    ]
    chosen: dict[str, Practise] = {}
    often = [item for item in items if (item.own.share or 0.0) >= OFTEN]
    for item in sorted(often, key=lambda item: -item.own.cases):
        chosen.setdefault(item.key, item)
    return tuple(chosen.values())[:SHOWN]


def _lesson_items(against: AgainstLesson, lesson: Lesson) -> Iterator[Practise]:
    exercises = {format_key(one.key): one for one in lesson_exercises(lesson)}
    for place in against.places:
        wrong = place.kept.games - place.kept.cases
        if wrong < LEAST_CASES or place.over or place.key not in exercises:
            continue
        yield Practise(
            kind="lesson",
            side=against.side,
            line=place.line,
            fen=place.fen,
            key=place.key,
            played=place.missed,
            answer=place.taught,
            solution=exercises[place.key].solution,
            own=own_rate(wrong, place.kept.games),
            last=place.last_missed,
        )


def _mistakes(rows: Sequence[OwnMistake]) -> Iterator[Practise]:
    for row in rows:
        made = row.what == "made"
        wrong = row.own.cases if made else row.own.games - row.own.cases
        if wrong < LEAST_CASES or row.over or row.answer is None or row.answer_uci is None:
            continue
        yield Practise(
            kind="mistake" if made else "punish",
            side=row.side,
            line=row.line,
            fen=row.fen,
            key=row.key,
            played=row.costly.san if made else None,
            answer=row.answer,
            solution=(row.answer_uci,),
            own=own_rate(wrong, row.own.games),
            last=row.last,
        )


def _costs(costs: Costs) -> Iterator[Practise]:
    for cost in costs.found:
        if not cost.over:
            yield Practise(
                kind="cost",
                side=cost.side,
                line=cost.line,
                fen=cost.fen,
                key=cost.key,
                played=cost.san,
                answer=cost.favoured.san,
                solution=(cost.favoured.uci,),
                own=cost.own,
                last=cost.last,
            )


def practice_sheet(answer: StudentAnswer) -> Worksheet:
    """The items as a worksheet, of both colours maybe; none that begins a game.

    Every name of the student is among the people whom a page must not name.
    """
    people = (*answer.source.people, *answer.names, *answer.not_found)
    items = [item for item in answer.practise if item.line]
    exercises = tuple(Exercise(parse_position(item.line), item.solution) for item in items)
    return Worksheet(
        side=items[0].side if items else COLOURS[0],
        title="",
        exercises=exercises,
        of=len(exercises),
        of_mistakes=0,
        seed=None,
        weighed=False,
        origin=Origin(answer.filters, replace(answer.source, people=people)),
        practised=True,
    )
