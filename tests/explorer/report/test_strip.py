"""The level strip: where dots and whiskers stand, and what it says in words."""

from __future__ import annotations

import json
import xml.etree.ElementTree as ET
from dataclasses import replace
from itertools import pairwise

from explorer.query.filters import Filters
from explorer.query.model import LevelCount
from explorer.report.interactive import chart_json
from explorer.report.palette import INK, MUTED
from explorer.report.strip import FLOOR, LEFT, RIGHT, TOP, panel, scale_of, score_line
from ingest.levels import Level, bands
from tests.support.answers import replies_answer, reply_level

SVG = "{http://www.w3.org/2000/svg}"
REPLIES = {reply.san: reply for reply in replies_answer().replies}


def dots(text: str) -> list[ET.Element]:
    return list(ET.fromstring(text).iter(f"{SVG}circle"))


def test_levels_run_from_low_to_high_with_unrated_apart() -> None:
    xs = [float(dot.get("cx") or 0) for dot in dots(panel(REPLIES["f6"], bands(), "2... f6"))]
    assert len(xs) == 9
    assert xs == sorted(xs)
    assert xs[0] > LEFT
    assert xs[-1] < RIGHT
    assert xs[-1] - xs[-2] > 1.5 * (xs[1] - xs[0])


def test_a_dot_stands_at_its_share_on_the_panels_scale() -> None:
    reply = REPLIES["f6"]
    assert scale_of(reply) == 0.25
    first = dots(panel(reply, bands(), "f6"))[0]
    share = reply.levels[0].share or 0
    assert float(first.get("cy") or 0) == round(FLOOR - (FLOOR - TOP) * share / 0.25, 1)


def test_levels_with_few_games_are_hollow_and_muted_and_stay_inside() -> None:
    drawn = dots(panel(REPLIES["f6"], bands(), "f6"))
    assert drawn[7].get("stroke") == MUTED
    assert drawn[0].get("stroke") == drawn[0].get("fill") == INK


def test_a_level_that_nobody_of_reached_has_no_dot() -> None:
    empty = reply_level("2000 and over", 0, 0, 0)
    levels = REPLIES["f6"].levels
    reply = replace(REPLIES["f6"], levels=(*levels[:7], empty, levels[8]))
    drawn = panel(reply, bands(), "f6")
    assert len(dots(drawn)) == 8
    assert "2000 and over:" not in drawn


def test_a_panel_says_its_numbers_in_words() -> None:
    label = ET.fromstring(panel(REPLIES["f6"], bands(), "2... f6")).get("aria-label") or ""
    assert label.startswith(
        "2... f6, share by level of the player. under 800: 11 %, 7.8 to 16 %, of 240 games."
    )
    assert "2000 and over: 0 %, 0 to 24 %, of 12 games, too few to say." in label


def test_few_bands_have_all_their_ratings_written() -> None:
    reply = replace(REPLIES["Nc6"], levels=REPLIES["Nc6"].levels[:4])
    texts = [
        t.text for t in ET.fromstring(panel(reply, bands((900, 1300)), "x")).iter(f"{SVG}text")
    ]
    assert texts == ["100 %", "0", "900", "1300", "unrated"]


def test_only_the_levels_shown_and_those_between_them_are_drawn() -> None:
    drawn = panel(REPLIES["f6"], bands(), "f6", shown=(1, 3))
    texts = [t.text for t in ET.fromstring(drawn).iter(f"{SVG}text")]
    assert texts == ["25 %", "0", "800", "1000", "1200", "1400"]
    xs = [float(dot.get("cx") or 0) for dot in dots(drawn)]
    assert len(xs) == 3
    assert LEFT < xs[0] < xs[-1] < RIGHT


def test_unrated_alone_and_open_ends_have_a_panel_too() -> None:
    alone = panel(REPLIES["f6"], bands(), "f6", shown=(8,))
    assert [t.text for t in ET.fromstring(alone).iter(f"{SVG}text")][2:] == ["unrated"]
    ends = panel(REPLIES["f6"], bands(), "f6", shown=(7,))
    assert [t.text for t in ET.fromstring(ends).iter(f"{SVG}text")][2:] == ["2000"]


def test_ratings_that_crowd_are_written_in_part() -> None:
    cuts = tuple(range(100, 4100, 100))[:40]
    reply = replace(REPLIES["f6"], levels=(REPLIES["f6"].levels[0],) * 42)
    marks = list(ET.fromstring(panel(reply, bands((*cuts[:-1], 3999)), "f6")).iter(f"{SVG}text"))
    xs = [float(mark.get("x") or 0) for mark in marks[2:]]
    assert min(b - a for a, b in pairwise(xs)) >= 27


def test_the_chart_leaves_out_levels_that_a_filter_leaves_empty() -> None:
    counts = tuple(
        LevelCount(level.label, level.low, level.high, games)
        for level, games in zip(bands(), (0, 96, 106, 0, 0, 0, 0, 0, 0), strict=True)
    )
    answer = replies_answer(Filters(levels=(Level(800, 1199),)), levels=counts)
    curve = json.loads(chart_json(answer))["data"][0]
    assert curve["x"] == ["800-999", "1000-1199"]


def test_a_score_is_a_dot_on_a_line_from_0_to_1() -> None:
    line = score_line(REPLIES["f6"], INK)
    assert float(dots(line)[0].get("cx") or 0) == round(8 + 184 * 0.35, 1)
    assert "Score 0.35 on a line from 0 to 1, between 0.30 and 0.40, expected 0.47." in line
    assert "expected" not in score_line(replace(REPLIES["f6"], expected=None), INK)
    assert score_line(REPLIES["h6"], INK) == ""


def test_the_chart_has_the_shares_of_the_answer_and_a_gap_before_unrated() -> None:
    data = json.loads(chart_json(replies_answer()))
    curve = data["data"][3]
    assert curve["name"] == "f6"
    assert curve["y"][0] == round(100 * (REPLIES["f6"].levels[0].share or 0), 2)
    assert curve["x"][-2:] == [" ", "unrated"]
    assert curve["y"][-2] is None
    assert curve["text"][0] == "under 800: 11 % (7.8-16 %)<br>27 of 240 games"
    assert len(data["data"]) == 6


def test_the_chart_is_the_same_each_time_and_cannot_close_its_script() -> None:
    text = chart_json(replies_answer(), "de")
    assert text == chart_json(replies_answer(), "de")
    assert "<" not in text
    assert "Sc6" in text


def test_a_missing_share_is_a_gap_in_the_chart() -> None:
    levels = (reply_level("under 800", 0, 0, 0), *REPLIES["f6"].levels[1:])
    answer = replies_answer(replies=(replace(REPLIES["f6"], levels=levels),))
    curve = json.loads(chart_json(answer))["data"][0]
    assert curve["y"][0] is None
    assert curve["error_y"]["array"][0] is None
