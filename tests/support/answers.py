"""Answers made by hand for tests of what is shown. People, clubs and counts are invented."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from datetime import date

import chess

from explorer.query.filters import Filters
from explorer.query.model import (
    Ended,
    GameRow,
    GamesAnswer,
    LevelCount,
    Order,
    OrdersAnswer,
    PositionFacts,
    RepliesAnswer,
    Reply,
    ReplyLevel,
    Source,
    Transposing,
)
from ingest.levels import bands

REACHED = (240, 310, 420, 380, 260, 140, 60, 12, 90)
PLAYERS = (60, 70, 90, 80, 60, 40, 20, 3, 30)
# reply, mean swing, against expectation, games at each level
PLAYED: tuple[tuple[str, float | None, float, tuple[int, ...]], ...] = (
    ("Nc6", 0.1, 0.01, (110, 160, 240, 240, 175, 98, 44, 9, 45)),
    ("d6", -0.1, -0.03, (48, 62, 80, 66, 40, 18, 6, 1, 20)),
    ("Nf6", 0.0, 0.02, (20, 34, 54, 54, 37, 22, 10, 2, 12)),
    ("f6", -1.4, -0.12, (27, 25, 16, 6, 1, 0, 0, 0, 5)),
    ("Qe7", -0.6, -0.05, (20, 15, 12, 6, 2, 0, 0, 0, 5)),
    ("Bc5", None, -0.2, (10, 10, 8, 4, 2, 1, 0, 0, 2)),
    ("d5", 0.7, 0.04, (3, 2, 6, 2, 1, 1, 0, 0, 1)),
    ("a6", -0.2, -0.1, (2, 2, 4, 2, 2, 0, 0, 0, 0)),
    ("h6", -0.2, -0.1, (0, 0, 0, 0, 0, 0, 0, 0, 0)),
)


def between(part: int, whole: int) -> tuple[float | None, float | None, float | None]:
    """A share and its Wilson limits."""
    if not whole:
        return None, None, None
    z, p = 1.959964, part / whole
    middle, scale = p + z * z / (2 * whole), 1 + z * z / whole
    half = z * math.sqrt(p * (1 - p) / whole + z * z / (4 * whole * whole))
    low, high = (middle - half) / scale, (middle + half) / scale
    return p, 0.0 if part == 0 else low, 1.0 if part == whole else high


def reply_level(label: str, games: int, of: int, players: int) -> ReplyLevel:
    share, low, high = between(games, of)
    score = 0.45 if games else None
    return ReplyLevel(label, games, min(games, players), share, low, high, score, of, players)


def make_reply(
    board: chess.Board,
    san: str,
    swing: float | None,
    over: float,
    played: Sequence[int],
    reached: Sequence[int] = REACHED,
) -> Reply:
    games, went_on = sum(played), sum(reached)
    share, low, high = between(games, went_on)
    known = games > 0
    return Reply(
        san=san,
        uci=board.parse_san(san).uci(),
        games=games,
        players=min(games, 3 * games // 4 + 1),
        share=share,
        share_low=low,
        share_high=high,
        wins=2 * games // 5,
        draws=games // 10,
        losses=games - 2 * games // 5 - games // 10,
        score=0.47 + over if known else None,
        score_low=0.42 + over if known else None,
        score_high=0.52 + over if known else None,
        expected=0.47 if known else None,
        over_expected=over if known else None,
        over_expected_low=over - 0.02 if known else None,
        over_expected_high=over + 0.02 if known else None,
        over_expected_games=9 * games // 10,
        performance=1104 if known else None,
        mean_rating=1120.4 if known else None,
        mean_opponent=1131.5 if known else None,
        swing=swing if known else None,
        swing_games=8 * games // 10,
        mated=games // 20,
        top_player_games=53 if san == "Qe7" else min(games, 2),
        name="Damiano Defence" if san == "f6" else None,
        levels=tuple(
            reply_level(level.label, *counts)
            for level, *counts in zip(bands(), played, reached, PLAYERS, strict=True)
        ),
    )


def make_source(**changes: object) -> Source:
    source = Source(("club season", "junior cup"), "fide", 0, (), 40)
    return replace(source, **changes)  # type: ignore[arg-type]


def make_position(
    line: Sequence[str] = ("e4", "e5", "Nf3"), name: str | None = None
) -> PositionFacts:
    board = chess.Board()
    words = []
    for san in line:
        words.append(f"{board.fullmove_number}. {san}" if board.turn else san)
        board.push_san(san)
    return PositionFacts(
        fen=f"{board.epd()} 0 1",
        line=" ".join(words),
        name=name,
        key="0123456789abcdef",
        to_move="white" if board.turn else "black",
    )


def replies_answer(filters: Filters | None = None, **changes: object) -> RepliesAnswer:
    """What Black plays after 1. e4 e5 2. Nf3: nine replies, the last never seen."""
    position = make_position(name="King's Knight Opening")
    board = chess.Board(position.fen)
    went_on = sum(REACHED)
    answer = RepliesAnswer(
        position=position,
        filters=filters or Filters(),
        source=make_source(),
        games=went_on + 5,
        players=443,
        ended_here=5,
        ended=Ended(0, 3, 2),
        unknown_results=4,
        levels=tuple(
            LevelCount(level.label, level.low, level.high, games)
            for level, games in zip(bands(), REACHED, strict=True)
        ),
        replies=tuple(make_reply(board, *row) for row in PLAYED),
        replies_left_out=2,
        transposing=(
            Transposing("Na6", "b8a6", 31, None),
            Transposing("g6", "g7g6", 12, "Modern Defence"),
        ),
        move_orders=3,
    )
    return replace(answer, **changes)  # type: ignore[arg-type]


def nothing_played() -> RepliesAnswer:
    """A position that no game went on from."""
    return replies_answer(replies=(), games=2, ended_here=2, ended=Ended(2, 0, 0))


def answer_after_f6() -> RepliesAnswer:
    """What White plays after 1. e4 e5 2. Nf3 f6, for a section that follows."""
    position = make_position(("e4", "e5", "Nf3", "f6"), "Damiano Defence")
    board = chess.Board(position.fen)
    reached = (20, 20, 16, 6, 1, 0, 0, 0, 5)
    rows = (
        ("Nxe5", 1.8, 0.12, (6, 9, 11, 5, 1, 0, 0, 0, 2)),
        ("Bc4", 0.3, 0.05, (9, 8, 5, 1, 0, 0, 0, 0, 3)),
        ("d4", 0.2, 0.02, (5, 3, 0, 0, 0, 0, 0, 0, 0)),
    )
    return replies_answer(
        position=position,
        games=68,
        players=51,
        ended_here=0,
        ended=Ended(0, 0, 0),
        unknown_results=0,
        replies=tuple(make_reply(board, *row, reached) for row in rows),
        replies_left_out=0,
        transposing=(),
        move_orders=1,
    )


def make_order(ucis: str, games: int, parts_at: int | None) -> Order:
    board = chess.Board()
    for uci in ucis.split():
        board.push_uci(uci)
    return Order(
        line=chess.Board().variation_san(board.move_stack),
        ucis=tuple(ucis.split()),
        games=games,
        share=games / 1917,
        parts_at=parts_at,
        start_fen=None,
    )


def orders_answer() -> OrdersAnswer:
    orders = (
        make_order("e2e4 e7e5 g1f3", 1820, None),
        make_order("g1f3 e7e5 e2e4", 70, 0),
        make_order("e2e4 e7e6 g1f3 e6e5", 27, 1),
    )
    return OrdersAnswer(
        position=make_position(name="King's Knight Opening"),
        filters=Filters(),
        source=make_source(),
        games=1917,
        orders=orders,
        orders_left_out=4,
    )


def make_game(
    sans: str = "e4 e5 Nf3 f6 Nxe5 fxe5 Qh5+ Ke7 Qxe5+ Kf7 Bc4+ Kg6", **changes: object
) -> GameRow:
    board = chess.Board(str(changes.get("start_fen") or chess.STARTING_FEN))
    moves = [board.push_san(san).uci() for san in sans.split()]
    row = GameRow(
        id=1,
        white="Marsh, Ada",
        black="Quill, Ben",
        white_rating=1050,
        black_rating=890,
        result="1-0",
        date="2025.09.14",
        played=date(2025, 9, 14),
        event="Otterbank club evening",
        site="Otterbank",
        round="3",
        pace="rapid",
        time_control="900+10",
        termination="normal",
        moves=(len(moves) + 1) // 2,
        reply="f6",
        ended_by_mate=False,
        cut_short=False,
        start_fen=None,
        ucis=tuple(moves),
        sans=tuple(sans.split()),
        ply_here=3,
    )
    return replace(row, **changes)  # type: ignore[arg-type]


def games_answer(*rows: GameRow, filters: Filters | None = None) -> GamesAnswer:
    mate = "f3 e5 g4 Qh4#"
    shown = rows or (
        make_game(),
        make_game(
            mate,
            id=2,
            white=None,
            black_rating=None,
            result="0-1",
            ended_by_mate=True,
            date="2025.??.??",
            event="Marsh, Ada against all",
        ),
    )
    return GamesAnswer(make_position(), filters or Filters(), make_source(), 84, tuple(shown))
