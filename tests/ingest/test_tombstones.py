"""Which texts a forgotten name is taken out of, by hashes alone."""

import unicodedata

import pytest

from ingest.schema import EXCERPT
from ingest.tombstones import Tombstones

META = {"fingerprint_key": "5a" * 32, "plies": "40"}


def forgotten(*names: str) -> Tombstones:
    """Tombstones as another process reads them from `meta`."""
    carve = Tombstones(META).carve
    return Tombstones(META | dict(carve(name).row for name in names))


@pytest.mark.parametrize(
    ("text", "clean"),
    [
        ("Vane, Amber", "a player"),
        ("amber VANE", "a player"),
        ("Match Vane,Amber - Quill", "Match a player - Quill"),
        ("students/vane_amber-2024.pgn", "students/a player-2024.pgn"),
        ("AmberVane.pgn", "a player.pgn"),
        ("Amber\u200fVane", "a player"),
        ("A\u0301mber Vane", "a player"),
        ("Va-ne, Amber", "a player"),
        ("Amber Vane, Amber Vane", "a player, a player"),
        ("Amber Vanes", "Amber Vanes"),
        ("Camber Vane", "Camber Vane"),
        ("Vane", "Vane"),
        ("Amber and Vane", "Amber and Vane"),
        ("", ""),
    ],
)
def test_a_name_goes_from_a_text_however_it_is_written(text: str, clean: str) -> None:
    """But no part of a word, and no single word of it."""
    assert forgotten("Vane, Amber").whole(text) == clean


@pytest.mark.parametrize(
    ("name", "text", "clean"),
    [
        ("Li", "Li - Lind, Ali Li.", "a player - Lind, Ali a player."),
        ("Lee, Bo", "B. O. Lee", "B. O. Lee"),
        ("Player 12", "player_12, player 123, player 1", "a player, player 123, player 1"),
        ("Robert'); DROP TABLE players;--", "x Robert'); DROP TABLE players;--", "x a player;--"),
        ("%_%", "100 % of _ and 50 %", "100 % of _ and 50 %"),
        ("Ma%e", "Mare Mae Ma%e", "Mare Mae a player"),
        ("Li, Na", "Lina, Na Li, li_na", "Lina, a player, a player"),
        ("Özdemir, Şule", "sule ozdemir; ŞULE ÖZDEMİR", "a player; a player"),
        ("Groß, Anna", "ANNA GROSS", "a player"),
        ("王伟", "王伟 - 王伟杰", "a player - 王伟杰"),
        ("\u202eVane\u202c Amber", "Vane \u202e Amber", "a player"),
        ("Ana Bel Cid Dor Eck", "Eck, Ana Bel Cid Dor", "a player"),
        ("Ana Bel Cid Dor Eck", "Bel Ana Cid Dor Eck", "Bel Ana Cid Dor Eck"),
        ("a player", "Mara player, a player", "Mara player, a player"),
        ("Mar", "Mara player, Mar a player", "Mara player, a player a player"),
        ("Player, Gary", "a player and Gary Player", "a player and a player"),
    ],
)
def test_hostile_and_foreign_names_cut_themselves_only(name: str, text: str, clean: str) -> None:
    assert forgotten(name).whole(text) == clean


@pytest.mark.parametrize("form", ["NFC", "NFD", "NFKC", "NFKD"])
def test_every_normal_form_of_a_name_is_the_name(form: str) -> None:
    text = unicodedata.normalize(form, "Müller, Zoë")
    for name in ("Müller, Zoë", text):
        assert forgotten(name).whole(f"<{text}>") == "<a player>"


def test_telling_words_go_from_labels_and_from_tags_of_the_players_own_games() -> None:
    stones = forgotten("Vane, Al", "Quill, Edda")
    vane, quill = stones.of("alvane"), stones.of("eddaquill")
    assert stones.label("vane.pgn") == "a player.pgn"
    assert stones.label("al.pgn") == "al.pgn"  # two letters tell nothing
    assert stones.tag("Vane - Quill", vane, None) == "a player - Quill"
    assert stones.tag("Vane - Quill", vane, quill) == "a player - a player"
    assert stones.tag("Vane - Quill", None, None) == "Vane - Quill"
    assert stones.tag("Al Vane Cup", None, None) == "a player Cup"


def test_a_reason_is_cleaned_but_for_its_own_words() -> None:
    stones = forgotten("Game, Number")
    duplicate = "the same game as number 3 of game of number.pgn"
    assert stones.reason("duplicate", duplicate) == (
        "the same game as number 3 of a player of a player.pgn"
    )
    assert stones.reason("noted", "the Result tag says number game") == (
        "the Result tag says a player"
    )


def test_in_an_excerpt_players_are_compared_whole() -> None:
    """So that of two players who share a word the other one keeps the name."""
    stones = forgotten("White, Li", "!!!", 'Vane "Ace", Amber')
    text = (
        '[Event "Li White Night"]\n[White "Li White"]\n[Black "Li, Wei"]\n[black "!!!"]\n'
        '[White "Vane \\"Ace\\", Amber"]\n[White "White, Carl"]\n\n1. e4 {white light, Li} *\n'
    )
    assert stones.excerpt(text) == (
        '[Event "a player Night"]\n[White "a player"]\n[Black "Li, Wei"]\n[black "a player"]\n'
        '[White "a player"]\n[White "White, Carl"]\n\n1. e4 {a player light, Li} *\n'
    )


@pytest.mark.parametrize(
    ("text", "clean"),
    [
        ('[Event "x"]\n[White "Vane, Am'.rjust(EXCERPT), '[Event "x"]\n'),
        ("1. e4 e5\n{said Vane,\nAm".rjust(EXCERPT), "1. e4 e5\n\n"),
        ("1. e4 {said}\n{Qu}\n2. Am".rjust(EXCERPT), "1. e4 {said}\n{Qu}\n"),
        ("Amber".rjust(EXCERPT), ""),
        ("1. e4\n".rjust(EXCERPT), "1. e4\n"),
        ('[White "Vane, Am', '[White "Vane, Am'),
    ],
)
def test_where_an_excerpt_broke_off_no_half_name_is_left(text: str, clean: str) -> None:
    """Whosever name it is: whether it was ours cannot be known."""
    stones = forgotten("Quill, Edda")
    assert stones.excerpt(text).lstrip(" ") == clean
    assert stones.excerpt(stones.excerpt(text)) == stones.excerpt(text)


def test_without_forgotten_names_nothing_changes() -> None:
    stones = forgotten()
    assert not stones
    assert stones.excerpt("x" * EXCERPT) == "x" * EXCERPT
    assert stones.whole("Vane, Amber") == "Vane, Amber"
    assert stones.of("ambervane") is None


def test_a_collection_called_after_a_player_is_a_players_and_keeps_its_new_name() -> None:
    stones = forgotten("Vane, Amber", "Quill, Edda")
    assert stones.collection("club", []) == ("club", None)
    assert stones.collection("Vane club", []) == ("Vane club", None)
    assert stones.collection("2024", []) == ("2024", None)
    assert stones.collection("Vane 2024", [])[0] == "a player 2024"
    first, row = stones.collection("Vane, Amber", [])
    assert (first, row and row[1]) == ("a player", "a player")
    assert stones.collection("Vane, Amber", [first]) == (first, None)
    assert stones.collection("Edda", [])[0] == "a player 2"
    assert stones.collection("Quill", ["a player 3"])[0] == "a player 4"


def test_the_hashes_hold_no_name_and_differ_by_library() -> None:
    name, value = Tombstones(META).carve("Vane, Amber").row
    assert "vane" not in (name + value).casefold()
    other = Tombstones(META | {"fingerprint_key": "a5" * 32}).carve("Vane, Amber")
    assert other.row[0] != name
    assert forgotten("Vane, Amber").of("ambervane") == Tombstones(META).carve("amber vane")
