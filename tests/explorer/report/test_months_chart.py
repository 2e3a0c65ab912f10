"""The charts of progress: a dot and its interval for each month, none without enough games."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date

import pytest

from explorer.query.student_model import Better, Period
from explorer.query.student_parts import OwnMean
from explorer.report.months_chart import panels
from tests.support.student_answers import better, mean, own, period

NOTHING = OwnMean(None, None, None, 0)


def months(*found: Period, since: date | None = None) -> Better:
    return replace(better(None), months=found, since=since)


def charts(told: Better) -> dict[str, str]:
    return {panel.title: panel.drawing for panel in panels(told)}


MISTAKES = "Listed mistakes, of the chances to make them"
LEFT = "The move at which you left the lesson"
SCORE = "Score against expectation, a game"


def test_a_chart_has_a_dot_for_each_month_hollow_where_few_games_make_it() -> None:
    drawing = charts(better())[SCORE]
    assert drawing.count("<circle") == 4
    assert drawing.count('stroke-dasharray="2 2"') == 1  # the last month has 23 games
    assert "December 2025: -0.08, -0.26 to +0.10, of 31 games." in drawing
    assert "March 2026: +0.09, -0.12 to +0.30, of 23 games, too few to say." in drawing


def test_which_way_is_better_stands_beside_it() -> None:
    assert {panel.title: panel.good for panel in panels(better())}[MISTAKES] == "lower is better"


def test_the_day_that_parts_before_and_after_is_marked_where_it_lies_on_the_axis() -> None:
    assert "since" in charts(better())[SCORE]
    for day in (None, date(2024, 1, 1), date(2027, 1, 1)):
        assert "since" not in charts(replace(better(None), since=day))[SCORE]


def test_no_chart_is_drawn_of_one_month_or_of_too_few_games() -> None:
    assert charts(months(period("2026-01", 400, 0.1, (3, 9), 9))) == {}
    few = [period(f"2026-0{n}", 5, 0.1, (1, 4), 4) for n in (1, 2, 3)]
    lean = [replace(one, kept=None, left_at=None, punished=own(0, 0)) for one in few]
    assert charts(months(*lean)) == {}


def test_a_month_without_a_value_has_no_dot_and_the_axis_no_hole() -> None:
    first, last = period("2025-11", 40, 0.1, (3, 9), 9), period("2026-02", 40, 0.1, (3, 9), 9)
    empty = replace(period("2025-12", 9, 0.1, (3, 9), 9), over_expected=NOTHING)
    drawing = charts(months(first, empty, last))[SCORE]
    assert drawing.count("<circle") == 2
    names = re.findall(r">([A-Z][a-z]{2})<", drawing)
    assert names == ["Nov", "Dec", "Jan", "Feb"]
    assert re.findall(r">(20\d\d)<", drawing) == ["2025", "2026"]
    undated = replace(first, since=None)
    assert SCORE not in charts(months(undated, last))


def test_many_months_are_named_only_in_part() -> None:
    found = [
        period(f"20{year}-{n:02}", 40, 0.1, (3, 9), 9) for year in (24, 25) for n in range(1, 13)
    ]
    drawing = charts(months(*found))[SCORE]
    assert drawing.count("<circle") == 24
    assert 6 <= len(re.findall(r">([A-Z][a-z]{2})<", drawing)) <= 12


@pytest.mark.parametrize(("value", "ends"), [(0.05, "0.10"), (0.3, "0.50"), (0.9, "1.00")])
def test_a_scale_around_nothing_is_the_smallest_that_holds_the_values(
    value: float, ends: str
) -> None:
    found = [
        replace(period(f"2026-0{n}", 40, 0.1, (3, 9), 9), over_expected=mean(value, 0.1, 40))
        for n in (1, 2)
    ]
    drawing = charts(months(*found))[SCORE]
    assert f">+{ends}<" in drawing
    assert f">\u2212{ends}<" in drawing


def test_moves_have_whole_numbers_on_their_axis() -> None:
    found = [
        replace(period(f"2026-0{n}", 40, 0.1, (3, 9), 9), left_at=mean(3.0 + n, 0.5, 20))
        for n in (1, 2)
    ]
    drawing = charts(months(*found))[LEFT]
    assert re.findall(r">(\d+)<", drawing) == ["3", "6", "2026"]
    assert "January 2026: 4.0, 3.5 to 4.5, of 20 games, too few to say." in drawing


def test_a_value_without_an_interval_is_a_dot_alone() -> None:
    alone = OwnMean(4.0, None, None, 1)
    found = [replace(period(f"2026-0{n}", 40, 0.1, (3, 9), 9), left_at=alone) for n in (1, 2)]
    more = replace(period("2026-03", 40, 0.1, (3, 9), 9), left_at=mean(4.0, 0.5, 40))
    drawing = charts(months(*found, more))[LEFT]
    assert "January 2026: 4.0, 4.0 to 4.0, of 1 game, too few to say." in drawing
