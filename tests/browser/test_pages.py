"""The page in a real browser: accessible, whole without scripts and network, fit to print."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from explorer.positions.engine import Evaluation, Opinion
from explorer.positions.lesson import read_lesson
from explorer.positions.typed import parse_position
from explorer.report.costly_page import compare_page, costly_page
from explorer.report.diagram import parse_marks
from explorer.report.habits_page import habits_page
from explorer.report.handout_page import handout_page
from explorer.report.lesson_page import lesson_page
from explorer.report.mistake_case import Case
from explorer.report.mistake_page import mistake_page
from explorer.report.overview_page import overview_page
from explorer.report.page import replies_page
from explorer.report.plans_page import plans_page
from explorer.report.sheet import PageOptions
from explorer.report.student_page import student_page
from explorer.report.week_page import week_page
from explorer.report.worksheet_page import worksheet_page
from tests.support import class_answers, habits_answers, student_answers
from tests.support.answers import answer_after_f6, games_answer, orders_answer, replies_answer
from tests.support.lessons_met import long_met, make_lesson, make_met
from tests.support.mistake_answers import (
    compare_answer,
    costly_answer,
    make_helped,
    mistake_answer,
)
from tests.support.plans_answers import plans_answer
from tests.support.worksheets import SAMPLE, long_worksheet

pytestmark = pytest.mark.browser

# Of the two papers the smaller measures, without the margins of the stylesheet, in CSS pixels.
PRINT_WIDTH = round((210 - 2 * 16) / 25.4 * 96)
PRINT_HEIGHT = round((279.4 - 2 * 15) / 25.4 * 96)


def replies() -> str:
    options = PageOptions(
        "replybook report e4 e5 Nf3 --follow-moves 1",
        date(2026, 3, 1),
        marks=parse_marks(["f3e5"], ["e5"]),
    )
    answers = [replies_answer(), answer_after_f6()]
    return replies_page(answers, options, orders_answer(), games_answer())


def mistake() -> str:
    answer = mistake_answer(helped=(make_helped(), make_helped("punishing")))
    line = parse_position("e4 e5 Nf3 f6 Nxe5 fxe5 Qh5+")
    opinion = Opinion("Toy", (Evaluation(0.3, None, "Nc6", 14),) * 2)
    return mistake_page(Case(answer, line, "d4", opinion, games_answer()), PLAIN)


def worksheet(exercises: int, a_page: int, large: bool = False) -> str:
    options = replace(PLAIN, large=large)
    # However long the title, the diagrams have their place.
    sheet = replace(long_worksheet(exercises), title=20 * "A very long title ")
    return worksheet_page(sheet, options, a_page)


def lesson() -> str:
    return lesson_page(make_lesson(), make_met(), PLAIN)


def handout(large: bool = False, numbers: bool = True) -> str:
    """However long title, lines, comments and filters are, there are two pages."""
    taught = read_lesson(str(SAMPLE), "white")
    for place in taught.taught:
        move = place.taught
        assert move is not None
        place.taught = replace(move, comment="Words of the teacher, ever so many of them, to go on")
    taught.games[0].headers["Event"] = 6 * "A very long title "
    options = replace(PLAIN, large=large, command="replybook handout " + 20 * "--level 800-999 ")
    return handout_page(taught, long_met(taught) if numbers else None, options, "None was asked.")


def overview() -> str:
    of = class_answers
    return overview_page(of.entries(), ("B. O.",), PLAIN, of.NAMES)


def week() -> str:
    of = class_answers
    return week_page(of.week_answer(), of.LABELS, PLAIN, of.NAMES)


PLAIN = PageOptions("replybook mistake e4 e5 Nf3 f6", date(2026, 3, 1))
PAGES = {
    "replies": replies,
    "mistake": mistake,
    "costly": lambda: costly_page(costly_answer(), PLAIN),
    "step": lambda: compare_page(compare_answer(), PLAIN),
    "plans": lambda: plans_page(plans_answer(), PLAIN),
    "habits": lambda: habits_page(habits_answers.answer(), PLAIN),
    "six": lambda: worksheet(12, 6),
    "eight": lambda: worksheet(16, 8),
    "large": lambda: worksheet(8, 4, large=True),
    "lesson": lesson,
    "handout": handout,
    "handout-large": lambda: handout(large=True),
    "handout-bare": lambda: handout(numbers=False),
    "student": lambda: student_page(student_answers.answer(), PLAIN, worksheet="sheet.html"),
    "eight-games": lambda: student_page(student_answers.eight(), PLAIN),
    "overview": overview,
    "week": week,
}
PRINTED = {"replies": (4, 6), "mistake": (4, 9), "costly": (1, 3), "step": (1, 3), "plans": (4, 7)}
PRINTED |= {"habits": (1, 3)}
# Two pages of exercises and one of answers, neither more nor less.
PRINTED |= {"six": (3, 3), "eight": (3, 3), "large": (3, 3)}
# One sheet of paper for each student.
PRINTED |= {"lesson": (3, 6), "handout": (2, 2), "handout-large": (2, 2), "handout-bare": (2, 2)}
PRINTED |= {"student": (4, 6), "eight-games": (1, 2), "overview": (1, 2), "week": (2, 3)}
DRAWINGS = {"replies": 25, "mistake": 7, "costly": 3, "step": 3, "plans": 11}
DRAWINGS |= {"lesson": 7, "handout": 5, "handout-large": 3, "handout-bare": 5}
DRAWINGS |= {"student": 8, "eight-games": 1, "overview": -1, "week": 2}
DRAWINGS |= {"habits": 2, "six": 23, "eight": 31, "large": 15}


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The pages, as files."""
    place: Path = tmp_path_factory.mktemp("pages")
    for name, make in PAGES.items():
        (place / f"{name}.html").write_text(make(), "utf-8")
    return place


@pytest.fixture
def address(folder: Path) -> str:
    """The page of the replies."""
    return (folder / "replies.html").as_uri()


@pytest.fixture(params=sorted(PAGES))
def page_name(request: pytest.FixtureRequest) -> str:
    """Each page in turn."""
    return str(request.param)


@pytest.fixture
def each(folder: Path, page_name: str) -> str:
    """Each page's address in turn."""
    return (folder / f"{page_name}.html").as_uri()


def opened(browser: Any, address: str, width: int = 1000, **context: Any) -> Any:
    page = browser.new_page(viewport={"width": width, "height": 800}, **context)
    page.goto(address)
    return page


@pytest.mark.parametrize("width", [1000, 320])
def test_no_rule_of_axe_is_broken(browser: Any, each: str, width: int) -> None:
    from axe_playwright_python.sync_playwright import Axe

    page = opened(browser, each, width)
    if page.locator("#interactive").count():
        page.evaluate("document.querySelector('#interactive').open = true")
        page.wait_for_selector("#chart .main-svg")
    found = Axe().run(page)
    assert found.violations_count == 0, found.generate_report()
    page.close()


def test_what_axe_does_not_see_is_there(browser: Any, each: str, page_name: str) -> None:
    """Drawings without a role, tables without heads and headings out of order escape axe."""
    page = opened(browser, each)
    bare = """[...document.querySelectorAll('svg')].filter(s => !s.closest('#chart')
        && !(s.getAttribute('role') == 'img' && s.getAttribute('aria-label'))
        && s.getAttribute('aria-hidden') != 'true').length"""
    assert page.evaluate(bare) == 0
    assert page.locator("table").count() == page.locator("table:has(th[scope=col])").count()
    assert page.locator("th:not([scope])").count() == 0
    levels = page.evaluate(
        "[...document.querySelectorAll('h1,h2,h3,h4')].map(h => Number(h.tagName[1]))"
    )
    assert levels[0] == 1
    assert all(b - a <= 1 for a, b in pairwise(levels))
    assert page.locator("html").get_attribute("lang") == "en"
    for landmark in ("header", "main", "footer"):
        assert page.locator(f"body > {landmark}").count() == 1
    assert page.locator("body > nav").count() == (page_name == "replies")
    page.close()


@pytest.mark.parametrize("scripts", [True, False])
def test_nothing_is_asked_of_the_network(browser: Any, each: str, scripts: bool) -> None:
    page = browser.new_page(java_script_enabled=scripts)
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.goto(each)
    if scripts and page.locator("#interactive").count():
        page.evaluate("document.querySelector('#interactive').open = true")
        page.wait_for_selector("#chart .main-svg")
    assert asked == [each]
    page.close()


def test_the_page_is_whole_with_scripts_off(browser: Any, address: str) -> None:
    page = opened(browser, address, java_script_enabled=False)
    assert page.locator("#interactive").is_hidden()
    assert page.locator(".panel:visible").count() == 9
    assert page.locator(".card .diagram:visible").count() == 9
    assert page.get_by_text("it costs 1.4 pawns on average").is_visible()
    page.close()


def test_the_chart_is_drawn_when_it_is_opened(browser: Any, address: str) -> None:
    page = opened(browser, address)
    faults: list[str] = []
    page.on("pageerror", lambda error: faults.append(str(error)))
    assert page.evaluate("typeof Plotly") == "undefined"
    page.locator("#interactive summary").click()
    page.wait_for_selector("#chart .main-svg")
    assert page.locator("#chart .scatterlayer .trace").count() == 6
    assert faults == []
    page.close()


@pytest.mark.parametrize("width", [320, 480, 768, 1400])
def test_no_width_makes_the_page_scroll_sideways(browser: Any, each: str, width: int) -> None:
    """WCAG 2.2, 1.4.10 asks for 320 pixels; a table of data may scroll in a frame of its own."""
    page = opened(browser, each, width)
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    page.close()


def pages_of(pdf: bytes) -> int:
    return len(re.findall(rb"/Type\s*/Page\b", pdf))


@pytest.mark.parametrize(("paper", "size"), [("A4", (595, 842)), ("Letter", (612, 792))])
def test_it_prints_on_both_papers(
    browser: Any, each: str, page_name: str, paper: str, size: tuple[int, int]
) -> None:
    page = opened(browser, each)
    pdf = page.pdf(format=paper, prefer_css_page_size=True)
    least, most = PRINTED[page_name]
    assert least <= pages_of(pdf) <= most
    boxes = re.findall(rb"/MediaBox\s*\[\s*0 0 ([0-9.]+) ([0-9.]+)\s*\]", pdf)
    assert boxes
    # Points; the browser rounds up to its own pixels.
    assert all((float(x), float(y)) == pytest.approx(size, abs=1.5) for x, y in boxes)
    page.close()


def test_no_diagram_can_be_cut_in_two(browser: Any, each: str, page_name: str) -> None:
    """Each drawing stands in a block that asks not to be broken and fits on either paper."""
    page = opened(browser, each, PRINT_WIDTH)
    page.emulate_media(media="print")
    blocks = page.evaluate(
        """[...document.querySelectorAll('main svg')].map(svg => {
            let block = svg, whole = null;
            for (; block; block = block.parentElement)
                if (getComputedStyle(block).breakInside == 'avoid') whole = block;
            return whole ? whole.getBoundingClientRect().height : null; })"""
    )
    assert len(blocks) > DRAWINGS[page_name]
    assert all(height is not None and height < PRINT_HEIGHT for height in blocks)
    assert page.evaluate("document.documentElement.scrollWidth") <= PRINT_WIDTH
    page.close()
