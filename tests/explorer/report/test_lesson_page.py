"""A lesson set as a book does, with the numbers of `lesson check`."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from datetime import date

import chess.pgn
import pytest

from explorer.report import words
from explorer.report.book import Block, parts
from explorer.report.cards import Look
from explorer.report.lesson_json import lesson_json
from explorer.report.lesson_page import lesson_page
from explorer.report.privacy import Veil
from explorer.report.sheet import PageOptions
from tests.support.answers import make_source
from tests.support.lessons_met import (
    FRENCH,
    TEXT,
    key_after,
    make_answer,
    make_lesson,
    make_met,
    make_replies,
)

PLAIN = PageOptions(
    "replybook lesson page first.pgn --as white",
    date(2026, 3, 1),
    words=("lesson", "page", "first.pgn", "--as", "white"),
)


def text_of(page: str) -> str:
    page = re.sub(r"<(style|script|svg)\b.*?</\1>", " ", page, flags=re.DOTALL)
    page = re.sub(r"</?(b|i|span)\b[^>]*>", "", page)
    return " ".join(re.sub(r"<[^>]+>", " ", page).replace("\u00a0", " ").split())


def set_blocks(text: str = TEXT, side: str = "white", **changes: object) -> list[Block]:
    met = make_met(**changes)
    lesson = make_lesson(text, side)
    return [block for part in parts(lesson, met, Look(side), Veil()) for block in part.blocks]


def told(block: Block) -> str:
    return "".join(run.gap + run.text for run in block.runs)


def paragraphs(text: str = TEXT, side: str = "white", **changes: object) -> list[tuple[int, str]]:
    blocks = set_blocks(text, side, **changes)
    return [(block.depth, told(block)) for block in blocks if block.runs]


def test_the_main_line_goes_on_after_its_variations_which_are_indented() -> None:
    assert paragraphs() == [
        (0, "Begin here."),
        (0, "1. e4 e5 57 % of 400"),
        (1, "1... c5 20 % of 400 Common <b>here</b>. "
            "2. Nf3 d6 3 of 12* (2... Nc6 0 of 12* 3. Bb5)"),
        (1, "3. d4 Open it: Nf3 waits."),
        (0, "2. Nf3 Hits e5."),
        (1, "Also 2. Bc4 Also sound."),
        (1, "Not 2. Qh5 (a poor move) Too early. 2... Nc6 3. Bc4 (a good move) g6"),
        (0, "2... Nc6 71 % of 210"),
        (1, "2... f6 1.9 % of 210 (a very poor move) 3. Nxe5 fxe5 4. Qh5+ Ke7 (4... g6 5. Qxe5+) "
            "5. Qxe5+"),
        (0, "3. Bc4 Bc5 43 % of 140† 4. c3"),
    ]  # fmt: skip


def test_only_the_main_line_is_bold() -> None:
    bold = [run.text for block in set_blocks() for run in block.runs if run.kind == "main"]
    assert bold == ["1. e4", "e5", "2. Nf3", "2... Nc6", "3. Bc4", "Bc5", "4. c3"]


def test_diagrams_stand_before_the_taught_move_the_most_met_first() -> None:
    """Three for a small lesson, and none within four plies of another on its line."""
    captions = [block.caption for block in set_blocks() if block.drawing]
    assert captions == [
        "After 2... d6: in 5.0 of 100 games",
        "After 2... f6: in 1.1 of 100 games",
        "After 2... Nc6: in 41 of 100 games",
    ]


EARLY = "1. e4 e5 (1... c5 2. Nf3 d6 3. d4) (1... e6 2. d4 d5 3. e5) 2. Nf3 Nc6 3. Bc4 "
OFTEN = {key_after(f"e4 {line}"): 9.0 for line in ("c5 Nf3 d6", "e6 d4 d5", "e5 Nf3 Nc6")}


@pytest.mark.parametrize("sign", ["", "$2", "$4"])
def test_a_position_that_a_mistake_leads_to_has_a_diagram_however_rare(sign: str) -> None:
    """What the teacher marks with ? or ?? is to be punished."""
    blocks = set_blocks(f"{EARLY} Bc5 4. c3 Nf6 5. d3 Kf8 {sign} 6. O-O *", in_100=OFTEN)
    captions = [block.caption for block in blocks if block.drawing]
    assert captions[:3] == [
        "After 2... d6: in 9.0 of 100 games",
        "After 2... d5: in 9.0 of 100 games",
        "After 2... Nc6: in 9.0 of 100 games",
    ]
    assert captions[3:] == (["After 5... Kf8"] if sign else [])


@pytest.mark.parametrize("words", [3, 30])
def test_a_long_comment_has_the_diagram_of_what_it_speaks_of(words: int) -> None:
    comment = "A plan. " * words
    blocks = set_blocks(f"{EARLY} Bc5 4. c3 Nf6 5. d3 {{{comment}}} d6 *", in_100=OFTEN)
    assert (blocks[-2].caption == "After 5. d3") == (words > 20)
    assert told(blocks[-1]).endswith("5... d6")


def test_a_diagram_does_not_break_a_paragraph_that_has_only_just_begun() -> None:
    blocks = set_blocks()
    at = [i for i, block in enumerate(blocks) if "2... f6" in block.caption]
    assert told(blocks[at[0] + 1]).startswith("2... f6")
    long = set_blocks("1. e4 e5 2. Nf3 Nc6 3. Bc4 Bc5 4. c3 Nf6 5. d3 *")
    assert [told(block) for block in long if block.runs][-1].startswith("5. d3")


def test_long_variations_within_variations_are_indented_further_and_short_ones_in_brackets() -> (
    None
):
    long = "2. Nf3 d6 ( 2... Nc6 3. Bb5 g6 4. O-O Bg7 5. Re1 e5 6. c3 ) 3. d4"
    found = paragraphs(f"1. e4 e5 ( 1... c5 {long} ) 2. Nf3 *", replies={})
    indented = " ".join(text for depth, text in found if depth == 2)
    assert indented.startswith("2... Nc6 3. Bb5 g6 4. O-O")
    assert found[-2:] == [(1, "3. d4"), (0, "2. Nf3")]
    short = paragraphs(f"1. e4 e5 ( 1... c5 {long.replace('5. Re1', '')} ) 2. Nf3 *", replies={})
    assert len(short) < len(found)


def test_brackets_lie_in_brackets_and_hundreds_of_them_do_no_harm() -> None:
    inner = "(2... Nc6 3. d4 (3. Bb5 a6 (3... g6)) 3... d5)"
    found = paragraphs(f"1. e4 e5 (1... c5 2. Nf3 e6 {inner} 3. d4) 2. Nf3 *", replies={})
    assert (2, "2... Nc6 3. d4 (Also 3. Bb5 a6 (3... g6)) 3... d5") in found
    game = chess.pgn.Game()
    node: chess.pgn.GameNode = game
    for number in range(1200):
        ways = (("g1f3", "b1c3"), ("g8f6", "b8c6"), ("c3b1",), ("c6b8",))[number % 4]
        node = [node.add_variation(chess.Move.from_uci(uci)) for uci in ways][-1]
    assert len(paragraphs(str(game), replies={})) > 500


def test_for_black_the_opponents_are_white() -> None:
    found = paragraphs(
        "1. e4 (1. d4 d5) e5 2. Nf3 *",
        "black",
        replies={key_after(""): make_replies({"e2e4": 60, "d2d4": 30}, 100)},
    )
    assert found == [
        (0, "1. e4 60 % of 100"),
        (1, "1. d4 30 % of 100 1... d5"),
        (0, "1... e5 2. Nf3"),
    ]


def test_a_reply_that_was_never_seen_is_said_to_be() -> None:
    replies = {key_after("e4"): make_replies({"e7e5": 40}, 80)}
    assert paragraphs("1. e4 c5 2. Nf3 *", replies=replies) == [
        (0, "1. e4 c5 not seen in 80 2. Nf3")
    ]


def test_several_games_are_parts_with_their_titles() -> None:
    own = '[Event "?"]\n[FEN "4k3/8/8/8/8/8/4P3/4K3 w - - 0 1"]\n[SetUp "1"]\n\n1. e4 Kd7 2. Kd2 *'
    lesson = make_lesson(f"{TEXT}\n{own}\n")
    first, second = parts(lesson, make_met(), Look(), Veil())
    assert first.heading == "The first <replies>"
    assert second.heading == "Game 2"
    assert second.blocks[0].caption == "Here it begins"
    page = text_of(lesson_page(lesson, make_met(), PLAIN))
    assert "Game 2 Here it begins 1. e4 Kd7 2. Kd2" in page


def test_what_the_teacher_wrote_is_escaped() -> None:
    page = lesson_page(make_lesson(), make_met(), PLAIN)
    assert "<b>here</b>" not in page
    assert "Common &lt;b&gt;here&lt;/b&gt;." in page
    assert "<replies>" not in page
    assert "[%cal" not in page


def test_the_same_arguments_give_the_same_bytes() -> None:
    pages = {lesson_page(make_lesson(), make_met(), PLAIN) for _ in range(2)}
    assert len(pages) == 1


def test_the_states_and_the_unanswered_replies_are_those_of_the_json() -> None:
    met = make_met()
    text = text_of(lesson_page(make_lesson(), met, PLAIN)).replace("–", "-")
    answer = json.loads(lesson_json(met.answer))
    for states in answer["levels"][-1]["states"]:
        fields = ("won", "unanswered", "ended", "too_few")
        numbers = " ".join(words.fine_hundredths(states[name]) for name in fields)
        between = "-"
        if states["low"] is not None:
            ends = (words.fine_hundredths(states[end]) for end in ("low", "high"))
            between = "-".join(ends)
        answered = words.fine_hundredths(states["answered"])
        assert f"{states['move']} {answered} {between} {numbers}" in text
    for row in answer["unanswered"]:
        few = "*" if row["of"] < 30 else ""
        in_100 = f"{words.fine_hundredths(row['in_100'] / 100)}{few}"
        borrowed = "†" if row["borrowed"] else ""
        share = f"{words.percent(row['share'])} of {row['of']}{few}{borrowed}"
        favoured = "- -"
        if row["answer"]:
            favoured = f"{row['move']}. {row['answer']['san']} {row['answer']['games']}"
        pattern = rf"{row['line']} {row['san']} {in_100} [\d.-]+ {share} {favoured}"
        assert re.search(pattern.replace("*", r"\*"), text), pattern
    moved = answer["added"][0]
    assert f"1. e4 e6 {moved['reply']['in_100']:.0f} {moved['now']:.0f} " in text


def test_the_chart_says_the_same_in_words_and_each_state_has_a_pattern_and_a_name() -> None:
    page = lesson_page(make_lesson(), make_met(), PLAIN)
    assert 'aria-label="games with White, Opponents: 800-1199, of 100 games. At move 1: ' in page
    assert "At move 2: has an answer 83, no answer 17." in page
    legend = page.split('<ul class="legend">')[1].split("</ul>")[0]
    assert re.findall(r"</svg> (.*?)</li>", legend) == [
        "has an answer", "the lesson has ended", "no answer", "too few games to say",
    ]  # fmt: skip
    assert len(set(re.findall(r'fill="(.*?)"', legend))) == 4
    won = replace(make_answer().whole, states=make_met().answer.whole.states)
    assert "has won" not in text_of(page).split("How far")[1].split("Of 100 games")[0]
    assert won.states[0].answered == 1


def test_two_levels_stand_side_by_side_when_asked_for() -> None:
    page = lesson_page(make_lesson(), make_met(), PLAIN)
    assert page.count('class="states"') == 2
    text = text_of(page)
    assert "Opponents: 800–1199, 400 games" in text
    assert "Opponents: 1200–1399, 350 games" in text
    assert "When the class moves up to 1200–1399" in text
    alone = make_answer(next=None, next_level=None, added=())
    page = lesson_page(make_lesson(), make_met(answer=alone), PLAIN)
    assert page.count('class="states"') == 1
    assert "moves up" not in text_of(page)


def test_a_lesson_without_holes_has_no_empty_tables() -> None:
    bare = make_answer(
        unanswered=(), outscored=(), rare=(), added=(), next=None, next_level=None, warnings=(),
        unanswered_left_out=0,
    )  # fmt: skip
    text = text_of(lesson_page(make_lesson(), make_met(answer=bare), PLAIN))
    assert "No reply was met that the lesson leaves without an answer" in text
    assert "The most frequent first" not in text
    assert "To look at" not in text
    assert "Favoured:" not in text


def test_the_teachers_slips_are_told_apart_from_the_footnotes() -> None:
    text = text_of(lesson_page(make_lesson(), make_met(), PLAIN))
    slips, notes = text.split("To look at in the file")[1].split("Footnotes")
    assert "Two moves are taught in one position: Nf3 after 1. e4 e5" in slips
    assert "Alternatives are not followed" in slips
    assert "Alternatives" not in notes


def test_letters_of_another_language_are_in_moves_and_in_prose() -> None:
    page = lesson_page(make_lesson(), make_met(), replace(PLAIN, letters="de", large=True))
    text = text_of(page)
    assert "2... f6 1.9 % of 210 (a very poor move) 3. Sxe5 fxe5 4. Dh5+ Ke7" in text
    assert "Open it: Sf3 waits." in text
    assert "Sf3 after 1. e4 e5, and Lc4" in text
    assert '<html lang="en" class="large">' in page
    assert 'font-size="18"' in page


def test_a_title_and_comments_that_name_a_student_are_veiled() -> None:
    lesson = make_lesson('[Event "For Jane Doe"]\n\n1. e4 { Jane Doe plays it. } e5 2. Nf3 *')
    source = replace(make_source(), people=("Doe, Jane",))
    met = make_met(answer=make_answer(source=source, warnings=("1. e4 of Jane Doe.",)))
    assert "Jane" not in lesson_page(lesson, met, PLAIN)
    full = lesson_page(lesson, met, replace(PLAIN, names="full"))
    assert full.count("Jane Doe") == 4  # the title twice


def test_a_start_and_a_file_without_title_are_named() -> None:
    lesson = make_lesson("1. e4 e5 2. Nf3 *")
    met = make_met(answer=make_answer(start="1. e4 e5", title=""))
    text = text_of(lesson_page(lesson, met, PLAIN))
    assert text.count("first For White") == 1
    assert "Came to 1. e4 e5 400 games" in text


@pytest.mark.parametrize("few", [True, False])
def test_signs_are_explained_only_where_they_stand(few: bool) -> None:
    met = make_met() if few else make_met(replies={}, answer=make_answer(unanswered=(FRENCH,)))
    text = text_of(lesson_page(make_lesson(), met, PLAIN))
    assert ("Too few to say." in text) == few
    assert ("† With games of neighbouring levels." in text) == few
