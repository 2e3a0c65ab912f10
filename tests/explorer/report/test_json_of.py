"""The JSON is a contract: these names, in this order, null for what cannot be computed."""

from __future__ import annotations

import json
from datetime import date

from explorer.query.filters import Filters
from explorer.report.json_of import games_json, orders_json, replies_json
from ingest.levels import Level
from tests.support.answers import games_answer, orders_answer, replies_answer

REPLY = (
    "san,uci,games,players,share,share_low,share_high,wins,draws,losses,score,score_low,"
    "score_high,expected,over_expected,over_expected_low,over_expected_high,"
    "over_expected_games,performance,mean_rating,mean_opponent,swing,mated,name,levels"
)


def test_the_replies_have_the_fields_of_the_contract_in_order() -> None:
    data = json.loads(replies_json(replies_answer()))
    assert list(data) == [
        "position",
        "filters",
        "games",
        "players",
        "ended_here",
        "ended",
        "unknown_results",
        "levels",
        "replies",
        "transposing",
        "move_orders",
    ]
    assert list(data["position"]) == ["fen", "line", "name", "key", "to_move"]
    assert list(data["ended"]) == ["mate_or_stalemate", "result", "cut_short"]
    assert list(data["levels"][0]) == ["label", "low", "high", "games"]
    assert list(data["replies"][0]) == REPLY.split(",")
    assert list(data["replies"][0]["levels"][0]) == [
        "label",
        "games",
        "players",
        "share",
        "share_low",
        "share_high",
        "score",
    ]
    assert list(data["transposing"][0]) == ["san", "uci", "games_there"]


def test_values_are_those_of_the_answer_unrounded() -> None:
    answer = replies_answer()
    data = json.loads(replies_json(answer))
    assert data["replies"][3]["share_low"] == answer.replies[3].share_low
    assert data["position"]["key"] == "0123456789abcdef"
    assert data["levels"][-1] == {"label": "unrated", "low": None, "high": None, "games": 90}
    assert data["move_orders"] == 3


def test_what_cannot_be_computed_is_null() -> None:
    data = json.loads(replies_json(replies_answer(move_orders=0)))
    assert data["replies"][-1]["score"] is None
    assert data["move_orders"] is None
    assert json.loads(replies_json(replies_answer(games=0, move_orders=0)))["move_orders"] == 0


def test_filters_are_said_as_they_are_typed_with_the_student_by_initials() -> None:
    filters = Filters(
        levels=(Level(None, 799),), since=date(2025, 9, 1), until=date(2025, 9, 2),
        player="Ada Marsh", side="black", collections=("games of Ada Marsh",),
    )  # fmt: skip
    said = json.loads(replies_json(replies_answer(filters)))["filters"]
    assert said["levels"] == ["under-800"]
    assert said["since"] == "2025-09-01"
    assert said["player"] == "A. M."
    assert said["collections"] == ["games of A. M."]
    assert (
        json.loads(replies_json(replies_answer(filters), "full"))["filters"]["player"]
        == "Ada Marsh"
    )


def test_the_text_is_ascii_and_the_same_each_time() -> None:
    text = replies_json(replies_answer())
    assert text.isascii()
    assert text == replies_json(replies_answer())


def test_orders_and_games_have_theirs() -> None:
    orders = json.loads(orders_json(orders_answer()))
    assert orders["orders"][1]["ucis"] == ["g1f3", "e7e5", "e2e4"]
    games = json.loads(games_json(games_answer()))
    assert games["games"] == 84
    assert games["rows"][0]["white"] is None
    assert games["rows"][0]["sans"][:2] == ["e4", "e5"]
    assert json.loads(games_json(games_answer(), "full"))["rows"][0]["white"] == "Marsh, Ada"
