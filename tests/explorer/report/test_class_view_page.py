"""The page of the class view, as text: what is asked, what is hidden, what is said instead."""

from __future__ import annotations

from datetime import date

import chess

from explorer.positions.typed import parse_position
from explorer.report.bar import Bar, Form
from explorer.report.class_page import class_page, unseen_class_page
from explorer.report.sheet import PageOptions
from tests.support.answers import nothing_played, replies_answer

ALONE = PageOptions("replybook browse", date(2026, 3, 1))
BARRED = PageOptions("replybook browse", date(2026, 3, 1), bar=Bar((), Form("/go", "Go", (), "Go")))


def parted(text: str) -> tuple[str, str]:
    """What all can see, and what is hidden until it is asked for."""
    before, _, rest = text.partition("<details")
    hidden, _, after = rest.partition("</details>")
    return before + after, hidden


def test_the_replies_stand_in_the_hidden_part_alone() -> None:
    answer = replies_answer()
    seen, hidden = parted(class_page(answer, BARRED))
    for reply in answer.replies[:3]:
        assert f"{reply.san}</b>" in hidden
        assert f"{reply.san}<" not in seen
        assert chess.square_name(chess.parse_square(reply.uci[:2])) in hidden
    assert hidden.count("<li>") == 3
    assert "%" not in seen.partition("<body>")[2]


def test_it_asks_what_you_would_play_and_says_whose_move_it_is() -> None:
    seen, _ = parted(class_page(replies_answer(), BARRED))
    assert "<h1>What would you play?</h1>" in seen
    assert "<b>Black to move</b>" in seen
    assert "<title>What would Black play after 1.\u00a0e4 e5 2.\u00a0Nf3?</title>" in seen


def test_where_nothing_was_played_nothing_is_asked() -> None:
    text = class_page(nothing_played(), BARRED)
    assert "<details" not in text
    assert "<h1>What would you play?" not in text


def test_a_position_that_no_game_reached_has_its_reason() -> None:
    position = parse_position("a4 a5 h4")
    text = unseen_class_page(position, "no game reached this position.", BARRED)
    assert "<h1>After 1.\u00a0a4 a5 2.\u00a0h4</h1>" in text
    assert "no game reached this position." in text
    assert "Last move: h2 to h4." in text


def test_the_start_that_no_game_reached_has_no_line() -> None:
    text = unseen_class_page(parse_position(""), "there are no games.", ALONE)
    assert "<h1>No games here</h1>" in text
