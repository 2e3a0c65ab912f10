"""Following the commonest replies down."""

from __future__ import annotations

from itertools import combinations

from explorer.positions.typed import parse_position
from explorer.query.filters import Filters
from explorer.query.follow import follow
from explorer.query.library import Library, open_library
from ingest.levels import Level
from tests.support.club import Add, Played


def test_nothing_is_followed_for_no_moves(club: Library) -> None:
    """Without moves there is the one answer."""
    (answer,) = follow(club, parse_position("e4"), Filters(), 0)
    assert answer.position.line == "1. e4"


def test_rare_replies_are_not_followed(club: Library) -> None:
    """A reply of a few games says nothing about what comes next."""
    assert len(follow(club, parse_position(""), Filters(), 2)) == 1


def test_common_replies_are_followed_depth_first_and_each_position_once(add: Add) -> None:
    """Two common first moves lead to the same position: it is shown under the first."""
    people = [f"Vane, {name}" for name in ("A", "B", "C", "D", "E", "F", "G", "H", "I")]
    games = [
        Played(moves, white, black)
        for moves in ("1. e4 e5 2. Nf3", "1. Nf3 e5 2. e4")
        for white, black in combinations(people, 2)
    ]
    with open_library(add(games)) as library:
        answers = follow(library, parse_position(""), Filters(), 3)
    assert [answer.position.line for answer in answers] == [
        "",
        "1. Nf3",
        "1. Nf3 e5",
        "1. Nf3 e5 2. e4",
        "1. e4",
        "1. e4 e5",
    ]


def test_a_line_ends_where_none_of_the_chosen_games_is_left(add: Add) -> None:
    """The opponents of players under 800 are all stronger: nobody of the level moves after e4."""
    games = [Played("1. e4 e5", f"Vane, {n}", f"Hold, {n}", 700, 1200) for n in range(30)]
    level = Filters(levels=(Level(None, 799),))
    with open_library(add(games)) as library:
        answers = follow(library, parse_position(""), level, 2)
    assert [answer.position.line for answer in answers] == [""]


def test_a_line_ends_where_the_games_of_the_library_end(add: Add) -> None:
    """One move of each game is kept: there is no answer after it."""
    games = [Played("1. e4 e5 2. Nf3", f"Vane, {n}", f"Hold, {n}") for n in range(30)]
    with open_library(add(games, plies=2)) as library:
        answers = follow(library, parse_position(""), Filters(), 4)
    assert [answer.position.line for answer in answers] == ["", "1. e4"]
