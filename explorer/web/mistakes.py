"""The pages of mistakes: what costs most from a position on, and one mistake by itself."""

from __future__ import annotations

from dataclasses import replace

from starlette.requests import Request
from starlette.responses import Response

from explorer.query.costly import costly
from explorer.query.examples import examples
from explorer.query.mistake import mistake
from explorer.report.costly_page import costly_page
from explorer.report.filter_form import punishing_blank, side_blanks
from explorer.report.mistake_case import Case, with_punishment
from explorer.report.mistake_page import mistake_page
from explorer.report.sheet import PageOptions
from explorer.web.asked import SIDES, Asked, asked_of, one_of, whole
from explorer.web.bars import MISTAKES, Place, filters_form, position_bar
from explorer.web.delivery import deliver, position_words
from explorer.web.desk import Desk
from explorer.web.links import MISTAKE
from ingest.errors import UsageError

LAST_MOVE = 100
TO_MOVE = 8


def every(desk: Desk, request: Request) -> Response:
    """The replies that cost most, from a position on."""
    side = one_of(request.query_params, "as", SIDES)
    to_move = whole(request.query_params, "to_move", 1, LAST_MOVE) or TO_MOVE
    asked = _of_nobody(asked_of(request.query_params))
    own = (*((("as", side),) if side else ()), ("to_move", str(to_move)))
    words = (*(("--as", side) if side else ()), "--to-move", str(to_move))
    command = ("costly", *position_words(asked.position), *words)
    place = Place(MISTAKES, asked, own, command)
    form = filters_form(desk, place, tuple(side_blanks(side, to_move)), whose=False)

    def make(shown: PageOptions) -> str:
        answer = costly(desk.library, asked.position, asked.filters, side, to_move)
        return costly_page(answer, shown)

    return deliver(desk, request, place, lambda: position_bar(place, MISTAKES, form), make)


def one(desk: Desk, request: Request) -> Response:
    """The mistake that a line ends with."""
    asked = asked_of(request.query_params, ["punish"])
    if not asked.position.sans:
        raise UsageError("a mistake is the last move of a line; make a move first")
    asked = replace(asked, filters=replace(asked.filters, min_games=1, by="level"))
    punish = asked.value("punish")
    own = (("punish", punish),) if punish else ()
    words = ("--punish", punish) if punish else ()
    place = Place(MISTAKE, asked, own, ("mistake", *position_words(asked.position), *words))
    form = filters_form(desk, place, (punishing_blank(punish or ""),))

    def make(shown: PageOptions) -> str:
        return mistake_page(_case(desk, asked, punish), shown)

    return deliver(desk, request, place, lambda: position_bar(place, MISTAKES, form), make)


def _of_nobody(asked: Asked) -> Asked:
    """The same without what `costly` does not ask: whose games, and how they are shown."""
    filters = replace(asked.filters, player=None, side=None, min_games=1, by="level")
    return replace(asked, filters=filters)


def _case(desk: Desk, asked: Asked, punish: str | None) -> Case:
    library, line, filters = desk.library, asked.position, asked.filters
    answer = mistake(library, line, filters, punish.split() if punish else None)
    games = examples(library, line, filters)
    return Case(answer, with_punishment(line, answer), games=games)
