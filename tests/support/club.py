"""A few invented games, as PGN."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import NamedTuple

Add = Callable[..., Path]


class Played(NamedTuple):
    """One game: moves, players, ratings, result, date, and further tags."""

    moves: str
    white: str
    black: str
    white_rating: int | None = None
    black_rating: int | None = None
    result: str = "1-0"
    date: str = "2024.01.10"
    tags: tuple[tuple[str, str], ...] = ()


AMBER, BIRK, CLEO, DARIO, EDDA = (
    "Vane, Amber",
    "Olander, Birk",
    "Marsh, Cleo",
    "Fenn, Dario",
    "Quill, Édda",
)
CLUB = (
    Played("1. e4 e5 2. Nf3 Nc6 3. Bc4 Bc5", AMBER, BIRK, 820, 1210, "1-0", "2024.01.10"),
    Played("1. e4 e5 2. Nf3 Nc6 3. Bb5 a6", CLEO, DARIO, 1500, 1490, "0-1", "2024.02.11"),
    Played("1. Nf3 Nc6 2. e4 e5 3. d4", AMBER, DARIO, 840, None, "1/2-1/2", "2024.??.??"),
    Played("1. e4 e5 2. Bc4 Nc6 3. Qh5 Nf6 4. Qxf7#", EDDA, AMBER, 790, 820, "1-0", "2023.05.??"),
    Played("1. f3 e5 2. g4 Qh4#", BIRK, EDDA, None, 780, "0-1", "????.??.??"),
    Played("1. d4 d5", CLEO, AMBER, 1510, 830, "*", "2025.03.01"),
    Played("", DARIO, "?", 1480, None, "1-0", "2025.03.02"),
)
SCHOOL = (Played("1. e4 d5 2. exd5", EDDA, "?", 800, None, "0-1", "2022.09.01"),)

EVENING = ("Vane, Amber", "Olander, Birk", "Marsh, Cleo", "Fenn, Dario", "Quill, Edda", "Roe, Finn")


def evening(line: str, result: str, number: int) -> Played:
    """One of many like games, each player meeting the others in turn."""
    white, black = EVENING[number % 6], EVENING[(number + 1 + number // 6 % 5) % 6]
    return Played(line, white, black, 900, 900, result, f"2025.{number % 12 + 1:02}.10")


def pgn(games: Sequence[Played]) -> str:
    """The games as PGN text; the round is the game's number."""
    return "".join(_text(number, game) for number, game in enumerate(games, start=1))


def _text(number: int, game: Played) -> str:
    tags = {
        "Event": "Lantern Club Evening",
        "Site": "Lantern",
        "Date": game.date,
        "Round": str(number),
        "White": game.white,
        "Black": game.black,
        "Result": game.result,
        "WhiteElo": str(game.white_rating or "-"),
        "BlackElo": str(game.black_rating or "-"),
        "TimeControl": "900+10",
        **dict(game.tags),
    }
    lines = "".join(f'[{name} "{value}"]\n' for name, value in tags.items())
    return f"{lines}\n{game.moves} {game.result}\n\n"
