"""The handout: what a student takes home, with or without numbers, and never a name."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date

import chess
import pytest

from explorer.positions.lesson import read_lesson
from explorer.report.handout_page import handout_page
from explorer.report.handout_words import way
from explorer.report.sheet import PageOptions
from tests.support.answers import make_source
from tests.support.lessons_met import (
    key_after,
    make_answer,
    make_lesson,
    make_met,
    make_replies,
)
from tests.support.worksheets import SAMPLE

PLAIN = PageOptions(
    "replybook handout first.pgn --as white",
    date(2026, 3, 1),
    words=("handout", "first.pgn", "--as", "white"),
)


def text_of(page: str) -> str:
    page = re.sub(r"<(style|script|svg)\b.*?</\1>", " ", page, flags=re.DOTALL)
    page = re.sub(r"</?(b|i)\b[^>]*>", "", page)
    return " ".join(re.sub(r"<[^>]+>", " ", page).replace("\u00a0", " ").split())


def test_key_positions_come_by_how_often_they_are_met() -> None:
    text = text_of(handout_page(make_lesson(), make_met(), PLAIN))
    assert text.split("Positions to know ")[1].startswith(
        "1. e4 e5 2. Nf3 Nc6 Play 3. Bc4 1. e4 e5 2. Nf3 Nc6 3. Bc4 Bc5 Play 4. c3 "
        "1. e4 c5 2. Nf3 d6 Play 3. d4 Open it: Nf3 waits. "
        "1. e4 e5 2. Nf3 f6 Play 3. Nxe5 1. e4 c5 2. Nf3 Nc6 Play 3. Bb5 "
        "1. e4 e5 2. Nf3 f6 3. Nxe5 fxe5 Play 4. Qh5+ Three things to remember"
    )


def test_replies_stand_with_how_often_they_come_and_the_answer() -> None:
    text = text_of(handout_page(make_lesson(), make_met(), PLAIN))
    rows = text.split("They play Of 100 games Seen there You play ")[1]
    assert rows.startswith(
        "1. e4 1... e5 57 230 of 400 2. Nf3 "
        "1. e4 e5 2. Nf3 2... Nc6 41 150 of 210 3. Bc4 "
        "1. e4 1... c5 20 80 of 400 2. Nf3 "
        "1. e4 e5 2. Nf3 Nc6 3. Bc4 3... Bc5 18 60 of 140† 4. c3 "
        "1. e4 c5 2. Nf3 2... d6 5.0* 3 of 12 3. d4 "
        "1. e4 e5 2. Nf3 2... f6 1.1 4 of 210 3. Nxe5 "
    )
    assert "1. e4 e5 2. Nf3 f6 3. Nxe5 3... fxe5 – – 4. Qh5+" in text


def test_the_student_is_told_what_the_check_says_and_what_to_do_then() -> None:
    text = text_of(handout_page(make_lesson(), make_met(), PLAIN))
    assert (
        "Of 100 games with White against players rated 800 to 1199, you still know your move 5 "
        "in 34. In 62 they have played something else by then: write it down and bring it"
    ) in text


def test_the_level_is_that_of_the_opponents() -> None:
    text = text_of(handout_page(make_lesson(), make_met(), PLAIN))
    assert "Games chosen Opponents rated 800 to 1199, any pace." in text


def test_too_few_games_are_no_claim() -> None:
    answer = make_answer()
    few = (*answer.levels[:-1], replace(answer.whole, games=29))
    met = make_met(answer=replace(answer, levels=few))
    text = text_of(handout_page(make_lesson(), met, PLAIN))
    assert "There are too few games to say how often you still know your move 5." in text
    assert "Of 100 games with White against" not in text


def test_without_a_library_the_moves_stand_alone_and_the_page_says_why() -> None:
    page = handout_page(make_lesson(), None, PLAIN, "No library was asked.")
    text = text_of(page)
    assert "After They play You play 1. e4 1... e5 2. Nf3 1. e4 1... c5 2. Nf3" in text
    assert "No library was asked. Early replies stand first" in text
    for word in ("Of 100", "%", "Collections", "Seen there", "†", "*"):
        assert word not in text


def test_three_ruled_lines_and_a_line_for_the_name_are_left_blank() -> None:
    page = handout_page(make_lesson(), make_met(), PLAIN)
    assert page.count('<span class="write"></span>') == 3
    assert "You play White Name Date Positions to know" in text_of(page)


@pytest.mark.parametrize(("large", "pictures", "rows"), [(False, 6, 16), (True, 4, 8)])
def test_a_long_lesson_is_cut_to_what_fits(large: bool, pictures: int, rows: int) -> None:
    lesson = read_lesson(str(SAMPLE), "white")
    page = handout_page(lesson, None, replace(PLAIN, large=large))
    assert page.count('class="diagram"') == pictures
    assert page.count('<tr><th scope="row"') == rows
    assert f"The lesson answers {50 - rows} more replies." in page
    assert ('font-size="18"' in page) == large
    # In large print there is room for notes on the second page only.
    assert (page.index("Three things") > page.index("They play")) == large


def test_one_more_reply_is_said_to_be_one() -> None:
    board = chess.Board("rnbqkbnr/pppppppp/8/8/4P3/8/PPPP1PPP/RNBQKBNR b KQkq - 0 1")
    others = sorted({board.san(move) for move in board.legal_moves} - {"e5"})[:16]
    moves = " ".join(f"(1... {reply} 2. c3)" for reply in others)
    page = handout_page(make_lesson(f"1. e4 e5 {moves} 2. Nf3 *"), None, PLAIN)
    assert "The lesson answers 1 more reply." in page


def test_for_black_the_first_row_is_at_the_start() -> None:
    lesson = make_lesson("1. e4 (1. d4 d5) e5 2. Nf3 Nc6 *", "black")
    met = make_met(
        replies={key_after(""): make_replies({"e2e4": 60, "d2d4": 30}, 100)},
        in_100={key_after("e4"): 60.0, key_after("d4"): 30.0},
        answer=make_answer(side="black"),
    )
    text = text_of(handout_page(lesson, met, replace(PLAIN, view="black")))
    assert "You play the start 1. e4 60 60 of 100 1... e5 the start 1. d4 30 30 of 100 1..." in text


def test_replies_before_the_start_are_not_in_the_table() -> None:
    met = make_met(answer=make_answer(start="1. e4 e5"))
    rows = text_of(handout_page(make_lesson(), met, PLAIN)).split("You play ")[-1]
    assert rows.startswith("1. e4 e5 2. Nf3 2... Nc6 41 150 of 210 3. Bc4")
    assert "1. e4 1... e5" not in rows


def test_first_moves_have_diagrams_only_where_there_is_nothing_else() -> None:
    page = handout_page(make_lesson("1. e4 e5 (1... c5 2. Nf3) 2. Nf3 *"), None, PLAIN)
    assert page.count('class="diagram"') == 2


def test_no_name_is_ever_on_it() -> None:
    lesson = make_lesson('[Event "For Jane Doe"]\n\n1. e4 e5 2. Nf3 { Jane Doe\'s move. } Nc6 *')
    source = replace(make_source(), people=("Doe, Jane",), collections=("Jane Doe",))
    met = make_met(answer=make_answer(source=source))
    command = "replybook handout l.pgn --collection 'Jane Doe'"
    page = handout_page(lesson, met, replace(PLAIN, names="full", command=command))
    assert "Jane" not in page
    assert "J. D." in page


def test_letters_are_those_of_the_language_and_bytes_are_the_same() -> None:
    options = replace(PLAIN, letters="de")
    page = handout_page(make_lesson(), make_met(), options)
    assert page == handout_page(make_lesson(), make_met(), options)
    text = text_of(page)
    assert "1. e4 c5 2. Sf3 d6 Play 3. d4 Open it: Sf3 waits." in text
    assert "2... Sc6 41 150 of 210 3. Lc4" in text


def test_what_the_teacher_wrote_is_escaped() -> None:
    page = handout_page(make_lesson("1. e4 e5 2. Nf3 Nc6 3. Bc4 { <b>x</b> } *"), None, PLAIN)
    assert "&lt;b&gt;x&lt;/b&gt;" in page
    long = "word " * 30
    page = handout_page(make_lesson(f"1. e4 e5 2. Nf3 Nc6 3. Bc4 {{ {long} }} *"), None, PLAIN)
    assert "word word" not in page


def test_a_long_way_is_told_from_its_last_moves_on() -> None:
    moves = re.findall(r"\S+", "e4 e5 Nf3 Nc6 Bc4 Bc5 c3 Nf6 d3 d6 O-O O-O Re1 a6 Bb3 Ba7")
    told = way(moves, "de")
    assert told == "… 4. c3 Sf6 5. d3 d6 6. O-O O-O 7. Te1 a6 8. Lb3 La7"
    assert way(moves[:6]) == "1. e4 e5 2. Nf3 Nc6 3. Bc4 Bc5"


def test_a_long_title_is_cut() -> None:
    page = handout_page(make_lesson(f'[Event "{"word " * 40}"]\n\n1. e4 e5 2. Nf3 *'), None, PLAIN)
    assert "word …</h1>" in page
