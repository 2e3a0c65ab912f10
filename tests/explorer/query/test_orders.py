"""Move orders: where they part, and games with a start of their own."""

from __future__ import annotations

from explorer.positions.typed import parse_position
from explorer.query.filters import Filters
from explorer.query.library import Library, open_library
from explorer.query.orders import orders
from tests.support.club import AMBER, BIRK, CLEO, Add, Played

AFTER_E4_E5 = "rnbqkbnr/pppp1ppp/8/4p3/4P3/8/PPPP1PPP/RNBQKBNR w KQkq - 0 2"


def test_orders_part_where_they_first_differ(club: Library) -> None:
    """The commonest order comes first and parts nowhere, the other at its first move."""
    answer = orders(club, parse_position("e4 e5 Nf3 Nc6"), Filters())
    assert [(o.line, o.games, o.parts_at) for o in answer.orders] == [
        ("1. e4 e5 2. Nf3 Nc6", 2, None),
        ("1. Nf3 Nc6 2. e4 e5", 1, 0),
    ]
    assert (answer.games, answer.orders_left_out) == (3, 0)


def test_the_filters_own_number_of_rows_goes_first(club: Library) -> None:
    """--top decides how many orders are shown; the rest is counted."""
    answer = orders(club, parse_position("e4 e5 Nf3 Nc6"), Filters(top=1))
    assert (len(answer.orders), answer.orders_left_out) == (1, 1)
    assert answer.orders[0].share == 2 / 3


def test_a_longer_way_round_parts_after_the_common_moves(add: Add) -> None:
    """Two orders with the same first moves part at the first ply that differs."""
    games = [
        Played("1. e4 e6 2. d4 d5", AMBER, BIRK),
        Played("1. e4 e6 2. d4 d5", BIRK, CLEO),
        Played("1. e4 d5 2. d4 e6", AMBER, CLEO),
    ]
    with open_library(add(games)) as library:
        answer = orders(library, parse_position("e4 e6 d4 d5"), Filters())
    assert [order.parts_at for order in answer.orders] == [None, 1]


def test_an_order_that_begins_as_the_commonest_does_not_part(add: Add) -> None:
    """Games that start from a FEN of their own begin elsewhere: they part at once."""
    own_start = (("SetUp", "1"), ("FEN", AFTER_E4_E5))
    games = [
        Played("1. e4 e5 2. Nf3", AMBER, BIRK),
        Played("1. e4 e5 2. Nf3 Nc6", AMBER, CLEO),
        Played("2. Nf3 Nc6", BIRK, CLEO, tags=own_start),
    ]
    with open_library(add(games)) as library:
        answer = orders(library, parse_position("e4 e5 Nf3"), Filters())
    assert [(o.line, o.start_fen, o.parts_at) for o in answer.orders] == [
        ("1. e4 e5 2. Nf3", None, None),
        ("2. Nf3", AFTER_E4_E5, 0),
    ]
