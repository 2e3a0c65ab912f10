"""A diagram as a file of its own: valid, told in words, the same each time."""

from __future__ import annotations

import xml.etree.ElementTree as ET

from explorer.positions.typed import parse_position
from explorer.report.diagram import parse_marks
from explorer.report.slide import slide, title

SVG = "{http://www.w3.org/2000/svg}"


def test_a_slide_is_valid_xml_with_a_title_and_a_description() -> None:
    marks = parse_marks(["h5e5"], ["e8"])
    root = ET.fromstring(slide(parse_position("e4 e5 Nf3"), "black", marks))
    texts = {element.get("id"): element.text or "" for element in root[:2]}
    assert root.get("role") == "img"
    assert root.get("aria-labelledby") == "title description"
    assert texts["title"] == "After 1. e4 e5 2. Nf3: King's Knight Opening"
    assert texts["description"].startswith("Diagram, Black at the bottom. White: king e1, ")
    assert texts["description"].endswith(
        "Black to move. Last move: g1 to f3. Arrows: h5 to e5. Marked: e8."
    )


def test_every_drawing_that_a_slide_uses_is_in_it() -> None:
    """SVG 2, section 5.6: a reference that finds nothing draws nothing."""
    root = ET.fromstring(slide(parse_position("")))
    known = {element.get("id") for element in root.iter()}
    assert {(use.get("href") or "")[1:] for use in root.iter(f"{SVG}use")} <= known
    assert "http" not in slide(parse_position("")).replace(SVG[1:-1], "")


def test_a_large_slide_has_larger_coordinates_and_measures() -> None:
    usual, large = (
        ET.fromstring(slide(parse_position("e4"), large=large)) for large in (False, True)
    )
    sizes = [
        {group.get("font-size") for group in root.iter() if group.get("font-size")}
        for root in (usual, large)
    ]
    assert sizes == [{"14"}, {"18"}]
    assert int(large.get("width") or 0) > int(usual.get("width") or 0)


def test_the_same_position_gives_the_same_bytes() -> None:
    assert slide(parse_position("1. e4 c5")) == slide(parse_position("e2e4 c7c5"))


def test_a_title_tells_what_is_known() -> None:
    assert title(parse_position("e4 e5 Nf3 Nc6 a3"), "de") == "After 1. e4 e5 2. Sf3 Sc6 3. a3"
    assert title(parse_position("4k3/8/8/8/8/8/8/4K3 b - - 0 1")) == "Black to move"
    assert title(parse_position("")) == "White to move"
