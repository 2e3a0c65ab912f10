"""Names are hidden unless somebody chose to show them."""

from __future__ import annotations

import pytest

from explorer.report.privacy import Veil, initials
from ingest.errors import UsageError
from tests.support.answers import make_game


@pytest.mark.parametrize(
    ("name", "short"),
    [
        ("Marsh, Ada", "A. M."),
        ("Ada Marsh", "A. M."),
        ("Ada", "A."),
        ("Élan-Marsh, ada b.", "A. B. É. M."),
        ("Ботва, Анна", "А. Б."),
        ("?", ""),
    ],
)
def test_initials_put_given_names_first(name: str, short: str) -> None:
    assert initials(name) == short


def test_a_student_is_shown_by_initials_in_any_spelling_and_nobody_else_is() -> None:
    veil = Veil("initials", "ada marsh")
    assert veil.person("Marsh, Ada") == "A. M."
    assert veil.person("Quill, Ben") is None
    assert veil.person(None) is None


def test_without_a_student_no_name_is_shown() -> None:
    assert Veil().person("Marsh, Ada") is None


def test_full_names_are_a_choice() -> None:
    veil = Veil("full", "Ada Marsh")
    assert veil.person("Quill, Ben") == "Quill, Ben"
    assert veil.text("--player 'Ada Marsh'") == "--player 'Ada Marsh'"
    assert veil.tag("https://example.org/1", make_game()) == "https://example.org/1"


def test_a_wrong_choice_of_names_is_refused_instead_of_showing_them() -> None:
    with pytest.raises(UsageError, match="write initials or full"):
        Veil("none")


@pytest.mark.parametrize(
    "text",
    [
        "replybook report --player 'Ada Marsh' -o x.html",
        "replybook report --player 'Marsh, Ada' -o x.html",
        "replybook report --player ADA_MARSH -o x.html",
    ],
)
def test_a_command_says_the_student_by_initials(text: str) -> None:
    shown = Veil("initials", "Ada Marsh").text(text)
    assert "arsh" not in shown.lower()
    assert "A. M." in shown


def test_a_name_inside_another_word_stays() -> None:
    assert Veil("initials", "Ada").text("Canada and Ada") == "Canada and A."


def test_a_student_named_by_signs_only_changes_no_text() -> None:
    assert Veil("initials", "??").text("what?? this") == "what?? this"


def test_tags_lose_players_and_web_addresses() -> None:
    row = make_game(event="Ben Quill simul, Marsh, Ada second")
    veil = Veil("initials", "Ada Marsh")
    assert veil.tag(row.event, row) == "... simul, A. M. second"
    assert veil.tag("https://example.org/game/12", row) is None
    assert veil.tag(None, row) is None
