"""A class made by hand: the rows of its overview, and the answer of `week`. Names are invented."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from explorer.query.filters import Filters
from explorer.query.student_parts import Doubt, OwnMean
from explorer.query.week import ToShow, WeekAnswer, WeekStudent
from explorer.report.overview_page import Entry
from tests.support import student_answers as made

NAMES = (made.NAME, "Quinn, Ella", "Vale, Ada")
LABELS = ("E. Q. (1)", "E. Q. (2)", "A. V.")


def entries() -> list[Entry]:
    """One of whom everything is said, one without ratings and lesson, one with few of them."""
    whole, *rest = made.short().results
    unrated = replace(
        made.short(), results=(replace(whole, over_expected=OwnMean(None, None, None, 0)), *rest)
    )
    few = replace(
        made.short(), results=(replace(whole, over_expected=made.mean(0.2, 0.3, 9)), *rest)
    )
    return [
        Entry(LABELS[0], "student-01-EQ.html", made.answer()),
        Entry(
            LABELS[1],
            "student-02-EQ.html",
            made.answer(
                short=unrated, lesson=None, habits=None, doubts=(Doubt("itself", None, None, 1),)
            ),
        ),
        Entry(
            LABELS[2],
            "student-03-AV.html",
            made.answer(short=few, mistakes=made.eight().mistakes),
        ),
    ]


SHOWN = (
    ToShow("lesson", "white", "1. e4 e5 2. Nf3 Nc6", "", "1", "Bc4", "f1c4", "Bb5", 5, 9, 3, 4),
    ToShow("mistake", "black", "1. e4 e5 2. Nf3", "", "2", None, None, "f6", 2, 9, 1, 4),
    ToShow("punish", "white", "1. e4 e5 2. Nf3 f6", "", "3", "Nxe5", "f3e5", None, 0, 2, 0, 1),
)
NO_LESSON = WeekStudent(
    1, NAMES[1], made.results("all", 0, 0, 1), None, None, made.own(0, 0), made.own(0, 0)
)
STUDENTS = (
    WeekStudent(
        0,
        NAMES[0],
        made.results("all", 3, 1, 2),
        4,
        made.own(9, 13),
        made.own(1, 3),
        made.own(1, 2),
    ),
    NO_LESSON,
)


def week_answer(**changes: object) -> WeekAnswer:
    answer = WeekAnswer(
        since=date(2026, 3, 2),
        filters=Filters(),
        source=replace(made.SOURCE, vague_dates=2),
        students=STUDENTS,
        absent=(2,),
        not_found=(),
        to_show=SHOWN,
    )
    return replace(answer, **changes)  # type: ignore[arg-type]
