"""Names are hidden unless somebody chose to show them."""

from __future__ import annotations

from dataclasses import replace

import pytest

from explorer.report.privacy import Veil, initials
from ingest.errors import UsageError
from tests.support.answers import games_answer, make_game, make_source


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


@pytest.mark.parametrize(
    ("student", "text", "shown"),
    [
        ("O'Dell, Una", "--player 'O'\"'\"'Dell, Una' -o x.html", "--player 'U. O. D.' -o x.html"),
        ("Müller, Zoë", "muller zoe", "Z. M."),
        ("Marsh, Ada", "--collection marsh -o ada.html", "--collection A. M. -o A. M..html"),
        ("Li, Bo", "li bo, Bo Li, a bo and a li", "B. L., a bo and a li"),
        ("Vale, Ana Eva Ida Uma", "Ana Eva Ida Uma Vale", "A. E. I. U. V."),
    ],
)
def test_a_name_is_found_however_it_is_written(student: str, text: str, shown: str) -> None:
    """Quoted for a shell, without accents, in part, short, long."""
    assert Veil("initials", student).text(text) == shown


def test_a_collection_named_after_a_player_is_shown_by_initials() -> None:
    """Students have collections of their own, which a page lists at its end."""
    answer = games_answer()
    answer = replace(answer, source=make_source(people=("Quill, Ben",)))
    assert Veil.over(answer, "initials").text("Ben Quill 2025") == "B. Q. 2025"
    assert Veil.over(answer, "full").text("Ben Quill 2025") == "Ben Quill 2025"


def test_a_name_inside_another_word_stays() -> None:
    assert Veil("initials", "Ada").text("Canada and Ada") == "Canada and A."


def test_a_student_named_by_signs_only_changes_no_text() -> None:
    assert Veil("initials", "??").text("what?? this") == "what?? this"


def test_tags_lose_players_and_web_addresses() -> None:
    row = make_game(event="Ben Quill simul, Marsh, Ada second")
    veil = Veil("initials", "Ada Marsh")
    assert veil.tag(row.event, row) == "... simul, A. M. second"
    assert veil.tag("Quill - Marsh, second game", row) == "... - A. M., second game"
    assert veil.tag("https://example.org/game/12", row) is None
    assert veil.tag(None, row) is None
