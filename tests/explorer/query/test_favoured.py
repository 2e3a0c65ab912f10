"""The favoured move: the commonest that is not significantly worse than the best."""

from __future__ import annotations

import chess

from explorer.query.favoured import favoured_at, label_of
from explorer.query.filters import Filters
from explorer.query.library import open_library
from explorer.query.moves import pack
from ingest.levels import UNRATED, Level
from ingest.poskey import key_of
from tests.support.club import Add, Played

TAILS = [f"{a}{n} {b}6" for a in "abgh" for n in (3, 4) for b in "abgh"]


def games(move: str, results: str, players: int = 10) -> list[Played]:
    """A game for each result: w, d or l for White."""
    told = {"w": "1-0", "d": "1/2-1/2", "l": "0-1"}
    return [
        Played(f"{move} e6 {TAILS[i % 32]} h5", f"W{i % players}", f"B{i}", 1000, 1000, told[r],
               f"2025.{i // 28 + 1:02}.{i % 28 + 1:02}")
        for i, r in enumerate(results)
    ]  # fmt: skip


def favoured(add: Add, played: list[Played], never: tuple[str, ...] = ()) -> str | None:
    board = chess.Board()
    key = key_of(board)
    shut_out = {key: [pack(board.parse_san(san)) for san in never]}
    with open_library(add(played)) as library, library.reading() as (cursor, facts):
        found = favoured_at(cursor, facts, {key: board}, Filters(), shut_out)[key]
    return found and found.san


def test_of_equally_good_moves_it_is_the_commonest(add: Add) -> None:
    assert favoured(add, games("e4", "wl" * 30) + games("d4", "wl" * 20)) == "e4"


def test_a_move_that_is_clearly_worse_is_passed_over(add: Add) -> None:
    assert favoured(add, games("e4", "l" * 60) + games("d4", "wl" * 20)) == "d4"


def test_a_move_of_few_games_or_players_is_no_answer(add: Add) -> None:
    """29 games; 40 games by four players."""
    few = games("d4", "w" * 29) + games("c4", "w" * 40, players=4)
    assert favoured(add, games("e4", "l" * 60) + few) == "e4"


def test_where_no_move_has_enough_games_there_is_none(add: Add) -> None:
    assert favoured(add, games("e4", "w" * 29)) is None


def test_what_must_never_be_taught_is_passed_over(add: Add) -> None:
    played = games("e4", "wl" * 30) + games("d4", "wl" * 20)
    assert favoured(add, played, never=("e4",)) == "d4"
    assert favoured(add, played, never=("e4", "d4")) is None


def test_the_level_is_told() -> None:
    assert label_of((Level(800, 999), UNRATED)) == "800-999 or unrated"
    assert label_of(()) == "all levels"
