"""`habits` on a few games: whose games count, who is beside whom, and why there is no answer."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from explorer.query.filters import Filters
from explorer.query.habits import habits
from explorer.query.habits_model import HabitsAnswer
from explorer.query.library import Library, open_library
from ingest.errors import NothingFound, UsageError
from ingest.levels import parse_level
from tests.support.club import AMBER, BIRK, CLEO, Add, Played

CASTLES = "e4 e5 Nf3 Nc6 Bc4 Bc5 O-O Nf6 d3 d6 c3 O-O h3 h6 a3 a6"
WALKS = "e4 e5 Nf3 Nc6 Bc4 Bc5 Kf1 Nf6 d3 d6 Kg1 O-O h3 h6 a3 a6"
OWN_START = (("SetUp", "1"), ("FEN", "rnbqkbnr/pppppppp/8/8/4P3/8/PPPP1PPP/RNBQKBNR b KQkq - 0 1"))


def game(moves: str, white: str, black: str, *more: object, **tags: object) -> Played:
    return Played(moves, white, black, *more, **tags)  # type: ignore[arg-type]


def castled(answer: HabitsAnswer):
    return next(habit for habit in answer.habits if habit.id == "castled_by_8")


@pytest.fixture
def library(add: Add) -> Iterator[Library]:
    """White of 900 castles in three games and walks in one; Black of 1100 castles in all."""
    games = [game(CASTLES, AMBER, BIRK, 900, 1100, "1-0", f"2024.01.0{day}") for day in (1, 2, 3)]
    games.append(game(WALKS, AMBER, CLEO, 900, 1100))
    games.append(game("e4 e5", AMBER, CLEO, 900, 1100))
    games.append(game("e5 Nf3", BIRK, AMBER, 1100, 900, tags=OWN_START))
    games.append(game("", CLEO, AMBER, 1100, 900))
    with open_library(add(games)) as library:
        yield library


def test_a_case_is_one_side_of_one_game_that_lasts_long_enough(library: Library) -> None:
    answer = habits(library, Filters())
    found = castled(answer)
    assert (answer.games, answer.players) == (5, 3)
    assert (found.whole.rate.cases, found.whole.rate.games) == (7, 8)
    by_level = {level.label: level.rate for level in found.levels if level.rate.games}
    assert (by_level["800-999"].cases, by_level["800-999"].games) == (3, 4)
    assert (by_level["1000-1199"].cases, by_level["1000-1199"].games) == (4, 4)
    assert [level.games for level in answer.levels] == [0, 5, 5, 0, 0, 0, 0, 0, 0]


def test_games_from_a_set_up_position_and_without_moves_are_left_out(add: Add) -> None:
    games = [
        game("e5 Nf3", BIRK, AMBER, 1100, 900, tags=OWN_START),
        game("", CLEO, AMBER, 1100, 900),
    ]
    with (
        open_library(add(games)) as library,
        pytest.raises(NothingFound, match="none of the 0 from the normal starting position"),
    ):
        habits(library, Filters())


def test_one_player_is_one_cluster_however_many_games(library: Library) -> None:
    found = castled(habits(library, Filters(levels=(parse_level("800-999"),))))
    rate = found.whole.rate
    assert (rate.players, rate.games, rate.top_player_cases) == (1, 4, 3)
    assert found.whole.few
    assert rate.low < 0.15  # three of four of one player are worth one case
    assert found.trend.p is None
    assert found.score.low is None


def test_the_games_of_the_player_looked_at_are_cases_of_their_own(library: Library) -> None:
    answer = habits(library, Filters(), "amber vane")
    own = castled(answer).own
    assert (answer.player_level, answer.player_games) == ("800-999", 5)
    assert (own.rate.cases, own.rate.games, own.rate.players) == (3, 4, 1)
    assert own.rate.low > 0.25
    assert own.others.rate.games == 0
    assert own.difference.value is None
    assert own.few


def test_the_others_are_those_of_the_player_s_level_without_the_player(library: Library) -> None:
    own = castled(habits(library, Filters(), "Olander, Birk")).own
    assert own.others.label == "1000-1199"
    assert (own.others.rate.cases, own.others.rate.games) == (1, 1)
    assert (own.difference.games, own.difference.other_games) == (3, 1)
    assert own.difference.value == 0


def test_a_colour_alone_keeps_the_sides_of_that_colour(library: Library) -> None:
    whites, blacks = (habits(library, Filters(side=side)) for side in ("white", "black"))
    assert (castled(whites).whole.rate.cases, castled(whites).whole.rate.games) == (3, 4)
    assert (castled(blacks).whole.rate.cases, castled(blacks).whole.rate.games) == (4, 4)


def test_why_there_is_no_answer_is_one_line(library: Library) -> None:
    with pytest.raises(NothingFound, match="none of the 5 from the normal"):
        habits(library, Filters(levels=(parse_level("2000+"),)))
    with pytest.raises(NothingFound, match="player 'Birk Olander': no game of theirs passes"):
        habits(library, Filters(levels=(parse_level("under-1000"),)), "Birk Olander")
    with pytest.raises(NothingFound, match="no such name in the library"):
        habits(library, Filters(), "Nobody Here")
    with pytest.raises(UsageError, match="no such collection"):
        habits(library, Filters(collections=("school",)))


def test_an_empty_library_says_how_to_fill_it(add: Add) -> None:
    with open_library(add([game("e4", AMBER, BIRK)])) as library:
        from ingest.removal import remove_collection

        library.let_go()
        remove_collection(library.path, "club")
        with pytest.raises(NothingFound, match="the library has no games yet"):
            habits(library, Filters())


def test_scales_of_ratings_among_the_games_are_named(add: Add) -> None:
    add([game("e4 e5", AMBER, BIRK, 900, 900)], "club", rating_scale="national")
    path = add([game("d4 d5", AMBER, BIRK, 900, 900)], "school", rating_scale="school")
    with open_library(path) as library:
        assert habits(library, Filters()).source.rating_scales == ("national", "school")


def test_the_answer_is_the_same_however_the_games_are_cut_into_chunks(
    library: Library, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = habits(library, Filters(), "Vane, Amber")
    monkeypatch.setattr("explorer.query.sides.GAMES_AT_A_TIME", 2)
    assert habits(library, Filters(), "Vane, Amber") == whole
