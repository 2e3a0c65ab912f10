"""Replies: what the recount does not say."""

from __future__ import annotations

from dataclasses import replace

import pytest

from explorer.positions.typed import parse_position
from explorer.query.filters import Filters
from explorer.query.library import Library, open_library
from explorer.query.replies import replies
from ingest.errors import NothingFound, UsageError
from ingest.levels import parse_level
from tests.support.club import AMBER, BIRK, CLUB, Add, Played


def test_the_counts_of_a_position_add_up(club: Library) -> None:
    """Games are those of the replies and those that stop here; levels sum to the games."""
    answer = replies(club, parse_position(""), Filters())
    assert [(reply.san, reply.games) for reply in answer.replies] == [
        ("e4", 4),
        ("Nf3", 1),
        ("d4", 1),
        ("f3", 1),
    ]
    assert (answer.games, answer.ended_here, answer.went_on) == (8, 1, 7)
    assert (answer.ended.result, answer.unknown_results) == (1, 1)
    levels = {level.label: level.games for level in answer.levels if level.games}
    assert levels == {"under 800": 1, "800-999": 3, "1400-1599": 3, "unrated": 1}


def test_two_move_orders_of_one_position_differ_in_the_line_only(club: Library) -> None:
    """A position is the same however it is reached."""
    one = replies(club, parse_position("e4 e5 Nf3 Nc6"), Filters())
    other = replies(club, parse_position("Nf3 Nc6 e4 e5"), Filters())
    assert (one.games, one.move_orders) == (3, 2)
    assert one.position.line == "1. e4 e5 2. Nf3 Nc6"
    assert other == replace(one, position=replace(one.position, line="1. Nf3 Nc6 2. e4 e5"))


def test_a_position_given_by_fen_has_no_line(club: Library) -> None:
    """A line is only told when moves were typed."""
    fen = parse_position("e4 e5 Nf3 Nc6").fen
    assert replies(club, parse_position(fen), Filters()).position.line is None


def test_the_shown_replies_are_chosen_after_counting(club: Library) -> None:
    """min_games and top hide replies and say how many; the counts stay."""
    everything = replies(club, parse_position(""), Filters())
    top = replies(club, parse_position(""), Filters(top=1))
    often = replies(club, parse_position(""), Filters(min_games=2))
    assert top.replies == often.replies == everything.replies[:1]
    assert top.replies_left_out == often.replies_left_out == 3
    assert top.games == often.games == everything.games


def test_an_unplayed_move_that_transposes_is_found(club: Library) -> None:
    """After 1. e4 e5 2. Bc4 Nc6 the unplayed 3. Nf3 leads to a position of another game."""
    answer = replies(club, parse_position("e4 e5 Bc4 Nc6"), Filters())
    assert [reply.san for reply in answer.replies] == ["Qh5"]
    assert [(other.san, other.games_there) for other in answer.transposing] == [("Nf3", 1)]


def test_the_level_of_a_transposing_move_is_that_of_its_player(club: Library) -> None:
    """After the move the other side moves: the filter still means who would make it."""
    position = parse_position("e4 e5 Bc4 Nc6")
    beginner, middle = parse_level("under-800"), parse_level("800-999")
    assert not replies(club, position, Filters(levels=(beginner,))).transposing
    (other,) = replies(club, position, Filters(levels=(beginner, middle))).transposing
    assert other.san == "Nf3"


def test_mate_on_the_board_ends_a_record(club: Library) -> None:
    """The four-ply mate leaves one record that stops with mate and no reply."""
    answer = replies(club, parse_position("f3 e5 g4 Qh4"), Filters())
    assert (answer.games, answer.ended.mate_or_stalemate, answer.went_on) == (1, 1, 0)
    assert answer.replies == answer.transposing == ()


def test_one_player_can_be_the_whole_statistic(add: Add) -> None:
    """The games of the commonest named player are counted, nameless ones are nobody's."""
    games = [Played(f"1. e4 {reply}", AMBER, "?") for reply in ("e5", "d5", "c5")]
    games += [Played("1. e4 e6", "?", BIRK), Played("1. e4 a6", "?", BIRK)]
    with open_library(add(games)) as library:
        answer = replies(library, parse_position(""), Filters())
    (reply,) = answer.replies
    assert (reply.games, reply.players, reply.top_player_games) == (5, 3, 3)
    assert reply.one_player


def test_extras_are_left_out_when_not_wanted(club: Library) -> None:
    """Without extras neither transposing moves nor move orders are looked for."""
    position = parse_position("e4 e5 Bc4 Nc6")
    whole = replies(club, position, Filters())
    bare = replies(club, position, Filters(), extras=False)
    assert whole.move_orders == 1
    assert bare == replace(whole, move_orders=0, transposing=())


def test_scales_among_the_chosen_games_are_named(add: Add) -> None:
    """Two rating scales in one answer are both named; one alone is not mixed."""
    add(CLUB[:1], "club", rating_scale="club list")
    with open_library(add(CLUB[1:2], "open", rating_scale="national")) as library:
        both = replies(library, parse_position("e4 e5"), Filters())
        one = replies(library, parse_position("e4 e5"), Filters(collections=("open",)))
    assert both.source.rating_scales == ("club list", "national")
    assert both.source.collections == ("club", "open")
    assert one.source.rating_scales == ("national",)
    assert one.source.collections == ("open",)


def test_a_position_never_reached_names_how_far_games_came(club: Library) -> None:
    """The error tells the last position of the line that games reached, and how many."""
    with pytest.raises(NothingFound, match=r"3 came as far as 1\. e4 e5 2\. Nf3 Nc6$"):
        replies(club, parse_position("e4 e5 Nf3 Nc6 a3"), Filters())


def test_a_line_from_a_foreign_start_has_no_known_ancestor(club: Library) -> None:
    """Where no position of the line is known, the error asks for an earlier one."""
    with pytest.raises(NothingFound, match="no game reached this position; ask about"):
        replies(club, parse_position("4k3/8/8/8/8/8/4P3/4K3 w - - 5 39"), Filters())


def test_a_position_beyond_the_kept_plies_says_so(club: Library) -> None:
    """Six plies are kept: after three moves each the reason is not that nobody came."""
    with pytest.raises(NothingFound, match="beyond the first 3 moves"):
        replies(club, parse_position("e4 e5 Nf3 Nc6 Bc4 Bc5"), Filters())


def test_filters_that_leave_nothing_are_named_as_the_reason(club: Library) -> None:
    """The error counts the games that reached the position without filters."""
    with pytest.raises(NothingFound, match="none of the 3 games that reached it"):
        replies(club, parse_position("e4 e5 Nf3 Nc6"), Filters(pace=("blitz",)))


def by(library: Library, what: str, **filters: object) -> dict[str, int]:
    asked = Filters(by=what, **filters)  # type: ignore[arg-type]
    answer = replies(library, parse_position(""), asked)
    return {level.label: level.games for level in answer.levels}


def test_a_vague_date_counts_in_its_year_and_in_its_season_if_the_month_is_known(
    club: Library,
) -> None:
    """What a date does not say is a group of its own, the last."""
    years = {"2022": 1, "2023": 1, "2024": 3, "2025": 2, "unknown year": 1}
    assert list(by(club, "year").items()) == list(years.items())
    seasons = {"2022/23": 2, "2023/24": 2, "2024/25": 2, "unknown season": 2}
    assert list(by(club, "season").items()) == list(seasons.items())


def test_a_season_begins_on_the_first_of_july(add: Add) -> None:
    """30 June is the last day of a season."""
    days = ("2024.06.30", "2024.07.01", "1999.12.31")
    with open_library(add([Played("1. e4", AMBER, BIRK, date=day) for day in days])) as library:
        assert by(library, "season") == {"1999/00": 1, "2023/24": 1, "2024/25": 1}


def test_a_game_in_two_collections_counts_in_both_and_once_in_all(add: Add) -> None:
    """Collections need not add up; one that is asked for stands alone."""
    add(CLUB[:2], "zebra")
    with open_library(add(CLUB[:3], "club")) as library:
        assert list(by(library, "collection").items()) == [("club", 3), ("zebra", 2)]
        answer = replies(library, parse_position(""), Filters(by="collection"))
        assert (answer.games, sum(reply.games for reply in answer.replies)) == (3, 3)
        assert by(library, "collection", collections=("ZEBRA",)) == {"zebra": 2}


def test_a_breakdown_that_there_is_not_is_refused(club: Library) -> None:
    """The choices are named."""
    with pytest.raises(UsageError, match="by month: no such breakdown; choose one of level, year"):
        by(club, "month")


def test_a_reply_that_became_more_common_has_a_trend(add: Add) -> None:
    """Years with few games stay out of the test; a few replies in a year say nothing."""
    games = [
        Played("1. e4" if n % 40 < often else "1. d4", f"P{n}", f"Q{n}", date=f"{year}.03.01")
        for year, often in ((2021, 10), (2022, 20), (2023, 30))
        for n in range(40)
    ] + [Played("1. d4", AMBER, BIRK, date="2024.03.01"), Played("1. c4", BIRK, AMBER)]
    with open_library(add(games)) as library:
        answer = replies(library, parse_position(""), Filters(by="year"))
    trends = {reply.san: reply.trend for reply in answer.replies}
    assert [trend and (trend.direction, trend.levels) for trend in trends.values()] == [
        ("fades", 3) if san == "d4" else ("grows", 3) if san == "e4" else ("none", 3)
        for san in trends
    ]
    assert trends["c4"] is not None
    assert trends["c4"].p is None
