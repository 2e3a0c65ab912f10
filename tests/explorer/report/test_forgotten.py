"""The words of `forget`."""

from explorer.report.forgotten import forget_question, forgotten_text
from ingest.forgetting import Forgotten, Person


def test_a_person_is_described_as_far_as_is_known() -> None:
    people = (
        Person("Vane, Amber", 1, 20240000, 20240000, 800, 800),
        Person("Vane\nA.", 1200, 20230500, 20240610, None, None),
        Person("V. A.", 2),
        Person("Amber", 0),
    )
    found = Forgotten(people, (), 0, (), ())
    assert forget_question(found) == (
        "Vane, Amber: 1 game, 2024, rated 800; Vane A.: 1,200 games, May 2023 to 10 June 2024; "
        "V. A.: 2 games; Amber: no games, but it stands in the ledger or in games of others. "
        'Games stay, the name becomes "a player". Forget?'
    )
    assert forgotten_text(found).startswith(
        'Forgotten: Vane, Amber, Vane A., V. A. and Amber. 1,203 games of "a player" instead.\n'
        "Your PGN files"
    )


def test_what_is_renamed_and_what_is_left_is_said_before_and_after() -> None:
    found = Forgotten(
        (Person("Vane, Amber", 3),),
        (("Vane", "a player"), ("Amber Vane", "a player 2")),
        1234,
        (("Vane, Carl", 1), ("Vane, Dora", 20)),
        ("of Vane",),
    )
    left = (
        "With a word of the name, but left as they are: Vane, Carl (1 game); "
        "Vane, Dora (20 games); the collection of Vane."
    )
    question, text = forget_question(found), forgotten_text(found)
    assert "Vane -> a player; Amber Vane -> a player 2." in question
    assert "\n" not in question
    assert left in question
    assert left in text
    assert "Names of files cleaned: 1,234.\n" in text


def test_of_many_players_with_a_word_of_the_name_five_are_named() -> None:
    alike = tuple((f"Vane, {letter}", 2) for letter in "ABCDEFG")
    found = Forgotten((Person("Vane, Amber", 3),), (), 0, alike, ())
    assert "Vane, E (2 games); 2 more players." in forgotten_text(found)
