"""`class`: what `student` says, of each member of a class."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from explorer.positions.lesson import Lesson
from explorer.query.library import Library
from explorer.query.student import StudentOptions, student
from explorer.query.student_listed import Findings
from explorer.query.student_model import StudentAnswer
from explorer.query.student_who import Who
from ingest.errors import NothingFound


@dataclass(frozen=True)
class Pupil:
    """A member of the class, with the lesson that is taught to this one."""

    who: Who
    lesson: Lesson | None = None


@dataclass(frozen=True, slots=True)
class Told:
    """One member by place in the class, from 0: the answer, or why there is none."""

    number: int
    answer: StudentAnswer | None
    why_not: str = ""


def whole_class(
    library: Library, pupils: Sequence[Pupil], options: StudentOptions
) -> Iterator[Told]:
    """Each member in turn; what discovery finds for a level is asked for once.

    ``options.lesson`` is that of members who have none of their own.
    """
    findings = Findings(library)
    for number, pupil in enumerate(pupils):
        own = replace(options, lesson=pupil.lesson or options.lesson)
        try:
            yield Told(number, student(library, pupil.who, own, findings))
        except NothingFound as error:
            yield Told(number, None, str(error))
