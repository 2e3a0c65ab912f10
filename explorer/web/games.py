"""The page of a game."""

from __future__ import annotations

from dataclasses import dataclass, replace

from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from explorer.query.game import GameAnswer, game
from explorer.report.game_page import game_page
from explorer.web.asked import Asked, address, asked_of, whole
from explorer.web.bars import Place, filters_form, page_bar
from explorer.web.delivery import options
from explorer.web.desk import Desk
from explorer.web.links import POSITION

LONGEST = 10_000  # plies


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
    place = Place(f"/game/{number}", asked, (("ply", str(ply)),))
    bar = page_bar(place, "", filters_form(desk, place))
    shown = replace(options(desk, place), bar=bar, interactive=False)
    return HTMLResponse(game_page(answer, ply, Steps(asked, answer), shown))
