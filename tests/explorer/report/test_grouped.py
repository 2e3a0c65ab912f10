"""Replies by year, season, pace, collection and opponents: what is shown and said."""

from __future__ import annotations

import json
import re
import xml.etree.ElementTree as ET
from collections.abc import Sequence
from dataclasses import replace
from datetime import date

import pytest

from explorer.query.filters import Filters
from explorer.query.model import LevelCount, RepliesAnswer, TrendOver
from explorer.report import grouped
from explorer.report.interactive import chart_json
from explorer.report.json_of import replies_json
from explorer.report.page import replies_page
from explorer.report.privacy import Veil
from explorer.report.sheet import PageOptions
from explorer.report.strip import WIDE, panel
from explorer.report.tables import replies_table
from ingest.levels import Level
from tests.support.answers import make_source, replies_answer, reply_level

GROWS = TrendOver("grows", 0.0004, 3)
OPTIONS = PageOptions("replybook report e4 e5 Nf3 --by year", date(2026, 1, 2))


def by(
    what: str,
    labels: Sequence[str],
    of: Sequence[int] = (400, 500, 600),
    trend: TrendOver | None = None,
    apart: bool = False,
) -> RepliesAnswer:
    """An answer in groups; every reply is a tenth of each. The last stands ``apart``."""
    levels = [reply_level(label, n // 10, n, n // 4) for label, n in zip(labels, of, strict=True)]
    counts = [LevelCount(level.label, None, None, level.of) for level in levels]
    counts[-1] = replace(counts[-1], apart=apart)
    answer = replies_answer(Filters(by=what))
    every = [replace(reply, levels=tuple(levels), trend=trend) for reply in answer.replies]
    people = make_source(people=("Marsh, Ada",))
    return replace(answer, levels=tuple(counts), replies=tuple(every), source=people)


def names(text: str) -> list[str]:
    """What stands below a panel, from left to right."""
    svg = "{http://www.w3.org/2000/svg}"
    group = ET.fromstring(text).findall(f"{svg}g")[-1]
    told = [(float(name.get("x") or 0), name.text or "") for name in group]
    return [name for _, name in sorted(told)]


@pytest.mark.parametrize("what", ["year", "season", "pace", "collection"])
def test_the_title_of_the_shares_says_what_they_are_by(what: str) -> None:
    table = replies_table(by(what, ["a", "b", "c"]), "all")
    titles = {column.group for column in table.columns if column.head.startswith("a")}
    assert titles == {
        f"Share by {what}, in 100 games of that {what}",
        f"Score by {what}",
        f"Games of each reply by {what}",
    }


def test_by_opponents_the_bands_are_those_of_the_opponent() -> None:
    answer = replies_answer(Filters(by="opponents", opponents=(Level(None, 999),)))
    empty = [replace(level, games=0) for level in answer.levels[2:]]
    answer = replace(answer, levels=(*answer.levels[:2], *empty))
    assert grouped.shown(answer) == (0, 1)
    page = replies_page([answer], OPTIONS)
    assert "What is played against whom" in page
    assert "share by level of the opponent" in page
    assert "players under 800 choose" not in page


@pytest.mark.parametrize(
    ("what", "note"),
    [
        ("season", "A season runs from July to June."),
        ("season", "Unknown season: games whose date has no month."),
        ("year", "Unknown year: games whose date has no year."),
        ("collection", "A game in two collections counts in both"),
    ],
)
def test_a_note_says_what_one_must_know_of_the_groups(what: str, note: str) -> None:
    answer = by(what, ["2024", "2025", f"unknown {what}"], apart=True)
    assert any(said.startswith(note) for said in replies_table(answer).notes)
    text = re.sub(r"\s+", " ", replies_page([answer], OPTIONS))
    assert note.removesuffix(".") in text


@pytest.mark.parametrize(
    ("games", "told"), [(12, "12 games before 2024 are"), (1, "1 game before 2024 is")]
)
def test_years_begin_with_the_first_that_has_enough_games(games: int, told: str) -> None:
    answer = by("year", ["1931", "2024", "2025"], (games, 500, 600))
    assert grouped.shown(answer) == (1, 2)
    assert f"{told} counted but not shown by year: too few to say." in replies_table(answer).notes
    few = by("year", ["1931", "1932", "1933"], (3, 4, 5))
    assert grouped.shown(few) == (0, 1, 2)
    assert grouped.shown(replace(answer, replies=())) == (0, 1, 2)


@pytest.mark.parametrize(
    ("what", "direction", "sentence"),
    [
        ("level", "fades", "It fades with strength: the stronger the players, the rarer it is."),
        ("level", "none", None),
        ("year", "grows", "It became more common over the years."),
        ("season", "fades", "It became less common over the seasons."),
    ],
)
def test_a_trend_is_one_plain_sentence(what: str, direction: str, sentence: str | None) -> None:
    reply = replace(replies_answer().replies[0], trend=TrendOver(direction, 0.01, 3))
    assert grouped.trend_sentence(reply, what) == sentence


def test_no_trend_is_told_of_few_games_or_of_one_players_habit() -> None:
    reply = replace(replies_answer().replies[0], trend=GROWS)
    assert grouped.trend(reply, "year") is not None
    assert grouped.trend(replace(reply, games=20), "year") is None
    assert grouped.trend(replace(reply, top_player_games=reply.games), "year") is None


def test_the_notes_name_the_replies_with_a_trend_and_its_test() -> None:
    answer = by("year", ["2023", "2024", "2025"], trend=GROWS)
    answer = replace(answer, replies=answer.replies[:2])
    notes = replies_table(answer, letters="de").notes
    assert "Became more common over the years: Sc6 (p < 0.001) and d6 (p < 0.001)." in notes
    assert any(note.startswith("Trends: Cochran-Armitage test over the years") for note in notes)
    page = replies_page([answer], OPTIONS)
    assert "It became more common over the years." in page
    assert "Cochran-Armitage" in page
    calm = replies_table(by("year", ["2023", "2024", "2025"])).notes
    assert not any("Cochran-Armitage" in note for note in calm)


def test_a_collections_name_shows_nobodys_name() -> None:
    """A collection named after a student is told by initials, in every form."""
    answer = by("collection", ["club", "games of Ada Marsh", "cup"])
    forms = [
        replies_json(answer),
        str(replies_table(answer)),
        replies_page([answer], replace(OPTIONS, interactive=False)),
        chart_json(grouped.named(answer, Veil.over(answer, "initials"))),
    ]
    for text in forms:
        assert "Marsh" not in text
        assert "games of A. M." in text
    assert "Ada Marsh" in replies_json(answer, names="full")


def test_years_stand_below_the_strip_and_the_unknown_one_apart() -> None:
    answer = by("year", ["2024", "2025", "unknown year"], apart=True)
    drawn = panel(answer.replies[0], grouped.axis(answer), "f6", by="year")
    assert names(drawn) == ["2024", "2025", "unknown"]
    assert "share by year" in drawn


def test_crowded_names_are_cut_or_left_out_and_stay_inside() -> None:
    years = [str(year) for year in range(1980, 2025)]
    answer = by("year", [*years, "unknown year"], [400] * 46, apart=True)
    told = names(panel(answer.replies[0], grouped.axis(answer), "f6"))
    assert told[0] == "1980"
    assert told[-1] == "unknown"
    assert len(told) < 12
    clubs = by("collection", [f"a club <of> {n}" for n in range(9)], [400] * 9)
    drawn = panel(clubs.replies[0], grouped.axis(clubs), "f6")
    assert all(name.endswith("\u2026") for name in names(drawn))
    assert all(0 < float(x) < WIDE for x in re.findall(r'<text x="([\d.]+)"', drawn))
    one = by("collection", ["a club <of> 1"], [400])
    assert names(panel(one.replies[0], grouped.axis(one), "f6")) == ["a club <of> 1"]


def test_a_line_joins_years_but_not_collections_or_the_unknown_year() -> None:
    years = json.loads(chart_json(by("year", ["2024", "2025", "unknown year"], apart=True)))
    assert years["data"][0]["mode"] == "lines+markers"
    assert years["data"][0]["x"] == ["2024", "2025", " ", "unknown year"]
    assert years["layout"]["xaxis"]["title"]["text"] == "year"
    clubs = json.loads(chart_json(by("collection", ["a", "b", "c"])))
    assert clubs["data"][0]["mode"] == "markers"
    assert clubs["data"][0]["x"] == ["a", "b", "c"]
