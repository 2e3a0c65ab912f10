"""The page says what the answer says, hides what it must, and is the same each time."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from html.parser import HTMLParser

import pytest

from explorer.query.filters import Filters
from explorer.query.model import RepliesAnswer
from explorer.report import palette
from explorer.report.cards import heading, last_move, move_label, when
from explorer.report.diagram import parse_marks
from explorer.report.page import replies_page
from explorer.report.sheet import PageOptions, typeset
from tests.support.answers import (
    answer_after_f6,
    games_answer,
    make_game,
    make_position,
    make_source,
    nothing_played,
    orders_answer,
    replies_answer,
)
from tests.support.contrast import contrast

PLAIN = PageOptions("replybook report e4 e5 Nf3", date(2026, 3, 1), interactive=False)


def text_of(page: str) -> str:
    """What a reader sees: without style, scripts and drawings, blanks made plain."""
    page = re.sub(r"<(style|script|svg)\b.*?</\1>", " ", page, flags=re.DOTALL)
    return " ".join(re.sub(r"<[^>]+>", " ", page).replace("\u00a0", " ").split())


def whole_page(options: PageOptions = PLAIN, **changes: object) -> str:
    first = replies_answer(**changes)  # type: ignore[arg-type]
    return replies_page([first, answer_after_f6()], options, orders_answer(), games_answer())


def test_the_page_tells_everything_in_words() -> None:
    text = text_of(whole_page())
    for part in (
        "What Black plays after 1. e4 e5 2. Nf3",
        "King’s Knight Opening",
        "Players of every level, any pace.",
        "3 with a result given and 2 cut short",
        "2... f6 Damiano Defence",
        "About 1 in 9 players under 800 choose this; overall it costs 1.4 pawns",
        "4.2 % (3.4 to 5.2 %) , 80 games by 61 players",
        "worse : −0.12 (−0.14 to −0.10), 72 rated games",
        "Played in about 1 in 32 games, but one player made 53 of these 60.",
        "Rarer replies Reply Share",
        "Na6 was not played here",
        "1. Nf3 e5 2. e4 70 3.7 % 1 (White)",
        "White (1050), Black (890) ; White won, 6 moves, Otterbank club evening, 14 September 2025",
        "What White plays after 1. e4 e5 2. Nf3 f6",
        "Collections club season, junior cup",
        "replybook report e4 e5 Nf3",
        "1,917 games by 443 players, in the first 20 moves",
        "Made on 1 March 2026",
    ):
        assert part in text, part


def test_the_table_by_level_has_the_games_of_each_level() -> None:
    text = text_of(whole_page())
    assert "under 800 240 46 20 8.3 11 8.3 4.2" in text
    assert "together 1,912 59 18 13 4.2 3.1 1.9" in text
    assert "<24*" in text.replace("&lt;", "<")


def test_two_runs_differ_in_the_date_line_alone() -> None:
    options = replace(PLAIN, interactive=True)
    first, second = whole_page(options), whole_page(replace(options, made_on=date(2026, 3, 2)))
    assert first == whole_page(options)
    differing = [a for a, b in zip(first.splitlines(), second.splitlines(), strict=True) if a != b]
    assert differing == ["<div><dt>Made on</dt><dd>1 March 2026</dd></div>"]


def test_the_interactive_chart_is_an_addition() -> None:
    with_chart, without = whole_page(replace(PLAIN, interactive=True)), whole_page()
    assert text_of(without) == text_of(
        re.sub(r"<details.*?</details>", "", with_chart, flags=re.DOTALL)
    )
    assert "Plotly" not in without
    assert len(without) < 300_000


def test_names_are_hidden_unless_chosen() -> None:
    filters = Filters(player="Ada Marsh", collections=("games of Ada Marsh",))
    command = "replybook report --player 'Ada Marsh'"
    answer = replies_answer(filters, source=make_source(collections=("games of Ada Marsh",)))
    games = games_answer(make_game(event="Ada Marsh simul"), filters=filters)
    hidden = replies_page([answer], replace(PLAIN, command=command), None, games)
    assert "Marsh" not in hidden
    assert "Quill" not in hidden
    assert "A. M. (1050)" in hidden
    full = replies_page([answer], replace(PLAIN, command=command, names="full"), None, games)
    assert "Marsh, Ada (1050), Black Quill, Ben (890)" in full


def test_untrusted_text_is_escaped_and_cleaned() -> None:
    evil = "<script>alert(1)</script>\x1b[31m\u202e"
    answer = replies_answer(
        Filters(collections=(evil,)),
        source=make_source(collections=(evil,)),
        position=make_position(name=evil),
    )
    reply = replace(answer.replies[0], name=evil)
    answer = replace(answer, replies=(reply, *answer.replies[1:]))
    games = games_answer(make_game(event=evil, white=evil))
    page = replies_page([answer], replace(PLAIN, names="full", command=evil), None, games)
    assert "<script>" not in page
    assert "\x1b" not in page
    assert "\u202e" not in page
    assert page.count("&lt;script&gt;") >= 6


def test_an_answer_without_replies_makes_a_short_page() -> None:
    page = replies_page([nothing_played()], replace(PLAIN, interactive=True))
    assert "After 1. e4 e5 2. Nf3" in text_of(page)
    assert "none of them went on" in page
    assert "Who plays what" not in page
    assert "Footnotes" not in page
    assert "Plotly" not in page


def test_piece_letters_view_and_marks_are_as_asked() -> None:
    options = replace(PLAIN, letters="de", view="black", marks=parse_marks(["f3e5"], ["e5"]))
    page = whole_page(options)
    assert "2... Sc6" in page.replace("\u00a0", " ")
    assert "Black at the bottom" in page
    assert page.count("Arrows: f3 to e5. Marked: e5.") == 1


class Tables(HTMLParser):
    """The header cells of a page and whether each has a scope; drawings and their labels."""

    def __init__(self) -> None:
        super().__init__()
        self.heads: list[str | None] = []
        self.drawings: list[dict[str, str | None]] = []
        self.ids: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        values = dict(attrs)
        if tag == "th":
            self.heads.append(values.get("scope"))
        if tag == "svg":
            self.drawings.append(values)
        if values.get("id"):
            self.ids.append(str(values["id"]))


def test_tables_have_scoped_heads_drawings_have_labels_and_ids_are_unique() -> None:
    parser = Tables()
    parser.feed(whole_page())
    assert set(parser.heads) == {"row", "col"}
    for drawing in parser.drawings:
        labelled = drawing.get("role") == "img" and drawing.get("aria-label")
        assert labelled or drawing.get("aria-hidden") == "true"
    assert len(parser.ids) == len(set(parser.ids))


def test_the_contrast_formula_gives_the_published_values() -> None:
    # WCAG 2.2: black on white is 21:1; the others computed with the same formula elsewhere.
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.5422, abs=1e-3)


@pytest.mark.parametrize("name", ["INK", "OCHRE", "PLUM", "MUTED"])
def test_text_has_the_contrast_of_wcag_aa(name: str) -> None:
    # WCAG 2.2, 1.4.3: 4.5:1 on paper on the screen and on white in print
    assert contrast(getattr(palette, name), palette.PAPER) >= 4.5
    assert contrast(getattr(palette, name), "#ffffff") >= 4.5


def test_lines_that_mean_something_have_the_contrast_of_graphics() -> None:
    # WCAG 2.2, 1.4.11: 3:1
    assert contrast(palette.RULE, palette.PAPER) >= 3


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("-0.06 to -0.01", "−0.06 to −0.01"),
        ("50-56 %", "50–56\u00a0%"),
        ("800-999", "800–999"),
        ("1. e4 e5 2... Nf3", "1.\u00a0e4 e5 2...\u00a0Nf3"),
        ("6. O-O O-O-O+", "6.\u00a0O\u2011O O\u2011O\u2011O+"),
        ("NO-ONE", "NO-ONE"),
        ("-", "–"),
    ],
)
def test_text_is_set_with_a_printers_signs(text: str, shown: str) -> None:
    assert typeset(text) == shown


def test_headings_and_moves_know_their_place() -> None:
    start = make_position(())
    assert heading(start) == "What White plays at the start"
    assert move_label(start, "e4") == "1. e4"
    assert last_move(start) is None
    by_fen = replace(make_position(), line=None)
    assert heading(by_fen) == "What Black plays in this position"
    assert move_label(by_fen, "Nc6") == "... Nc6"
    assert move_label(replace(make_position(("e4", "e5")), line=None), "Nf3") == "Nf3"
    elsewhere = replace(make_position(), line="7... Kf8 8. O-O")
    assert last_move(elsewhere) is None


@pytest.mark.parametrize(
    ("date_tag", "text"),
    [
        ("2025.09.14", "14 September 2025"),
        ("2025.09.??", "September 2025"),
        ("2025.??.??", "2025"),
        ("????.??.??", ""),
    ],
)
def test_dates_are_told_as_far_as_they_are_known(date_tag: str, text: str) -> None:
    assert when(date_tag) == text


def test_long_and_cut_games_are_not_shown_whole() -> None:
    rows = (make_game(cut_short=True), make_game("Nf3 Nf6 Ng1 Ng8 " * 15, result="1/2-1/2"))
    page = replies_page([replies_answer()], PLAIN, None, games_answer(*rows))
    assert page.replace("\u00a0", " ").count("Kg6 ...</li>") == 1
    assert "20. Ng1 Ng8 ...</li>" in page.replace("\u00a0", " ")


def test_a_single_move_order_makes_no_table() -> None:
    orders = orders_answer()
    page = replies_page([replies_answer()], PLAIN, replace(orders, orders=orders.orders[:1]))
    assert "How games reach this position" not in page


def test_a_reply_without_rated_games_has_no_line_against_expectation() -> None:
    answer: RepliesAnswer = replies_answer()
    bare = replace(answer.replies[-1], games=3)
    page = replies_page([replace(answer, replies=(bare,))], PLAIN)
    assert "Against expectation</dt>" not in page


def test_replies_with_few_games_have_a_card_only_among_the_first() -> None:
    page = text_of(whole_page())
    assert "2... d5" not in page
    assert "26 games: too few to say." in page
