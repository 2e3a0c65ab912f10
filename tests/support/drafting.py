"""Games for drafts: many of a kind between many players, White the students, Black the others."""

from __future__ import annotations

from itertools import count

from tests.support.club import Played

WHITE = 1300  # the band above the opponents' level
BLACK = 900
PLAYERS = 12
_numbers = count()


def many(
    line: str,
    times: int,
    white: int | None = WHITE,
    black: int | None = BLACK,
    results: str = "WL",
) -> list[Played]:
    """``times`` games with a line; results W, D, L (White's) in turn."""
    words = {"W": "1-0", "D": "1/2-1/2", "L": "0-1"}
    games = []
    for number in range(times):
        one = next(_numbers)
        other = one * 5 + one // PLAYERS
        players = f"Vane, Amber{one % PLAYERS}", f"Fenn, Dario{other % PLAYERS}"
        games.append(Played(line, *players, white, black, words[results[number % len(results)]]))
    return games
