"""The class view: nothing tells the replies before they are asked for, and all is large."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import pytest

pytestmark = pytest.mark.browser

PLACE = "class?line=e4+e5+Nf3"
TOLD = re.compile(r"Nc6|f6|d6|[0-9] %|[0-9] of [0-9]")
SCREENS = ((1920, 1080), (1280, 720), (1024, 768))
SMALLEST = 1 / 40  # of the screen's height, for 5 m: common practice, no source
# Of each visible text: its size, and its contrast with the paper (WCAG 2.2's formula).
SEEN = """() => {
  const light = (text) => {
    const [r, g, b] = text.match(/[0-9.]+/g).map((n) => {
      const c = n / 255;
      return c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4;
    });
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const paper = light(getComputedStyle(document.documentElement).backgroundColor), found = [];
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    const text = walker.currentNode, at = text.parentElement, range = document.createRange();
    range.selectNode(text);
    const box = range.getBoundingClientRect(), look = getComputedStyle(at);
    const unseen = box.width < 2 || !at.checkVisibility() || at.closest("#said");
    if (!text.data.trim() || unseen) continue;
    const svg = at.closest("svg");
    const scale = svg ? svg.getScreenCTM().a : 1;
    const ink = light(svg ? getComputedStyle(at).fill : look.color);
    const ratio = (Math.max(ink, paper) + 0.05) / (Math.min(ink, paper) + 0.05);
    found.push([text.data.trim(), parseFloat(look.fontSize) * scale, ratio]);
  }
  return found;
}"""


@pytest.fixture(params=[True, False], ids=["scripts", "no scripts"])
def shown(request: pytest.FixtureRequest, browser: Any, local: str) -> Iterator[Any]:
    """The class view, with scripts and without."""
    page = browser.new_page(
        viewport={"width": 1920, "height": 1080}, java_script_enabled=request.param
    )
    page.goto(f"{local}/{PLACE}")
    yield page
    page.close()


@pytest.fixture
def page(browser: Any) -> Iterator[Any]:
    found = browser.new_page(viewport={"width": 1920, "height": 1080})
    yield found
    found.close()


def test_nothing_gives_the_replies_away_before_they_are_asked_for(shown: Any) -> None:
    """Not the title, the address, a visible text, a tip, nor what is read out."""
    assert not shown.locator("#answers ol").is_visible()
    assert not shown.locator(".pointed").is_visible()
    assert not TOLD.search(shown.title() + shown.url)
    assert not TOLD.search(shown.locator("body").inner_text())
    assert not TOLD.search(shown.locator("body").aria_snapshot())
    assert shown.locator("[title], svg title").count() == 0


def test_a_click_shows_the_three_commonest_replies_and_their_shares(shown: Any) -> None:
    shown.locator("#answers summary").click()
    told = [item.replace("\u00a0", " ") for item in shown.locator("#answers li").all_inner_texts()]
    assert [re.sub(r"\s+", " ", item) for item in told] == [
        "2... f6 45 % 44 of 98 games",
        "2... Nc6 43 % 42 of 98 games",
        "2... d6 12 % 12 of 98 games; too few to say",
    ]
    assert shown.locator(".pointed").is_visible()


@pytest.mark.parametrize("key", ["Space", "Enter", "PageDown", "x", "ArrowDown"])
def test_any_key_shows_them_and_escape_hides_them(page: Any, local: str, key: str) -> None:
    page.goto(f"{local}/{PLACE}")
    page.keyboard.press(key)
    assert page.locator("#answers ol").is_visible()
    page.get_by_text("of 98 games").first.wait_for()
    page.keyboard.press("Escape")
    assert not page.locator("#answers ol").is_visible()


@pytest.mark.parametrize("key", ["Tab", "Shift", "F2"])
def test_keys_that_do_something_else_show_nothing(page: Any, local: str, key: str) -> None:
    page.goto(f"{local}/{PLACE}")
    page.keyboard.press(key)
    assert not page.locator("#answers ol").is_visible()


def test_the_keys_of_the_line_stay_in_the_class_view(page: Any, local: str) -> None:
    page.goto(f"{local}/{PLACE}")
    page.keyboard.press("ArrowLeft")
    page.wait_for_url("**/class?line=e4+e5")
    page.keyboard.press("ArrowRight")
    page.wait_for_url("**/class?line=e4+e5+Nf3")


def test_what_is_shown_is_read_out(page: Any, local: str) -> None:
    page.goto(f"{local}/{PLACE}")
    page.keyboard.press("Space")
    said = page.locator("#said[role=status]")
    said.get_by_text("of 98 games").wait_for()
    assert said.inner_text().count("of 98 games") == 3


@pytest.mark.parametrize(("wide", "high"), SCREENS)
def test_every_letter_is_large_and_dark_enough_for_the_last_row(
    browser: Any, local: str, wide: int, high: int
) -> None:
    """Contrast of at least 7 to 1 with the paper: WCAG 2.2, 1.4.6."""
    page = browser.new_page(viewport={"width": wide, "height": high})
    page.goto(f"{local}/{PLACE}")
    page.keyboard.press("Space")
    seen = page.evaluate(SEEN)
    assert len(seen) > 25
    assert [text for text, size, _ in seen if size < SMALLEST * high] == []
    assert [text for text, _, ratio in seen if ratio < 7] == []
    page.close()


@pytest.mark.parametrize(("wide", "high"), SCREENS)
def test_diagram_and_replies_are_on_the_screen_without_scrolling(
    browser: Any, local: str, wide: int, high: int
) -> None:
    page = browser.new_page(viewport={"width": wide, "height": high})
    page.goto(f"{local}/{PLACE}")
    page.keyboard.press("Space")
    for part in ("#board svg", "#answers li:last-child"):
        box = page.locator(part).bounding_box()
        assert box["y"] >= 0
        assert box["y"] + box["height"] <= high
        assert box["x"] + box["width"] <= wide
    assert page.locator("#board svg").bounding_box()["width"] > 0.55 * wide
    page.close()


def test_the_arrows_lie_on_the_board(page: Any, local: str) -> None:
    page.goto(f"{local}/{PLACE}")
    page.keyboard.press("Space")
    board, over = (page.locator(f"{part} svg").bounding_box() for part in ("#board", ".pointed"))
    assert over == pytest.approx(board, abs=1)


def test_a_position_that_no_game_reached_can_be_shown_in_class(page: Any, local: str) -> None:
    page.goto(f"{local}/class?line=a4+a5+h4")
    assert page.get_by_text("no game reached this position").is_visible()
    assert page.locator("#board svg").bounding_box()["height"] > 900


def test_the_position_page_has_the_class_view_by_its_address(page: Any, local: str) -> None:
    page.goto(f"{local}/position?line=e4&view=class")
    assert page.url == f"{local}/class?line=e4"
