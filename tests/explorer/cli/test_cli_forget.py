"""`forget` and `add --remember`, and what the other commands then say."""

from __future__ import annotations

import io
import json
import sys
from pathlib import Path

import pytest

from explorer.cli.exits import Exit
from tests.support.byte_search import found_in
from tests.support.club import AMBER, CLUB, SCHOOL, pgn

E4 = ("replies", "e4", "--format", "json")


@pytest.fixture
def filled(replybook, tmp_path: Path):
    """The command, its library holding a collection called after a player, and another."""
    (tmp_path / "a.pgn").write_text(pgn(CLUB), "utf-8")
    (tmp_path / "vane.pgn").write_text(pgn(CLUB[:1]), "utf-8")
    replybook("add", "a.pgn", "--collection", "club")
    replybook("add", "vane.pgn", "--collection", "Vane, Amber")
    return replybook


class Terminal(io.StringIO):
    """A person at a terminal, with an answer."""

    def isatty(self) -> bool:
        return True


def test_forget_says_whose_games_and_asks_first(filled, monkeypatch, tmp_path: Path) -> None:
    for answer, gone in (("n\n", False), ("", False), ("yes\n", True)):
        monkeypatch.setattr(sys, "stdin", Terminal(answer))
        said = filled("forget", "amber vane")
        assert said.code == Exit.DONE
        assert said.err.startswith(
            "Vane, Amber: 4 games, May 2023 to 1 March 2025, rated 820 to 840. Games stay, "
            'the name becomes "a player", as does what is called after it: '
            "Vane, Amber -> a player. Forget? [y/N] "
        )
        assert ("Nothing forgotten.\n" in said.err) is not gone
        assert (found_in(tmp_path / "library.duckdb", "Vane", "Amber") == []) is gone
    assert said.out == (
        'Forgotten: Vane, Amber. 4 games of "a player" instead.\n'
        "Collections renamed: Vane, Amber -> a player.\n"
        "Names of files cleaned: 1.\n"
        "Your PGN files, pages made before, and copies of the library still have the name.\n"
    )


def test_forget_without_anybody_to_ask_gets_one_line(filled, complains, monkeypatch) -> None:
    monkeypatch.setattr(sys, "stdin", io.StringIO())
    complains(filled("forget", AMBER), Exit.USAGE, "4 games", "No terminal", "add --yes")
    complains(filled("forget", "?"), Exit.USAGE, "'?': names nobody")


def test_forget_of_an_unknown_name_gets_the_nearest(filled, complains) -> None:
    said = filled("forget", "Vane, Ambre", "--yes")
    complains(said, Exit.NOTHING_FOUND, "'Vane, Ambre': no such name", "are: Vane, Amber (4); ")
    complains(
        filled("forget", AMBER, "--also", "Vane, Ambre", "--yes"), Exit.NOTHING_FOUND, "Ambre"
    )
    assert filled("forget", AMBER, "--yes").code == Exit.DONE
    complains(filled("forget", AMBER, "--yes"), Exit.NOTHING_FOUND, "forgotten already")


def test_other_spellings_go_with_it(filled) -> None:
    said = filled("forget", AMBER, "--also", "Fenn, Dario", "--also", "Amber Vane", "--yes")
    assert said.out.startswith('Forgotten: Vane, Amber and Fenn, Dario. 7 games of "a player"')


def test_what_stays_though_it_has_a_word_of_the_name_is_said(filled) -> None:
    filled("add", "a.pgn", "--collection", "Vane and friends")
    said = filled("forget", AMBER, "--yes")
    assert (
        "With a word of the name, but left as they are: the collection Vane and friends.\n"
        "If that is the same person, add the spelling with --also.\n"
    ) in said.out
    said = filled("forget", AMBER, "--also", "Vane", "--yes")
    assert "Collections renamed: Vane and friends -> a player and friends.\n" in said.out


def test_answers_show_a_player_and_count_as_before(filled, complains, tmp_path: Path) -> None:
    def without(said) -> dict[str, object]:
        return {key: value for key, value in json.loads(said.out).items() if key != "source"}

    before = without(filled(*E4))
    filled("forget", AMBER, "--yes")
    assert without(filled(*E4)) == before
    said = filled("games", "e4", "--names", "full", "--pgn", "out.pgn")
    assert said.code == Exit.DONE, said
    text = (tmp_path / "out.pgn").read_text("utf-8")
    assert '[White "a player"]\n[Black "Olander, Birk"]' in text
    assert "a player" in filled("games", "e4", "--names", "full").out
    assert "a player" not in filled("games", "e4").out
    said = filled("replies", "e4", "--player", "a player")
    complains(said, Exit.NOTHING_FOUND, "'a player': no such name")
    assert "nearest are: a player" not in said.err
    complains(filled("replies", "e4", "--player", AMBER), Exit.NOTHING_FOUND, "no such name")
    assert filled("verify").out.endswith("The library is sound.\n")
    assert filled("remove", "a player", "--yes").code == Exit.DONE


def test_a_later_add_leaves_the_name_out_unless_told_to_remember(filled, tmp_path: Path) -> None:
    filled("forget", AMBER, "--yes")
    said = filled("add", "vane.pgn", "--collection", "Vane, Amber")
    assert "already in" in said.out
    assert said.out.endswith("collection: a player\n")
    (tmp_path / "s.pgn").write_text(pgn([*CLUB, *SCHOOL]), "utf-8")
    said = filled("add", "s.pgn", "--collection", "club")
    assert said.out.startswith("s.pgn: 8 found = 2 added + 6 duplicates")
    assert found_in(tmp_path / "library.duckdb", "Vane", "Amber") == []
    said = filled("add", "s.pgn", "--collection", "club", "--remember", AMBER)
    assert said.code == Exit.DONE
    assert filled("replies", "e4", "--player", "amber vane").code == Exit.DONE


def test_remember_of_a_name_that_is_not_forgotten_gets_one_line(filled, complains) -> None:
    said = filled("add", "a.pgn", "--collection", "club", "--remember", AMBER)
    complains(said, Exit.NOTHING_FOUND, "--remember 'Vane, Amber'", "leave it out")
