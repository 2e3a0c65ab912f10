"""The bars of chances and finds."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from dataclasses import replace

from explorer.report.palette import INK, MUTED
from explorer.report.steps import EDGE, WIDE, step_bar
from tests.support.mistake_answers import make_punishment, make_rate

SVG = "{http://www.w3.org/2000/svg}"
FIRST, SECOND = make_punishment().levels[-1].steps


def boxes(text: str) -> list[ET.Element]:
    return list(ET.fromstring(text).iter(f"{SVG}path"))


def width(box: ET.Element) -> float:
    return float((box.get("d") or "").split("h")[1].split("v")[0])


def test_a_bar_is_as_long_as_its_share_of_the_first_chances() -> None:
    chances, found = boxes(step_bar(FIRST, 80, "3. Nxe5"))
    assert width(chances) == WIDE - 2 * EDGE
    assert width(found) == (WIDE - 2 * EDGE) / 2
    assert found.get("fill") == INK


def test_escapes_are_hatched_behind_the_chances() -> None:
    chances, found, escaped = boxes(step_bar(SECOND, 80, "4. Qh5+"))
    assert "url(#" in (escaped.get("fill") or "")
    start = float((escaped.get("d") or "")[1:].split(" ")[0])
    assert start == EDGE + width(chances)
    assert width(found) < width(chances)


def test_few_games_are_muted() -> None:
    few = replace(FIRST, found=make_rate(3, 9, 9))
    assert boxes(step_bar(few, 9, "x"))[1].get("fill") == MUTED


def test_a_bar_says_its_numbers_in_words() -> None:
    label = ET.fromstring(step_bar(SECOND, 80, "4. Qh5+")).get("aria-label")
    assert label == "4. Qh5+: found 19 of 28 chances; 12 escaped before."


def test_no_chance_is_no_bar() -> None:
    none = replace(FIRST, found=make_rate(0, 0, 0))
    assert boxes(step_bar(none, 0, "x")) == []
