"""The worksheet's page: every exercise once, the answers apart, the same bytes each time."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date

import pytest

from explorer.report.sheet import PageOptions
from explorer.report.worksheet_page import worksheet_page
from tests.support.answers import make_source
from tests.support.worksheets import long_worksheet, make_worksheet, weighed_worksheet

PLAIN = PageOptions(
    "replybook worksheet lesson.pgn --as white",
    date(2026, 3, 1),
    words=("worksheet", "lesson.pgn", "--as", "white"),
)


def text_of(page: str) -> str:
    page = re.sub(r"<(style|script|svg)\b.*?</\1>", " ", page, flags=re.DOTALL)
    return " ".join(re.sub(r"<[^>]+>", " ", page).replace("\u00a0", " ").split())


def test_each_exercise_has_a_number_the_side_to_move_and_the_last_move() -> None:
    text = text_of(worksheet_page(make_worksheet(), PLAIN))
    assert "Your move Lesson: “first” replies Name Date" in text
    assert "Exercises 1 to 6 1 White to move Black has just played 1... e5. 2 White" in text
    assert text.index("Answers") > text.index("6 White to move")


def test_the_answers_give_line_reason_and_the_teachers_words() -> None:
    text = text_of(worksheet_page(make_worksheet(), PLAIN))
    assert (
        "2. Nf3 Nc6 3. Bc4 – Attacks e5. Attacks {e5. Also 2. Bc4: Also sound. "
        "Not 2. Qh5: Too early."
    ) in text
    assert "3. Nxe5 fxe5 4. Qh5+ g6 5. Qxe5+ Qe7 6. Qxh8 – At the end White is ahead by" in text


@pytest.mark.parametrize(
    ("count", "a_page", "pages"), [(12, 6, 2), (16, 8, 2), (8, 4, 2), (13, 6, 3), (1, 8, 1)]
)
def test_as_many_diagrams_stand_on_a_page_as_asked(count: int, a_page: int, pages: int) -> None:
    page = worksheet_page(long_worksheet(count), PLAIN, a_page)
    assert len(re.findall('class="exercises ', page)) == pages
    assert page.count('class="exercise"') == page.count('class="write"') == count


def test_the_side_to_move_has_a_sign_that_needs_no_colour() -> None:
    """Hollow for White, filled for Black; the diagrams have it too."""
    white = worksheet_page(make_worksheet(), PLAIN)
    assert white.count('fill="none" stroke="currentColor"') == 7
    black = replace(make_worksheet().exercises[0].position.after("g1f3"))
    one = replace(make_worksheet().exercises[0], position=black, solution=("b8c6",))
    page = worksheet_page(make_worksheet(side="black", exercises=(one,)), PLAIN)
    assert 'fill="currentColor" stroke="currentColor"' in page
    assert "Black to move" in page


def test_without_a_library_nothing_is_said_of_games() -> None:
    text = text_of(worksheet_page(make_worksheet(), PLAIN))
    assert "no library was asked" in text
    assert "Collections" not in text
    assert "replybook worksheet lesson.pgn --as white" in text


def test_with_a_library_the_foot_says_which_games() -> None:
    text = text_of(worksheet_page(weighed_worksheet(), PLAIN))
    assert "Games chosen Opponents rated 800 to 1199, any pace." in text
    assert "Found in 5 of 12 games." in text


def test_the_same_arguments_give_the_same_bytes() -> None:
    assert worksheet_page(make_worksheet(), PLAIN) == worksheet_page(make_worksheet(), PLAIN)


def test_letters_and_large_print_are_as_asked() -> None:
    usual = worksheet_page(make_worksheet(), PLAIN)
    page = worksheet_page(make_worksheet(), replace(PLAIN, letters="de", large=True), 4)
    assert '<html lang="en" class="large">' in page
    assert 'class="large"' not in usual
    assert 'font-size="18"' in page
    assert "3. Sxe5 fxe5 4. Dh5+" in text_of(page).replace("–", "")


def test_a_title_and_a_command_that_name_a_student_are_veiled() -> None:
    source = replace(make_source(), people=("Doe, Jane",))
    sheet = weighed_worksheet(title="For Jane Doe")
    assert sheet.origin is not None
    sheet = replace(sheet, origin=replace(sheet.origin, source=source))
    command = ("worksheet", "l.pgn", "--collection", "Jane Doe")
    options = replace(PLAIN, command=f"replybook {' '.join(command)}", words=command)
    page = worksheet_page(sheet, options)
    assert "Jane" not in page
    assert "replybook-command" not in page
    full = worksheet_page(sheet, replace(options, names="full"))
    assert 'content="worksheet l.pgn --collection &#39;Jane Doe&#39;"' in full
