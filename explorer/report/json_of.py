"""Answers as JSON. `replies_json` is a contract: names and order of its fields stay.

Shares, scores and expectations are fractions of 1, null where nothing can be
computed. The text is ASCII, so that no console's encoding can spoil it.
"""

from __future__ import annotations

import json
from typing import Any

from explorer.query.filters import Filters
from explorer.query.model import (
    GameRow,
    GamesAnswer,
    Order,
    OrdersAnswer,
    PositionFacts,
    RepliesAnswer,
    Reply,
)
from explorer.report import grouped
from explorer.report.privacy import Veil

_REPLY = [
    "san",
    "uci",
    "games",
    "players",
    "share",
    "share_low",
    "share_high",
    "wins",
    "draws",
    "losses",
    "score",
    "score_low",
    "score_high",
    "expected",
    "over_expected",
    "over_expected_low",
    "over_expected_high",
    "over_expected_games",
    "performance",
    "mean_rating",
    "mean_opponent",
    "swing",
    "mated",
    "name",
]
_REPLY_LEVEL = ["label", "games", "players", "share", "share_low", "share_high", "score"]
_LEVEL = ["label", "low", "high", "games"]
_POSITION = ["fen", "line", "name", "key", "to_move"]
_ENDED = ["mate_or_stalemate", "result", "cut_short"]
_TRANSPOSING = ["san", "uci", "games_there"]


def replies_json(answer: RepliesAnswer, names: str = "initials") -> str:
    """What players do in a position. ``levels`` are the groups that ``filters.by`` says."""
    veil = Veil.over(answer, names)
    answer = grouped.named(answer, veil)
    return dumped(
        {
            "position": _position(answer.position),
            "filters": {**filters_of(answer.filters, veil), "by": answer.filters.by},
            "games": answer.games,
            "players": answer.players,
            "ended_here": answer.ended_here,
            "ended": _fields(answer.ended, _ENDED),
            "unknown_results": answer.unknown_results,
            "levels": [_fields(level, _LEVEL) for level in answer.levels],
            "replies": [_reply(reply) for reply in answer.replies],
            "transposing": [_fields(move, _TRANSPOSING) for move in answer.transposing],
            "move_orders": answer.move_orders or (None if answer.games else 0),
        }
    )


def orders_json(answer: OrdersAnswer, names: str = "initials") -> str:
    """The move orders that lead to a position; ``parts_at`` counts plies from 0."""
    return dumped(
        {
            "position": _position(answer.position),
            "filters": filters_of(answer.filters, Veil.over(answer, names)),
            "games": answer.games,
            "orders": [_order(order) for order in answer.orders],
            "orders_left_out": answer.orders_left_out,
        }
    )


def games_json(answer: GamesAnswer, names: str = "initials") -> str:
    """The games that reached a position, with names as the veil lets them through."""
    veil = Veil.over(answer, names)
    return dumped(
        {
            "position": _position(answer.position),
            "filters": filters_of(answer.filters, veil),
            "games": answer.games,
            "rows": [game_of(row, veil) for row in answer.rows],
        }
    )


def dumped(value: dict[str, Any]) -> str:
    """JSON text, ASCII, indented."""
    return json.dumps(value, indent=2, allow_nan=False) + "\n"


def _fields(value: object, names: list[str]) -> dict[str, Any]:
    return {name: getattr(value, name) for name in names}


def _position(position: PositionFacts) -> dict[str, Any]:
    return _fields(position, _POSITION)


def filters_of(filters: Filters, veil: Veil) -> dict[str, Any]:
    """The filters as they are typed; null or an empty list where there is none."""
    player = filters.player
    return {
        "levels": [level.typed for level in filters.levels],
        "opponents": [level.typed for level in filters.opponents],
        "bands": list(filters.cuts),
        "pace": list(filters.pace),
        "since": filters.since.isoformat() if filters.since else None,
        "until": filters.until.isoformat() if filters.until else None,
        "collections": [veil.text(name) for name in filters.collections],
        "player": veil.person(player),
        "as": filters.side,
        "min_games": filters.min_games,
        "top": filters.top,
    }


def _reply(reply: Reply) -> dict[str, Any]:
    return {
        **_fields(reply, _REPLY),
        "levels": [_fields(level, _REPLY_LEVEL) for level in reply.levels],
    }


def _order(order: Order) -> dict[str, Any]:
    return {
        **_fields(order, ["line", "start_fen", "games", "share", "parts_at"]),
        "ucis": list(order.ucis),
    }


def game_of(row: GameRow, veil: Veil) -> dict[str, Any]:
    """A game with names as the veil lets them through."""
    return {
        "white": veil.person(row.white),
        "black": veil.person(row.black),
        **_fields(row, ["white_rating", "black_rating", "result", "date"]),
        "event": veil.tag(row.event, row),
        "site": veil.tag(row.site, row),
        "round": veil.tag(row.round, row),
        **_fields(
            row,
            ["pace", "time_control", "termination", "moves", "reply", "ended_by_mate", "cut_short"],
        ),
        "start_fen": row.start_fen,
        "sans": list(row.sans),
        "ply_here": row.ply_here,
    }
