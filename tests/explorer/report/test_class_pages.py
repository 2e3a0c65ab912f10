"""The overview of a class and the Monday page, from answers made by hand."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from html import unescape

from explorer.report.overview_page import Entry, overview_page
from explorer.report.sheet import PageOptions
from explorer.report.week_page import week_page
from tests.support import student_answers as made
from tests.support.class_answers import (
    LABELS,
    NAMES,
    NO_LESSON,
    SHOWN,
    STUDENTS,
    entries,
    week_answer,
)

OPTIONS = PageOptions("replybook class quill.toml", date(2026, 3, 9), words=("class", "quill.toml"))


def text(html: str) -> str:
    """What a reader reads, on one line, with plain signs."""
    body = re.sub(r"<(style|svg)\b.*?</\1>", " ", html, flags=re.DOTALL)
    plain = unescape(re.sub(r"<[^>]+>", " ", body)).replace("\u00a0", " ")
    return " ".join(plain.replace("−", "-").replace("–", "-").split())


def overview(missing: tuple[str, ...] = ()) -> str:
    return overview_page(entries(), missing, OPTIONS, NAMES)


def test_a_row_for_each_student_with_the_way_to_the_page() -> None:
    html = overview()
    assert '<a href="student-01-EQ.html">E. Q. (1)</a>' in html
    read = text(html)
    assert "E. Q. (1) 130 +0.01 (-0.08 to +0.10) 129 18 of 40 20 of 35 2 of 5" in read
    assert "E. Q. (2) 130 - 0 - 20 of 35 2 of 5" in read
    assert "A. V. 130 +0.20* 9 18 of 40 - -" in read


def test_habits_are_told_where_a_student_differs() -> None:
    read = text(overview())
    told = "To practise: castling by move 10. Ahead of the others: bringing pieces out by move 8."
    assert read.count(told) == 2
    plain = overview_page([Entry("A. V.", "a.html", made.answer(habits=None))], (), OPTIONS, NAMES)
    assert "Habits in the opening" not in plain


def test_an_aim_by_several_moves_is_told_once() -> None:
    habits = made.habits()
    first = habits.habits[0]
    later = replace(first, id="castled_by_12")
    told = replace(habits, habits=(first, later))
    html = overview_page([Entry("A. V.", "a.html", made.answer(habits=told))], (), OPTIONS, NAMES)
    assert "To practise: castling by move 12." in text(html)
    assert "castling by move 10" not in html


def test_who_has_no_page_and_who_may_be_two_is_told() -> None:
    read = text(overview(("B. O.",)))
    assert "Without a page, because the library has no games: B. O. " in read
    assert "Please check whether this is one person each: E. Q. (2)." in read


def test_no_name_of_the_class_is_on_the_overview() -> None:
    """Not in the command either, which the foot shows."""
    html = overview().casefold()
    for name in ("quill", "edda", "quinn", "ella", "vale", "thornbury"):
        assert name not in html


def week(**changes: object) -> str:
    return week_page(week_answer(**changes), LABELS, OPTIONS, NAMES)


def test_the_week_in_short() -> None:
    read = text(week())
    shared = "one between two of them counts for each"
    assert f"2 students played 7 games since 2 March 2026; {shared}." in read
    assert "1 student met the lesson: of 13 taught answers 9 were found." in read
    assert "Listed mistakes: made in 1 of 3 chances; those of opponents punished in 1 of 2." in read
    assert "No game since then: A. V. " in read
    assert "2 games left out: the date is too vague" in read
    one = replace(STUDENTS[0], kept=made.own(1, 1))
    other = text(week(students=(one,), absent=(), not_found=((1, "no such name"),)))
    assert "of 1 taught answer 1 was found" in other
    assert "Not known to the library: E. Q. (2)." in other
    assert "met the lesson" not in text(week(students=(NO_LESSON,)))


def test_three_positions_each_with_a_diagram_a_question_and_an_answer() -> None:
    html = week()
    read = text(html)
    assert html.count('class="diagram"') == 3
    assert "Three positions to show" in read
    assert (
        "1. White to move What does the lesson teach here? After 2... Nc6. The answer was missed 5 "
        "times in 9, by 3 students; most often 3. Bb5 was played."
    ) in read
    assert "After 2. Nf3. 2... f6 was played twice in 9, by 1 student." in read
    assert "After 2... f6. Found every time: 2 of 2." in read
    assert "Answers: 1 3. Bc4; 2 to be talked about; 3 3. Nxe5." in read
    gone = replace(SHOWN[2], missed=1, by=1)
    alone = text(week(to_show=(gone,)))
    assert "Positions to show" in alone
    assert "The answer was missed once in 2, by 1 student." in alone
    assert "to show" not in text(week(to_show=()))


def test_the_weeks_table_says_who_met_what() -> None:
    read = text(week())
    assert "E. Q. (1) 6 3, 1, 2 4 9 4 1 of 3 1 of 2" in read
    assert "E. Q. (2) 1 0, 0, 1 - - - - -" in read


def test_no_name_is_on_the_week() -> None:
    html = week().casefold()
    for name in ("quill", "edda", "quinn", "ella", "vale"):
        assert name not in html
    assert "the games of e. q." in html  # a collection


def test_a_week_from_nowhere_says_so() -> None:
    assert "Collections none" in text(week(source=replace(made.SOURCE, collections=())))


def test_the_bytes_depend_on_the_arguments_alone() -> None:
    assert overview() == overview()
    assert week() == week()


def test_what_names_say_is_text_on_the_pages() -> None:
    evil = "<script>alert(1)</script>"
    full = replace(OPTIONS, names="full", command=f"replybook class '{evil}'")
    labels = (evil, evil, evil)
    for html in (
        overview_page([Entry(evil, "a.html", made.answer())], (evil,), full, (evil,)),
        week_page(week_answer(), labels, full, labels),
    ):
        assert "<script>alert" not in html
        assert "&lt;script&gt;" in html
