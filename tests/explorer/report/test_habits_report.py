"""What is shown of habits: table, sentences, JSON and page, and whose name."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date

import pytest

from explorer.query.filters import Filters
from explorer.query.model import TrendOver
from explorer.report import habits_words as said
from explorer.report.formats import to_csv, to_markdown, to_text
from explorer.report.habits_json import habits_json
from explorer.report.habits_page import habits_page
from explorer.report.habits_tables import habits_table, veil_over
from explorer.report.sheet import PageOptions
from ingest.levels import parse_level
from tests.support.habits_answers import (
    CASTLED,
    LEFT,
    PIECES,
    answer,
    levels,
    mean,
    own,
    rate,
)

DOE = "Doe, Jane"
OPTIONS = PageOptions(f"replybook habits --player '{DOE}'", date(2026, 3, 1))


def beside(castles: float, leaves: float, p: float | None = 0.001, games: int = 60):
    """Jane Doe beside the others."""
    return answer(
        replace(CASTLED, own=own(CASTLED, rate(12, games, 1), castles, p, games)),
        replace(LEFT, own=own(LEFT, rate(30, games, 1), leaves, p, games)),
        replace(PIECES, own=own(PIECES, mean(2.0, games, 1), -0.5, 0.5, games)),
        player=DOE,
        games=games,
    )


def lead(told) -> str:
    return "\n".join(said.lead(told, veil_over(told, "initials")))


def notes(told) -> str:
    return "\n".join(said.notes(told, veil_over(told, "initials")))


def row(table, label: str) -> str:
    return next(line for line in to_markdown(table).splitlines() if line.startswith(f"| {label}"))


def test_the_table_fits_80_columns_and_has_a_row_for_each_habit() -> None:
    text = to_text(habits_table(beside(-0.1, 0.2)))
    assert max(map(len, text.splitlines())) <= 80
    for words in ("Castled by move 10", "A piece left to be", "Pieces developed by move 8"):
        assert words in text


def test_a_mean_of_pieces_stands_in_the_columns_of_shares() -> None:
    found = row(habits_table(answer()), "Pieces developed by move 8")
    assert found == "| Pieces developed by move 8 | 3.1 | 2.9 to 3.3 | - | 300 | 40 |"


def test_levels_are_in_100_games_and_muted_where_too_few() -> None:
    lines = to_markdown(habits_table(answer())).splitlines()
    heads = lines.index("| Habit | under 1000 | 1000-1399 | 1400 and over | unrated |")
    assert lines[heads + 2] == "| Castled by move 10 | 30 | 50 | 70 | &lt;10\\* |"
    assert lines[heads + 4] == "| Pieces developed by move 8 | 2.5 | 3.0 | 3.5 | - |"


def test_a_table_file_has_counts_for_each_level_and_the_mated() -> None:
    heads, first, second, third = to_csv(habits_table(answer())).strip("\ufeff").splitlines()
    cells = dict(zip(heads.split(","), second.split(","), strict=True))
    assert cells["Told apart: mated"] == "4"
    assert cells["under 1000: games"] == "100"
    assert cells["Score with less without"] == "-0.2"
    assert len(first.split(",")) == len(heads.split(",")) == len(third.split(","))
    cells = dict(zip(heads.split(","), third.split(","), strict=True))
    assert (cells["Share"], cells["Share from"], cells["Times"]) == ("3.1", "2.9", "")


def test_a_level_nobody_is_in_has_no_column_on_paper() -> None:
    told = answer()
    told = replace(told, levels=(*told.levels[:3], replace(told.levels[3], games=0)))
    assert "unrated" not in to_text(habits_table(told))
    assert "unrated" in to_csv(habits_table(told))


def test_the_lead_counts_and_names_what_changes_with_strength() -> None:
    told = lead(answer(CASTLED, replace(LEFT, trend=TrendOver("fades", 0.01, 3))))
    assert told == (
        "160 games by 40 players. In 100 games that last so long: castled by move 10 in 47; "
        "a piece left to be taken by move 15 in 28.\n"
        "Commoner with strength: castled by move 10.\n"
        "Rarer with strength: a piece left to be taken by move 15."
    )


def test_with_few_games_nothing_is_claimed() -> None:
    few = replace(CASTLED, levels=levels(*[rate(1, 3, 2)] * 5))
    told = said.in_short(answer(few))
    assert told == "160 games by 40 players: too few to say what is usual."
    assert said.trend(replace(few, trend=TrendOver("none", None, 0))) == (
        "Too few levels with enough games to say how it goes with strength."
    )


def test_a_trend_is_told_with_both_ends_and_its_p_in_the_footnote() -> None:
    assert said.trend(CASTLED) == (
        "Commoner with strength: from 30 % (under 1000) to 70 % (1400 and over)."
    )
    assert said.trend(LEFT) == "Neither clearly commoner nor clearly rarer with strength."
    assert said.definition(CASTLED) == (
        "Castled by move 10: the side has castled. Commoner with strength, p < 0.001."
    )
    pieces = replace(PIECES, trend=TrendOver("grows", 0.01, 3))
    assert "from 2.5 pieces (under 1000) to 3.5 pieces" in said.trend(pieces)


def test_the_footnotes_hold_definitions_the_mated_and_that_it_is_no_proof_of_cause() -> None:
    told = notes(answer())
    assert "the next move takes it. Told apart as mated: 4 of 300 games." in told
    assert "no proof of cause" in told
    assert "Cochran-Armitage" in told
    assert "Newcombe" not in told
    assert "Cochran-Armitage" not in notes(answer(PIECES))


def test_one_player_s_habit_is_said_to_be_one() -> None:
    mostly = replace(LEFT, levels=levels(*[rate(30, 100, top=20)] * 5))
    assert "One player made 20 of these 30." in said.definition(mostly)
    assert mostly.whole.few


def test_what_a_player_is_behind_in_is_something_to_practise() -> None:
    told = lead(beside(-0.1, 0.2))
    assert "J. D.: 60 games, most of them at level under 1000." in told
    assert (
        "Something to practise: castling by move 10 (20 %, the others 30 %); looking at what the "
        "other side can take (a piece left to be taken by move 15: 50 %, the others 30 %)."
    ) in told
    assert "hand" not in told


def test_what_a_player_is_ahead_in_is_in_hand() -> None:
    told = lead(beside(0.1, -0.2))
    assert "practise" not in told
    assert (
        "Better in hand than among the others: castling by move 10; looking at what the other "
        "side can take."
    ) in told


@pytest.mark.parametrize("p", [None, 0.06])
def test_a_difference_that_chance_explains_is_not_spoken_of(p) -> None:
    told = lead(beside(-0.1, 0.2, p))
    assert "In none of these does J. D. clearly differ from the others of that level." in told
    assert "practise" not in told


def test_a_few_games_of_a_player_are_only_counted() -> None:
    told = beside(-0.1, 0.2, games=12)
    assert "12 games, most of them at level under 1000. That is too few to say" in lead(told)
    assert "practise" not in lead(told)
    assert "J. D.: 1 game, at level under 1000." in lead(replace(told, player_games=1))
    assert "20 %" not in row(habits_table(told), "Castled by move 10")
    assert "100 %\\*" in row(habits_table(told), "Castled by move 10")


def test_the_footnote_says_that_a_player_s_games_stand_for_themselves() -> None:
    assert "each game of J. D. stands for itself" in notes(beside(-0.1, 0.2))


def test_a_player_is_shown_by_initials_unless_names_are_full() -> None:
    told = beside(-0.1, 0.2)
    for text in (
        to_text(habits_table(told)),
        habits_json(told),
        to_csv(habits_table(told)),
        habits_page(told, OPTIONS),
    ):
        assert "Doe" not in text
        assert "Jane" not in text
    assert "J. D. beside the others of level under 1000" in to_text(habits_table(told))
    assert DOE in to_text(habits_table(told, "full"))
    assert json.loads(habits_json(told, "full"))["player"] == DOE
    assert "Doe, Jane beside the others" in habits_page(told, replace(OPTIONS, names="full"))


def test_a_name_without_letters_becomes_the_student() -> None:
    told = replace(beside(-0.1, 0.2), player="12345")
    assert "The student: 60 games" in lead(told)
    assert "The student beside the others of level" in to_text(habits_table(told))


def test_json_has_the_fields_of_the_answer_without_its_source() -> None:
    told = json.loads(habits_json(beside(-0.1, 0.2)))
    assert list(told) == [
        "filters", "games", "players", "levels", "habits", "player", "player_level", "player_games",
    ]  # fmt: skip
    assert told["player"] == "J. D."
    first, second, third = told["habits"]
    assert first["levels"][0]["rate"]["cases"] == 30
    assert second["levels"][-1]["mated"] == 4
    assert third["levels"][0]["mean"]["value"] == 2.5
    assert third["levels"][0]["rate"] is None
    assert first["own"]["difference"]["value"] == -0.1


def test_the_page_has_a_strip_for_each_habit_and_the_definitions() -> None:
    page = habits_page(answer(), OPTIONS)
    assert page.count('class="panel"') == 3
    assert "Castled by move 10: the side has castled." in page
    assert "<b>Pieces developed by move 8</b> 3.1 pieces" in page
    assert "no proof of cause" in page
    assert "160 games by 40 players" in page
    assert page == habits_page(answer(), OPTIONS)


def test_pieces_are_drawn_as_a_share_of_the_seven() -> None:
    first = PIECES.levels[0]
    assert first.share == pytest.approx(2.5 / 7)
    assert (first.share_low, first.share_high) == pytest.approx((2.3 / 7, 2.7 / 7))
    assert PIECES.levels[3].share is None


def test_filters_and_the_colour_are_in_the_sentence() -> None:
    chosen = Filters(cuts=(1000, 1400), levels=(parse_level("under-1000"),), side="black")
    assert "Players under 1000, with Black, any pace." in to_text(
        habits_table(answer(filters=chosen))
    )
