"""`Filters` -> SQL conditions on `visits`, or on whole games and their two sides."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from explorer.query.bands import in_any
from explorer.query.filters import Filters
from explorer.query.library import Facts
from ingest.errors import NothingFound, UsageError, shown
from ingest.tags import pace_named, same_name

if TYPE_CHECKING:
    from duckdb import DuckDBPyConnection

NEAR_NAMES = 3
COLOURS = "white", "black"

# The first and the last day on which a game of a vague date can have been played.
_EARLIEST = "make_date(year, coalesce(month, 1), 1)"
_LATEST = "last_day(make_date(year, coalesce(month, 12), 1))"


@dataclass(frozen=True, slots=True)
class Where:
    """Conditions that follow a ``key = ...``: each starts with AND. ``params`` are named.

    ``undated`` is the same without the dates. ``possible`` is a condition on
    `games`: true where a vague date may lie between the dates asked for; empty
    when none are.
    """

    sql: str
    undated: str
    possible: str
    params: dict[str, Any]


EVERYTHING = Where("", "", "", {})


def where(
    cursor: DuckDBPyConnection, facts: Facts, filters: Filters, *, opponent_moves: bool = False
) -> Where:
    """The conditions of the filters.

    ``opponent_moves``: the visits are those after a move from the position
    asked about, so that the levels speak of the opponent there. UsageError for
    an unknown collection, NothingFound for an unknown player.
    """
    if opponent_moves:
        filters = replace(filters, levels=filters.opponents, opponents=filters.levels)
    return _where(cursor, facts, filters, _of_ratings(filters, "mover", "opponent"))


def of_games(cursor: DuckDBPyConnection, facts: Facts, filters: Filters) -> Where:
    """The same for `games` with ``id`` as ``game_id``: at least one of its sides is chosen.

    `side_chosen` says which.
    """
    either = " OR ".join(side_chosen(filters, colour) for colour in COLOURS)
    return _where(cursor, facts, filters, [f"({either})"])


def side_chosen(filters: Filters, colour: str) -> str:
    """The condition on `games` that the player of a colour is one that the levels speak of.

    ``filters.side`` without a player keeps the sides of that colour.
    """
    if filters.player is None and filters.side not in (None, colour):
        return "FALSE"
    other = COLOURS[colour == COLOURS[0]]
    return f"(TRUE{_joined(_of_ratings(filters, colour, other))})"


def _where(
    cursor: DuckDBPyConnection, facts: Facts, filters: Filters, of_ratings: list[str]
) -> Where:
    params: dict[str, Any] = {}
    parts = [*of_ratings, *_of_pace(filters)]
    if filters.collections:
        parts += _of_collections(facts, filters.collections)
    if filters.player is not None:
        params["player"] = player_id(cursor, filters.player)
        parts.append(_of_player(filters.side))
    dates = _of_dates(filters, params)
    return Where(_joined([*parts, *dates]), _joined(parts), _possible(filters), params)


def _joined(parts: list[str]) -> str:
    return "".join(f" AND {part}" for part in parts)


def _of_ratings(filters: Filters, own: str, other: str) -> list[str]:
    """Of the player whose level is asked for, and the opponent."""
    parts = []
    if filters.levels:
        parts.append(in_any(filters.levels, f"{own}_rating"))
    if filters.opponents:
        parts.append(in_any(filters.opponents, f"{other}_rating"))
    return parts


def _of_pace(filters: Filters) -> list[str]:
    if not filters.pace:
        return []
    paces = ", ".join(str(int(pace_named(pace))) for pace in filters.pace)
    return [f"pace IN ({paces})"]


def _of_collections(facts: Facts, names: tuple[str, ...]) -> list[str]:
    chosen = {collection_id(facts, name) for name in names}
    if len(chosen) == len(facts.collections):
        return []  # every game is in one of them
    ids = ", ".join(str(number) for number in sorted(chosen))
    return [f"game_id IN (SELECT game_id FROM memberships WHERE collection_id IN ({ids}))"]


def _of_player(side: str | None) -> str:
    colours = [side] if side else ["white", "black"]
    played = " OR ".join(f"{colour}_id = $player" for colour in colours)
    return f"game_id IN (SELECT id FROM games WHERE {played})"


def _of_dates(filters: Filters, params: dict[str, Any]) -> list[str]:
    parts = []
    if filters.since is not None:
        params["since"] = filters.since
        parts.append("played >= $since")
    if filters.until is not None:
        params["until"] = filters.until
        parts.append("played <= $until")
    return parts


def _possible(filters: Filters) -> str:
    ends = []
    if filters.since is not None:
        ends.append(f"{_LATEST} >= $since")
    if filters.until is not None:
        ends.append(f"{_EARLIEST} <= $until")
    return f"(year IS NULL OR ({' AND '.join(ends)}))" if ends else ""


def collection_id(facts: Facts, name: str) -> int:
    """The collection of this name, in any case. UsageError, with near names, if there is none."""
    if name in facts.collections:
        return facts.collections[name]
    for known, number in facts.collections.items():
        if known.casefold() == name.casefold():
            return number
    from difflib import get_close_matches

    near = get_close_matches(name, facts.collections, NEAR_NAMES, 0.5)
    known = ", ".join(map(shown, near or list(facts.collections)[:NEAR_NAMES])) or "none yet"
    raise UsageError(f"collection {shown(name)!r}: no such collection; there are: {known}")


def player_id(cursor: DuckDBPyConnection, name: str) -> int:
    """The player of this name, in any spelling. NothingFound, with near names, if there is none."""
    same = same_name(name)
    found = cursor.execute("SELECT min(id) FROM players WHERE same = $1", [same]).fetchone()
    if found and found[0] is not None:
        return int(found[0])
    near = cursor.execute(
        "SELECT name FROM players WHERE NOT starts_with(same, '?') "  # not the forgotten ones
        "ORDER BY contains(same, $1) DESC, "
        "least(levenshtein(same, $1), levenshtein(left(same, length($1)), $1)), name LIMIT $2",
        [same, NEAR_NAMES],
    ).fetchall()
    names = "; ".join(shown(row[0]) for row in near) or "nobody"
    raise NothingFound(
        f"player {shown(name)!r}: no such name in the library; the nearest are: {names}"
    )
