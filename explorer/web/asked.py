"""The address of a page -> what it asks, and back: every state is a plain address."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from urllib.parse import urlencode

import chess
from starlette.datastructures import QueryParams
from starlette.requests import Request
from starlette.responses import RedirectResponse

from explorer.positions.fen import board_of
from explorer.positions.moves import play
from explorer.positions.position import Position, position_of
from explorer.query.breakdown import BREAKDOWNS
from explorer.query.filter_texts import options_of, parse_day
from explorer.query.filters import Filters
from explorer.report.privacy import NAMES
from ingest.errors import UsageError
from ingest.levels import DEFAULT_CUTS, Level, parse_bands, parse_level
from ingest.tags import pace_named

Pairs = tuple[tuple[str, str], ...]
MOST_GAMES = 1_000_000
SIDES = ("white", "black")
AS_EVER = (("min_games", "1"), ("by", "level"), ("view", "white"), ("names", "initials"))
# Characters, and how many values of one name.
LONGEST = {"line": 4000, "fen": 120, "go": 4000, "player": 200, "name": 200, "collection": 400}
LONGEST_OTHER = 400
MOST_VALUES = 40


@dataclass(frozen=True)
class Asked:
    """What an address asks: a position, which games, and how they are shown.

    ``view`` is the side at the bottom, ``more`` holds what a single kind of page
    understands beside that.
    """

    position: Position
    filters: Filters
    view: str = "white"
    names: str = "initials"
    more: Pairs = ()

    def value(self, name: str) -> str | None:
        """What the page is told beside the common things."""
        return dict(self.more).get(name)

    @cached_property
    def where(self) -> Pairs:
        """The position, as an address says it."""
        return where(self.position)

    @cached_property
    def kept(self) -> Pairs:
        """What goes along from page to page: which games, and how they are shown."""
        shown = [(name.replace("-", "_"), value) for name, value in options_of(self.filters)]
        if self.view != "white":
            shown.append(("view", self.view))
        if self.names != "initials":
            shown.append(("names", self.names))
        return tuple(shown)

    def to(self, path: str, own: Iterable[tuple[str, str]] = ()) -> str:
        """The address of a page about the same position and games; ``own`` is its own."""
        return address(path, (*self.where, *own, *self.kept))

    def after(self, san: str) -> Pairs:
        """The position after one more move, as an address says it."""
        pairs = dict(self.where)
        return tuple({**pairs, "line": f"{pairs.get('line', '')} {san}".strip()}.items())


def where(position: Position) -> Pairs:
    """A position as an address says it: its start unless it is the normal one, and its line."""
    start = () if position.from_normal_start else (("fen", position.start),)
    line = (("line", " ".join(position.sans)),) if position.sans else ()
    return (*start, *line)


def address(path: str, pairs: Iterable[tuple[str, str]]) -> str:
    """A path with its query."""
    query = urlencode(list(pairs))
    return f"{path}?{query}" if query else path


def tidied(request: Request) -> RedirectResponse | None:
    """A form sends blanks that were left as they are too: on to the same without them."""
    pairs = request.query_params.multi_items()
    told = [pair for pair in pairs if pair not in AS_EVER and (pair[1] or pair[0] == "go")]
    if told == pairs:
        return None
    return RedirectResponse(address(request.url.path, told), 303)


def asked_of(params: QueryParams, own: Sequence[str] = ()) -> Asked:
    """What an address asks. ``own`` are the names that the kind of page has for itself.

    UsageError for a value that cannot be read or is too long, PositionError for a line that
    cannot be played.
    """
    _refuse_long(params)
    side = one_of(params, "view", SIDES) or "white"
    return Asked(
        position=_position(params),
        filters=_filters(params),
        view=side,
        names=one_of(params, "names", NAMES) or "initials",
        more=tuple((name, params[name]) for name in own if params.get(name)),
    )


def _refuse_long(params: QueryParams) -> None:
    for name, value in params.multi_items():
        if len(value) > LONGEST.get(name, LONGEST_OTHER):
            raise UsageError(f"{name[:40]}: {len(value):,} characters are too many; write less")
    if len(params.multi_items()) > MOST_VALUES:
        raise UsageError("the address asks for too many things at once; choose fewer")


def _position(params: QueryParams) -> Position:
    """The position after ``line`` from ``fen`` or the normal start."""
    board = board_of(params["fen"]) if params.get("fen") else chess.Board()
    play(board, params.get("line", ""))
    return position_of(board)


def _filters(params: QueryParams) -> Filters:
    since, until = params.get("since"), params.get("until")
    first = parse_day(since, last=False) if since else None
    last = parse_day(until, last=True) if until else None
    if first and last and first > last:
        raise UsageError(f"since {since}: later than until {until}; swap the two")
    player = params.get("player") or None
    return Filters(
        levels=_levels(params, "level"),
        opponents=_levels(params, "opponents"),
        cuts=parse_bands(params["bands"]) if params.get("bands") else DEFAULT_CUTS,
        pace=tuple(pace_named(text).word for text in _listed(params, "pace")),
        since=first,
        until=last,
        collections=tuple(_collections(params)),
        player=player,
        side=one_of(params, "as", SIDES) if player else None,
        min_games=whole(params, "min_games", 1, MOST_GAMES) or 1,
        by=one_of(params, "by", BREAKDOWNS) or "level",
    )


def _listed(params: QueryParams, name: str) -> list[str]:
    """The values of a name, given one by one or with commas between."""
    return [word for text in params.getlist(name) for word in re.split(r"\s*,\s*", text) if word]


def _collections(params: QueryParams) -> list[str]:
    """Names may have commas in them, but no line ends: these part those of one choice."""
    return [name for text in params.getlist("collection") for name in text.splitlines() if name]


def _levels(params: QueryParams, name: str) -> tuple[Level, ...]:
    return tuple(parse_level(text) for text in _listed(params, name))


def one_of(params: QueryParams, name: str, choices: Sequence[str]) -> str | None:
    """One of a few words; None where none is given."""
    value = params.get(name)
    if value and value not in choices:
        raise UsageError(f"{name} {value}: no such choice; choose one of {', '.join(choices)}")
    return value or None


def whole(params: QueryParams, name: str, least: int, most: int) -> int | None:
    """A whole number between two limits; None where none is given."""
    text = params.get(name, "").strip()
    if not text:
        return None
    if re.fullmatch(r"[0-9]{1,9}", text) and least <= int(text) <= most:
        return int(text)
    raise UsageError(f"{name} {text}: not a whole number from {least} to {most:,}")
