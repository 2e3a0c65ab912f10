"""The local page in a real browser: moves by click, drag, key and text; nothing lost without."""

from __future__ import annotations

from pathlib import Path
from typing import Any
from urllib.parse import parse_qs, urlsplit

import pytest

from explorer.report.diagram import LEFT, SQUARE, TOP, WIDE

pytestmark = pytest.mark.browser

TO_PROMOTE = "fen=8%2FP6k%2F8%2F8%2F8%2F8%2F8%2FK7+w+-+-+0+1"


@pytest.fixture
def page(browser: Any) -> Any:
    found = browser.new_page(viewport={"width": 1000, "height": 900})
    yield found
    found.close()


@pytest.fixture
def bare(browser: Any) -> Any:
    """A page on which no script may run."""
    found = browser.new_page(viewport={"width": 1000, "height": 900}, java_script_enabled=False)
    yield found
    found.close()


def line(page: Any) -> str:
    """The line that the page's address tells."""
    return parse_qs(urlsplit(page.url).query).get("line", [""])[0]


def middle(page: Any, square: str, black: bool = False) -> tuple[float, float]:
    """Where a square is on the screen."""
    box = page.locator("#board svg.diagram").bounding_box()
    file, rank = "abcdefgh".index(square[0]), int(square[1]) - 1
    column, row = (7 - file, rank) if black else (file, 7 - rank)
    scale = box["width"] / WIDE
    x = box["x"] + scale * (LEFT + SQUARE * (column + 0.5))
    return x, box["y"] + scale * (TOP + SQUARE * (row + 0.5))


def click(page: Any, square: str, black: bool = False) -> None:
    page.mouse.click(*middle(page, square, black))


def drag(page: Any, start: str, end: str) -> None:
    page.mouse.move(*middle(page, start))
    page.mouse.down()
    page.mouse.move(*middle(page, end), steps=4)
    page.mouse.up()


def test_from_the_start_to_a_reply_and_back(page: Any, local: str) -> None:
    page.goto(f"{local}/")
    page.locator(".card h4 a").first.click()
    page.wait_for_url("**/position?line=e4")
    assert page.locator("h1").inner_text() == "What Black plays after 1.\u00a0e4"
    page.go_back()
    assert page.locator("h1").inner_text() == "What White plays at the start"


def test_the_line_leads_back_to_each_of_its_positions(page: Any, local: str) -> None:
    page.goto(f"{local}/position?line=e4+e5+Nf3")
    page.locator(".crumbs").get_by_text("e5", exact=True).click()
    page.wait_for_url("**/position?line=e4+e5")


def test_a_browser_that_keeps_nothing_moves_the_men_too(page: Any, local: str) -> None:
    """With cookies blocked, merely looking at the storage of a page is an error."""
    refusing = "{ get() { throw new DOMException('no', 'SecurityError'); } }"
    page.add_init_script(f"Object.defineProperty(window, 'sessionStorage', {refusing})")
    page.goto(f"{local}/")
    click(page, "e2")
    click(page, "e4")
    page.wait_for_url("**/position?line=e4")


def test_typing_a_move_starts_the_text_box(page: Any, local: str) -> None:
    page.goto(f"{local}/position?line=e4+e5+Nf3&level=under-1000")
    page.keyboard.type("Nc6")
    assert page.locator("#go-go").input_value() == "Nc6"
    page.keyboard.press("Enter")
    page.wait_for_url("**line=e4+e5+Nf3+Nc6*")
    assert "level=under-1000" in page.url


def test_an_unseen_move_is_made_by_two_clicks(page: Any, local: str) -> None:
    page.goto(f"{local}/position?line=e4+e5")
    click(page, "e1")
    assert page.locator("#said").inner_text() == "King on e1: to e2."
    assert page.locator(".target").count() == 1
    click(page, "e2")
    page.wait_for_url("**line=e4+e5+Ke2")
    assert page.get_by_text("no game reached this position").is_visible()


def test_an_unseen_move_is_made_by_dragging(page: Any, local: str) -> None:
    page.goto(f"{local}/position?line=e4+e5")
    drag(page, "h2", "h4")
    page.wait_for_url("**line=e4+e5+h4")


def test_a_move_on_from_an_unseen_position_is_made_too(page: Any, local: str) -> None:
    page.goto(f"{local}/position?line=a4+a5+h4")
    drag(page, "a8", "a6")
    page.wait_for_url("**line=a4+a5+h4+Ra6")


def test_the_board_can_be_turned_and_moves_are_still_where_they_are_seen(
    page: Any, local: str
) -> None:
    page.goto(f"{local}/position?line=e4")
    page.get_by_role("link", name="Turn the board").click()
    page.wait_for_url("**view=black*")
    click(page, "b8", black=True)
    click(page, "c6", black=True)
    page.wait_for_url("**line=e4+Nc6*")
    assert "view=black" in page.url


def test_an_illegal_move_is_told_and_not_made(page: Any, local: str) -> None:
    page.goto(f"{local}/position?line=e4+e5")
    drag(page, "g1", "g4")
    assert page.locator("#said").inner_text() == "g1 to g4 is not a legal move."
    assert line(page) == "e4 e5"
    knight = page.locator("#board use[href='#rb-wN']")
    there = {(use.get_attribute("x"), use.get_attribute("y")) for use in knight.all()}
    assert (str(LEFT + 6 * SQUARE), str(TOP + 7 * SQUARE)) in there


def test_a_chosen_piece_is_let_go_with_escape(page: Any, local: str) -> None:
    page.goto(f"{local}/position?line=e4+e5")
    click(page, "g1")
    page.keyboard.press("Escape")
    assert page.locator(".chosen").count() == 0


def test_a_promotion_asks_which_piece(page: Any, local: str) -> None:
    page.goto(f"{local}/position?{TO_PROMOTE}")
    drag(page, "a7", "a8")
    assert page.locator("dialog a").all_inner_texts() == ["Queen", "Rook", "Bishop", "Knight"]
    page.locator("dialog").get_by_text("Knight").click()
    page.wait_for_url("**line=a8%3DN*")


def test_a_promotion_can_be_thought_better_of(page: Any, local: str) -> None:
    page.goto(f"{local}/position?{TO_PROMOTE}")
    drag(page, "a7", "a8")
    page.keyboard.press("Escape")
    page.locator("dialog").wait_for(state="detached")
    assert line(page) == ""


def test_arrow_keys_go_back_and_forth_along_the_line(page: Any, local: str) -> None:
    page.goto(f"{local}/position?line=e4+e5+Nf3&pace=rapid")
    for there in ("e4 e5", "e4"):
        page.keyboard.press("ArrowLeft")
        page.wait_for_url(f"**line={there.replace(' ', '+')}&pace=rapid")
    page.keyboard.press("ArrowRight")
    page.wait_for_url("**line=e4+e5&pace=rapid")
    page.keyboard.press("ArrowRight")
    page.wait_for_url("**line=e4+e5+Nf3&pace=rapid")
    page.keyboard.press("ArrowRight")
    assert page.locator("#said").inner_text() == "The line ends here."


def test_arrow_keys_step_through_a_game(page: Any, local: str) -> None:
    page.goto(f"{local}/game/1")
    page.keyboard.press("ArrowRight")
    page.wait_for_url("**/game/1?ply=1")
    page.keyboard.press("ArrowLeft")
    page.wait_for_url("**/game/1?ply=0")


def test_a_changed_filter_is_kept_along_the_way(page: Any, local: str) -> None:
    page.goto(f"{local}/position?line=e4+e5")
    before = page.locator(".summary").first.inner_text()
    page.get_by_label("Level of the player to move", exact=True).select_option("1400-1599")
    page.get_by_role("button", name="Show").click()
    page.wait_for_url("**level=1400-1599")
    assert page.locator(".summary").first.inner_text() != before
    page.locator(".card h4 a").first.click()
    page.wait_for_url("**line=e4+e5+Nf3&level=1400-1599")


def test_fen_and_line_are_copied(browser: Any, local: str) -> None:
    context = browser.new_context(permissions=["clipboard-read", "clipboard-write"])
    page = context.new_page()
    page.goto(f"{local}/position?line=e4+e5+Nf3")
    for button, text in (
        ("Copy FEN", "rnbqkbnr/pppp1ppp/8/4p3/4P3/5N2/PPPP1PPP/RNBQKB1R b KQkq - 0 1"),
        ("Copy line", "1. e4 e5 2. Nf3"),
    ):
        page.get_by_role("button", name=button).click()
        page.get_by_text(f"Copied: {text}").wait_for()
        assert page.evaluate("navigator.clipboard.readText()") == text
    context.close()


def test_the_diagram_is_saved_by_a_plain_link(bare: Any, local: str, tmp_path: Path) -> None:
    bare.goto(f"{local}/position?line=e4+e5")
    with bare.expect_download() as found:
        bare.get_by_role("link", name="Save the diagram").click()
    found.value.save_as(tmp_path / "diagram.svg")
    assert found.value.suggested_filename == "diagram-e4-e5.svg"
    assert "<svg" in (tmp_path / "diagram.svg").read_text("utf-8")


def test_without_scripts_any_legal_move_is_a_link(bare: Any, local: str) -> None:
    bare.goto(f"{local}/position?line=e4+e5")
    bare.get_by_text("Make any legal move").click()
    bare.locator(".moves").get_by_text("Ke2", exact=True).click()
    assert line(bare) == "e4 e5 Ke2"


def test_without_scripts_the_box_and_the_filters_work(bare: Any, local: str) -> None:
    bare.goto(f"{local}/position?line=e4+e5")
    bare.get_by_label("Level of the player to move", exact=True).select_option("under-800")
    bare.get_by_role("button", name="Show").click()
    bare.locator("#go-go").fill("Nf3")
    bare.get_by_role("button", name="Go").click()
    assert (line(bare), "level=under-800" in bare.url) == ("e4 e5 Nf3", True)


def test_without_scripts_nothing_is_shown_that_needs_them(bare: Any, local: str) -> None:
    bare.goto(f"{local}/position?line=e4+e5")
    assert bare.locator("button:visible").all_inner_texts() == ["Go", "Show"]
    assert not bare.get_by_text("Click or drag").is_visible()


def test_the_list_of_moves_is_reached_by_keyboard_alone(page: Any, local: str) -> None:
    page.goto(f"{local}/position?line=e4+e5")
    page.locator(".moves summary").focus()
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.dataset.uci") == "f1a6"
    page.keyboard.press("Enter")
    page.wait_for_url("**line=e4+e5+Ba6")
