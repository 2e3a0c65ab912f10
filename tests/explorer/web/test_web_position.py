"""The page of a position: the same numbers as the command, and links that keep what was asked."""

from __future__ import annotations

from html import unescape
from urllib.parse import parse_qs, urlsplit

import pytest
from starlette.testclient import TestClient


def links(text: str) -> dict[str, str]:
    """What is linked on a page, by its words."""
    parts = (part.split(">", 1) for part in text.split('<a href="')[1:])
    return {
        unescape(rest.split("</a>")[0]).replace("\u00a0", " "): unescape(head.split('"')[0])
        for head, rest in parts
    }


def test_the_start_page_shows_what_white_plays_at_the_start(page: TestClient) -> None:
    assert "<h1>What White plays at the start</h1>" in page.get("/").text


def test_a_reply_is_a_link_that_keeps_the_filters(page: TestClient) -> None:
    text = page.get("/position?line=e4+e5&level=under-1000&view=black").text
    there = urlsplit(links(text)["2. Nf3"])
    assert there.path == "/position"
    assert parse_qs(there.query) == {
        "line": ["e4 e5 Nf3"],
        "level": ["under-1000"],
        "view": ["black"],
    }


def test_any_legal_move_can_be_made_without_a_script(page: TestClient) -> None:
    found = links(page.get("/position?line=e4+e5").text)
    assert found["Qh5"] == "/position?line=e4+e5+Qh5"
    assert found["Ke2"] == "/position?line=e4+e5+Ke2"


def test_a_position_that_no_game_reached_is_still_shown(page: TestClient) -> None:
    answer = page.get("/position?line=a4+a5+h4")
    assert answer.status_code == 200
    assert "no game reached this position" in answer.text
    assert "Ra6" in links(answer.text)


def test_each_ply_of_the_line_is_a_crumb(page: TestClient) -> None:
    found = links(page.get("/position?line=e4+e5+Nf3&pace=rapid").text)
    assert found["Start"] == "/position?pace=rapid"
    assert found["1. e4"] == "/position?line=e4&pace=rapid"
    assert found["e5"] == "/position?line=e4+e5&pace=rapid"


@pytest.mark.parametrize(
    ("typed", "place"),
    [
        ("e4 e5 Nf3", "/position?line=e4+e5+Nf3"),
        ("italian game", "/position?line=e4+e5+Nf3+Nc6+Bc4"),
        ("8/8/8/4k3/8/8/4P3/4K3 w - - 0 1 e4", "/position?fen="),
        ("", "/position"),
    ],
)
def test_the_box_takes_moves_a_fen_or_a_name(page: TestClient, typed: str, place: str) -> None:
    answer = page.get("/go", params={"go": typed})
    assert answer.status_code == 303
    assert answer.headers["location"].startswith(place)


def test_the_box_opens_no_file(page: TestClient, library: object) -> None:
    answer = page.get("/go", params={"go": "club evening.pgn"})
    assert answer.status_code == 400
    assert "nor an opening" in answer.text.replace("’", "'")
