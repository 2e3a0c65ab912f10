"""The page of a game."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from starlette.requests import Request
from starlette.responses import Response

from explorer.query.game import GameAnswer, game
from explorer.report.bar import Bar
from explorer.report.game_page import game_page
from explorer.web.asked import Asked, address, asked_of, whole
from explorer.web.bars import Place, filters_form, page_bar
from explorer.web.delivery import deliver
from explorer.web.desk import Desk
from explorer.web.links import POSITION

LONGEST = 10_000  # plies
AT_MOST = 1000  # games of the same moves that are written with it


@dataclass(frozen=True)
class Steps:
    """The addresses of a game's plies: the same games to set it beside."""

    asked: Asked
    answer: GameAnswer

    def ply(self, ply: int) -> str:
        """The game after so many plies."""
        return address(f"/game/{self.answer.row.id}", (("ply", str(ply)), *self.asked.kept))

    def place(self, ply: int) -> str:
        """The position there, as a page of its own."""
        row = self.answer.row
        start = [("fen", row.start_fen)] if row.start_fen else []
        line = [("line", " ".join(row.sans[:ply]))] if ply else []
        return address(POSITION, (*start, *line, *self.asked.kept))


def one(desk: Desk, request: Request) -> Response:
    """A game after some of its plies."""
    asked = asked_of(request.query_params)
    number = int(request.path_params["number"])
    ply = whole(request.query_params, "ply", 0, LONGEST) or 0
    answer = desk.remembered(
        ("game", number, asked.filters), lambda: game(desk.library, number, asked.filters)
    )
    place = Place(
        f"/game/{number}",
        asked,
        (("ply", str(ply)),),
        nearest=tuple(_command(answer, asked)),
        called=("game", str(number), "ply", str(ply)),
    )

    def bar() -> Bar:
        return page_bar(place, "", filters_form(desk, place))

    return deliver(
        desk, request, place, bar, lambda shown: game_page(answer, ply, Steps(asked, answer), shown)
    )


def _command(answer: GameAnswer, asked: Asked) -> Iterator[str]:
    """The command that writes the game as PGN, with those that reached the last position of it
    that the library is sure to have: where its last known move was made."""
    row = answer.row
    yield "games"
    yield from (row.start_fen,) if row.start_fen else ()
    yield from row.sans[: max(0, len(answer.rates) - 1)]
    yield from ("--top", str(AT_MOST), "--pgn", f"game-{row.id}.pgn")
    yield from ("--names", asked.names) if asked.names != "initials" else ()
