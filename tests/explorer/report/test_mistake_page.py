"""The pages of mistakes say what the answers say, hide what they must, and stay the same."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from html.parser import HTMLParser

import pytest

from explorer.positions.engine import Evaluation, Opinion
from explorer.positions.typed import parse_position
from explorer.query.filters import Filters
from explorer.query.mistake_model import MistakeAnswer
from explorer.report.costly_page import compare_page, costly_page
from explorer.report.mistake_case import Case
from explorer.report.mistake_page import mistake_page
from explorer.report.sheet import PageOptions
from ingest.levels import parse_level
from tests.support.answers import games_answer, make_game, make_source
from tests.support.mistake_answers import (
    compare_answer,
    costly_answer,
    make_costly,
    make_helped,
    mistake_answer,
    never_made,
)

PLAIN = PageOptions("replybook mistake e4 e5 Nf3 f6", date(2026, 3, 1))
LINE = parse_position("e4 e5 Nf3 f6 Nxe5 fxe5 Qh5+")
OPINION = Opinion("Toy", (Evaluation(0.3, None, "Nc6", 14), Evaluation(1.5, None, "Nxe5", 14)))


def text_of(page: str) -> str:
    """What a reader sees: without style, scripts and drawings, blanks made plain."""
    page = re.sub(r"<(style|script|svg)\b.*?</\1>", " ", page, flags=re.DOTALL)
    page = re.sub(r"<[^>]+>", " ", page).replace("\u00a0", " ").replace("&lt;", "<")
    return " ".join(page.split())


def case(answer: MistakeAnswer | None = None) -> Case:
    answer = answer or mistake_answer(helped=(make_helped(),))
    return Case(answer, LINE, "d4", OPINION, games_answer())


def test_the_page_tells_everything_in_words() -> None:
    text = text_of(mistake_page(case(), PLAIN))
    for part in (
        "The mistake 2... f6 after 1. e4 e5 2. Nf3",
        "Damiano Defence",
        "it happens in 0.6; when headed for, in 1.4.",
        "It fades with strength",
        "2... f6 4.2 %",
        "under 800 1.5 1.0–2.2 1,800 3.8 2.6–5.3 240",
        "White had the chance 80 times and found 3. Nxe5 40 times (50 %).",
        "Prepare for 3... Qe7: Black escaped so in 12 of 40 games (30 %).",
        "The levels in these tables are those of White, who may punish.",
        "4. Qh5+ Check, 2 replies: Ke7 and g6. Attacks e5 and Ke8 at once.",
        "Who bears on d4",
        "An engine’s opinion, not a count of games (Toy at depth 14)",
        "Making the mistake: before and after 1 March 2026",
        "it is no proof that it did",
        "White (1050), Black (890) ; White won, 6 moves",
        "Went on from the position 1,912 games by 453 players, in the first 20 moves",
        "replybook mistake e4 e5 Nf3 f6",
    ):
        assert part in text, part


def test_the_strip_has_the_share_at_each_level_hollow_where_it_says_little() -> None:
    page = mistake_page(case(), PLAIN)
    label = re.search(r'class="panel"[^>]*aria-label="([^"]*)"', page)
    assert label is not None
    assert "2... f6, share by level" in label[1]
    assert "2000 and over: 0 %, 0 to 24 %, of 12 games, too few to say." in label[1]


def test_the_line_is_drawn_from_the_mistake_on() -> None:
    page = mistake_page(case(), PLAIN)
    assert page.count('class="diagram"') == 1 + 4
    assert page.count('class="bar"') == 2


def test_without_punishment_class_engine_and_games_their_sections_are_left_out() -> None:
    answer = mistake_answer(punishment=None)
    bare = Case(answer, parse_position("e4 e5 Nf3 f6"))
    text = text_of(mistake_page(bare, PLAIN))
    for part in ("Is it punished?", "An engine", "before and after", "Example games", "Hatched"):
        assert part not in text, part
    assert "name a punishment with --punish" in text
    assert mistake_page(bare, PLAIN).count('class="diagram"') == 1


def test_a_mistake_that_was_not_made_makes_a_short_page() -> None:
    text = text_of(mistake_page(Case(never_made(), parse_position("e4 e5 Nf3 f6")), PLAIN))
    assert "Not seen in 240 games: at most 1.6 in 100." in text


def test_with_a_level_filter_the_strip_has_only_levels_that_somebody_is_in() -> None:
    answer = mistake_answer(Filters(levels=(parse_level("under-2000"),)))
    levels = [
        replace(level, rate=replace(level.rate, games=0, share=None)) if i > 2 else level
        for i, level in enumerate(answer.levels[:-1])
    ]
    page = mistake_page(case(replace(answer, levels=(*levels, answer.levels[-1]))), PLAIN)
    panel = page.split('class="panel"')[1].split("</svg>")[0]
    assert panel.count("<circle") == 3


def test_piece_letters_and_view_are_as_asked() -> None:
    page = mistake_page(case(), replace(PLAIN, letters="de", view="black"))
    assert "3. Sxe5" in text_of(page)
    assert "Black at the bottom" in page


def test_a_position_without_a_line_has_a_plain_heading() -> None:
    answer = mistake_answer(line="")
    answer = replace(answer, position=replace(answer.position, line=None))
    assert "<h1>The mistake f6</h1>" in mistake_page(case(answer), PLAIN)


def test_the_costly_replies_have_a_card_each() -> None:
    page = costly_page(costly_answer(), PLAIN)
    text = text_of(page)
    for part in (
        "What Black can practise in the opening",
        "412 replies up to move 8 had enough games; 5 of them cost more",
        "Costs along one line overlap and do not add up.",
        "With the games of the middle one of these replies a cost of 11 points in 100 games",
        "it happens in 0.6 and costs 0.07 points. To practise: 2... Nc6.",
        "Points lost 0.07 in 100 games (0.03 to 0.10)",
        "Beside the others −0.12 (−0.18 to −0.06), 72 rated games",
        "Swing −1.4 (−1.9 to −0.9) pawns, 76 games; mated within eight moves in 8 games",
        "Found by results and by material",
        "Punished by 3. Nxe5, played in 34 of 78 games (44 %)",
        "One player made 20 of these 30: that says little of others.",
        "3 less costly ones are counted but not shown.",
        "824 tests of results and of material, together allowed 5 % false alarms",
        "Replies looked at 412, up to move 8, in the first 20 moves",
    ):
        assert part in text, part
    assert page.count('class="diagram"') == page.count('class="panel"') == 2
    assert page.count('class="card tall few"') == 1


def test_nothing_found_is_said_in_a_sentence() -> None:
    text = text_of(costly_page(costly_answer(found=(), found_left_out=0, could_show=None), PLAIN))
    assert "none of them costs more than the others played there." in text
    assert "Worth practising" not in text
    assert "overlap" not in text


def test_a_costly_reply_told_by_mates_alone_or_without_numbers() -> None:
    costly = make_costly(
        lost=None,
        cost=replace(make_costly().cost, value=None, low=None, high=None, games=0),
        swing=replace(make_costly().swing, value=None),
        levels=(),
    )
    text = text_of(costly_page(costly_answer(found=(costly,)), PLAIN))
    assert "Swing mated within eight moves in 8 games" in text
    assert "too few rated games say what it costs in results" in text
    assert "Points lost 0" not in text
    assert "Beside the others −" not in text


def test_the_step_between_two_levels_has_the_share_at_both() -> None:
    text = text_of(compare_page(compare_answer(), PLAIN))
    for part in (
        "From 800–999 to 1200–1399: what to practise",
        "in 4.2 by players rated 800–999, and in 1.6 by players rated 1200–1399.",
        "and in none (at most 8.8) by players rated 1200–1399.",
        "At 1200–1399 1.6 % (0.7 to 3.4 %), of 380 games",
        "Change −3.0 in 100 (−4.0 to −2.0)",
    ):
        assert part in text, part
    nothing = text_of(compare_page(compare_answer(outgrown=()), PLAIN))
    assert "none is clearly rarer among players rated 1200–1399." in nothing


PAGES = [
    lambda options: mistake_page(case(), options),
    lambda options: costly_page(costly_answer(), options),
    lambda options: compare_page(compare_answer(), options),
]


@pytest.mark.parametrize("make", PAGES)
def test_two_runs_differ_in_the_date_line_alone(make) -> None:
    first, second = make(PLAIN), make(replace(PLAIN, made_on=date(2026, 3, 2)))
    assert first == make(PLAIN)
    differing = [a for a, b in zip(first.splitlines(), second.splitlines(), strict=True) if a != b]
    assert differing == ["<div><dt>Made on</dt><dd>1 March 2026</dd></div>"]


class Marks(HTMLParser):
    """Header cells, drawings and ids of a page."""

    def __init__(self) -> None:
        super().__init__()
        self.scopes: set[str | None] = set()
        self.unlabelled = 0
        self.ids: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        values = dict(attrs)
        if tag == "th":
            self.scopes.add(values.get("scope"))
        if tag == "svg" and values.get("aria-hidden") != "true":
            self.unlabelled += not (values.get("role") == "img" and values.get("aria-label"))
        if values.get("id"):
            self.ids.append(str(values["id"]))


@pytest.mark.parametrize("make", PAGES)
def test_heads_have_scopes_drawings_labels_and_ids_are_unique(make) -> None:
    marks = Marks()
    marks.feed(make(PLAIN))
    assert marks.scopes <= {"row", "col"}
    assert marks.unlabelled == 0
    assert len(marks.ids) == len(set(marks.ids))


def test_names_are_hidden_unless_chosen() -> None:
    filters = Filters(player="Ada Marsh", collections=("games of Ada Marsh",))
    answer = mistake_answer(
        filters,
        source=make_source(collections=("games of Ada Marsh",)),
        helped=(make_helped(not_found=("Cleo Fenn",)),),
    )
    games = games_answer(make_game(event="Ada Marsh simul"), filters=filters)
    options = replace(PLAIN, command="replybook mistake e4 --player 'Ada Marsh'")
    hidden = mistake_page(Case(answer, LINE, games=games), options)
    assert not any(name in hidden for name in ("Marsh", "Quill", "Fenn"))
    full = mistake_page(Case(answer, LINE, games=games), replace(options, names="full"))
    assert "Marsh, Ada (1050), Black Quill, Ben (890)" in full


def test_untrusted_text_is_escaped_and_cleaned() -> None:
    evil = "<script>alert(1)</script>\x1b[31m\u202e"
    source = make_source(collections=(evil,))
    opinion = replace(OPINION, engine=evil)
    first = mistake_page(
        Case(mistake_answer(name=evil, source=source), LINE, None, opinion),
        replace(PLAIN, names="full", command=evil),
    )
    second = costly_page(costly_answer(found=(make_costly(name=evil),), source=source), PLAIN)
    for page in (first, second):
        assert "<script>" not in page
        assert "\x1b" not in page
        assert "\u202e" not in page
