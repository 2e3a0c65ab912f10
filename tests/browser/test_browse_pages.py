"""Every kind of page of the local page: accessible, whole at any width, harmless, fit to print."""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import pairwise
from typing import Any
from urllib.parse import quote

import pytest

from tests.support import hostile

pytestmark = pytest.mark.browser

FILE = quote(hostile.FILE_NAME)
PAGES = {
    "start": "/",
    "position": "/position?line=e4+e5+Nf3",
    "one player": f"/position?line=e4&player={quote(hostile.SCRIPT)}",
    "collection": f"/position?line=e4+e5&collection={quote(hostile.COLLECTION)}&by=collection",
    "full names": "/position?line=e4+e5+Nf3+f6&names=full",
    "unseen": "/position?line=a4+a5+h4",
    "class": "/class?line=e4+e5+Nf3",
    "class, unseen": "/class?line=a4+a5+h4",
    "plans": "/plans?line=e4+e5",
    "game": "/game/1?ply=3",
    "hostile game": "/game/105?ply=3&names=full",
    "mistakes": "/mistakes?line=e4+e5&as=white",
    "mistake": "/mistake?line=e4+e5+Nf3+f6&names=full",
    "lessons": "/lessons",
    "lesson": f"/lesson?file={FILE}&as=white",
    "student": f"/student?name={quote('Vane, Amber')}",
    "hostile student": f"/student?name={quote(hostile.SCRIPT)}&names=full",
    "nobody": f"/student?name={quote(hostile.SCRIPT + ' and more')}",
    "library": "/library?names=full",
    "ledger": "/library/rejects",
    "lost": f"/{quote(hostile.SCRIPT)}",
    "refused": f"/position?line=e4+{quote(hostile.SCRIPT)}",
    "refused level": f"/position?level={quote(hostile.SCRIPT)}",
}
WIDTHS = (320, 900, 1920)
PRINTED = {"position": (3, 5), "class": (1, 1), "plans": (1, 8), "game": (1, 2), "unseen": (1, 1)}


@pytest.fixture(params=PAGES)
def name(request: pytest.FixtureRequest) -> str:
    """Each kind of page in turn."""
    return str(request.param)


@pytest.fixture(params=[320, 1280])
def page(request: pytest.FixtureRequest, browser: Any, local: str, name: str) -> Iterator[Any]:
    """Each kind of page in turn, on a telephone and on a screen."""
    found = browser.new_page(viewport={"width": request.param, "height": 900})
    found.goto(local + PAGES[name])
    yield found
    found.close()


def test_no_rule_of_axe_is_broken(page: Any) -> None:
    from axe_playwright_python.sync_playwright import Axe

    for details in page.locator("details").all():
        details.evaluate("(found) => { found.open = true; }")
    found = Axe().run(page)
    assert found.violations_count == 0, found.generate_report()


def test_what_axe_does_not_see_is_there(page: Any) -> None:
    """Drawings without role or name, tables without heads, blanks without labels."""
    bare = """[...document.querySelectorAll('svg')].filter(s =>
        !(s.getAttribute('role') == 'img' && s.getAttribute('aria-label'))
        && s.getAttribute('aria-hidden') != 'true').length"""
    assert page.evaluate(bare) == 0
    assert page.locator("table").count() == page.locator("table:has(th[scope=col])").count()
    assert page.locator("th:not([scope])").count() == 0
    assert page.locator("table:not(:has(caption)):not([aria-label])").count() == 0
    blanks = page.locator("input:not([type=hidden]), select")
    assert blanks.count() == page.locator(":is(input, select)[aria-label]").count()
    levels = page.evaluate(
        "[...document.querySelectorAll('h1,h2,h3,h4')].map(h => Number(h.tagName[1]))"
    )
    assert levels.count(1) == 1
    assert levels[0] == 1
    assert all(b - a <= 1 for a, b in pairwise(levels))
    assert page.locator("body > header").count() == page.locator("body > main").count() == 1
    ids = page.evaluate("[...document.querySelectorAll('[id]')].map(e => e.id)")
    assert len(ids) == len(set(ids))


@pytest.mark.parametrize("scripts", [True, False])
def test_no_width_makes_the_page_scroll_sideways(
    browser: Any, local: str, name: str, scripts: bool
) -> None:
    page = browser.new_page(java_script_enabled=scripts)
    for width in WIDTHS:
        page.set_viewport_size({"width": width, "height": 900})
        page.goto(local + PAGES[name])
        assert page.evaluate("document.documentElement.scrollWidth") <= width, width
    page.close()


def test_nothing_hostile_does_harm_and_the_policy_is_not_broken(
    browser: Any, local: str, name: str
) -> None:
    """No script, picture or handler of a file comes to life; no letters run the wrong way."""
    page = browser.new_page()
    said: list[str] = []
    asked: list[str] = []
    page.on("console", lambda message: said.append(message.text))
    page.on("pageerror", lambda error: said.append(str(error)))
    page.on("dialog", lambda dialog: said.append(dialog.message))
    page.on("request", lambda request: asked.append(request.url))
    page.goto(local + PAGES[name])
    page.wait_for_load_state("networkidle")
    assert [text for text in said if "status of 40" not in text] == []
    assert all(address.startswith(f"{local}/") for address in asked)
    assert page.evaluate("window.harmed") is None
    assert page.locator("img, iframe, object, style, script:not([src]), b b").count() == 0
    handlers = """[...document.querySelectorAll('*')]
        .some(e => e.getAttributeNames().some(n => n.startsWith('on')))"""
    assert not page.evaluate(handlers)
    shown = page.evaluate(
        """[document.title, document.body.textContent,
        ...[...document.querySelectorAll('[aria-label]')].map(e => e.ariaLabel)].join()"""
    )
    assert not re.search("[\u202a-\u202e\u2066-\u2069\u200e\u200f]", shown)
    page.close()


@pytest.mark.parametrize(("paper", "size"), [("A4", (595, 842)), ("Letter", (612, 792))])
@pytest.mark.parametrize("kind", PRINTED)
def test_it_prints_on_both_papers(
    browser: Any, local: str, kind: str, paper: str, size: tuple[int, int]
) -> None:
    page = browser.new_page()
    page.goto(local + PAGES[kind])
    pdf = page.pdf(format=paper, prefer_css_page_size=True)
    least, most = PRINTED[kind]
    assert least <= len(re.findall(rb"/Type\s*/Page\b", pdf)) <= most
    boxes = re.findall(rb"/MediaBox\s*\[\s*0 0 ([0-9.]+) ([0-9.]+)\s*\]", pdf)
    # Points; the browser rounds up to its own pixels.
    assert all((float(x), float(y)) == pytest.approx(size, abs=1.5) for x, y in boxes)
    page.close()


def test_bar_and_tools_are_not_printed(browser: Any, local: str) -> None:
    page = browser.new_page()
    page.goto(local + PAGES["position"])
    page.emulate_media(media="print")
    for part in (".top", ".ways", ".tools", ".crumbs", "#said", ".fen"):
        assert not page.locator(part).first.is_visible()
    assert page.locator("#board svg").is_visible()
    assert page.locator("header .filters").is_visible()
    page.close()
