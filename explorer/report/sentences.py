"""What an answer says, in plain sentences: for cards, summaries and footnotes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import chess

from explorer.query.filters import Filters
from explorer.query.model import (
    FEW_GAMES,
    FEW_PLAYERS,
    TELLING_SWING,
    OrdersAnswer,
    PositionFacts,
    RepliesAnswer,
    Reply,
    ReplyLevel,
    Source,
)
from explorer.report import words
from explorer.report.privacy import Veil
from ingest.levels import Level, bands

FEW_SIGN = "*"
METHOD = (
    "Share: of the games that went on. Score: wins and half the draws, from the mover's side, "
    "0 to 1. Against expectation: score less expected score, where both players are rated. "
    "Ranges are 95 % intervals; players, not games, are the sample."
)
SWING = (
    "Swing: what the mover's material (pawn 1, knight and bishop 3, rook 5, queen 9) gains or "
    "loses, in pawns, by about four moves later, once nothing is being taken; players mated "
    "within eight moves are counted apart."
)
FEW_NOTE = f"{FEW_SIGN} fewer than {FEW_GAMES} games or {FEW_PLAYERS} players: too few to say."
# The widest interval around 0 that is still called "as expected": 5 points in 100 games each way.
NARROW = 0.1
NAMED_IN_SUMMARY = 3


def not_seen(level: ReplyLevel) -> bool:
    """Whether no game of a level that somebody reached shows the reply."""
    return level.games == 0 and level.of > 0


def reply_sentence(reply: Reply, levels: Sequence[Level] = ()) -> str:
    """One reply in a sentence: ``About 1 in 9 players under 800 choose this; ...``

    ``levels`` are the bands of ``reply.levels``, in the same order; none where they are
    not levels of the mover. A level is named only when its interval lies above the share
    of all together. When one player made most of the games, that is all that is said.
    """
    if reply.few:
        return f"{_counted(reply)}: too few to say."
    if mostly := one_player(reply):
        return f"Played in {words.one_in(reply.share or 0.0)} games, but {mostly}."
    told = [
        (level.share, band)
        for level, band in zip(reply.levels, levels, strict=bool(levels))
        if band.rated and not level.few and (level.share_low or 0.0) > (reply.share or 0.0)
    ]
    share, who, where = reply.share, "players", ""
    if told:
        share, band = max(told, key=lambda pair: pair[0] or 0.0)
        who, where = words.players_of(band), "overall "
    often = words.one_in(share or 0.0)
    return words.sentence(f"{often} {who} choose this; {where}it {_cost(reply)}")


def _counted(reply: Reply) -> str:
    games = words.count(reply.games, "game")
    return (
        games if reply.games < FEW_GAMES else f"{games} by {words.count(reply.players, 'player')}"
    )


def _cost(reply: Reply) -> str:
    """What choosing the reply leads to, for all levels together.

    Material is what one sees, so it is told first, but not where the results say the opposite.
    """
    verdict = against_expectation(reply)
    swing = reply.swing if reply.swing_games >= FEW_GAMES else None
    if swing is not None and swing <= -TELLING_SWING and verdict != "better":
        return f"costs {words.pawns(swing)} on average"
    if swing is not None and swing >= TELLING_SWING and verdict != "worse":
        return f"wins {words.pawns(swing)} on average"
    if verdict in ("better", "worse") and reply.over_expected is not None:
        more = "more" if verdict == "better" else "less"
        points = words.hundredths(abs(reply.over_expected)).removesuffix(".0")
        return f"scores {points} points in 100 games {more} than expected"
    if verdict == "as expected":
        return "scores about as expected"
    if verdict == "no clear difference":
        return "scores neither clearly more nor clearly less than expected"
    return "has too few rated games to set its score against expectation"


def against_expectation(reply: Reply) -> str:
    """``better``, ``worse``, ``as expected``, ``no clear difference`` or ``too few to say``.

    An interval that holds 0 means as expected only if it is narrow as well.
    """
    low, high = reply.over_expected_low, reply.over_expected_high
    if low is None or high is None or reply.few or reply.over_expected_games < FEW_GAMES:
        return "too few to say"
    if low > 0 or high < 0:
        return "better" if low > 0 else "worse"
    return "as expected" if high - low <= NARROW else "no clear difference"


def one_player(reply: Reply) -> str | None:
    """``one player made 53 of these 84``, or None when nobody made more than a third.

    One game each of two or three is not worth a sentence, nor is the only player there.
    """
    if not reply.one_player or reply.top_player_games < 2 or reply.players < 2:
        return None
    return f"one player made {reply.top_player_games} of these {reply.games}"


def not_seen_at(reply: Reply, within: str = "of") -> str | None:
    """The levels where a reply was not seen, with the most that it may be; None for none.

    ``within`` leads in a level's name.
    """
    told = [
        f"in {words.count(level.of, 'game')} {within} {level.label} "
        f"(at most {words.fine_hundredths(level.share_high or 0.0)} in 100)"
        for level in reply.levels
        if not_seen(level) and not level.few
    ]
    return f"Not seen {words.listed(told)}." if told else None


def mated(reply: Reply) -> str | None:
    """How often the mover was mated soon after; None for never."""
    if not reply.mated:
        return None
    return f"Mated within eight moves: {reply.mated:,} of {words.count(reply.games, 'game')}."


def summary(answer: RepliesAnswer, letters: str | None = None) -> str:
    """The whole answer in one sentence; where there are too few games it only counts."""
    mover = words.side(answer.position.to_move)
    first = answer.replies[:NAMED_IN_SUMMARY]
    sure = [
        f"{words.spelled(reply.san, letters)} ({words.percent(reply.share)})"
        for reply in first
        if not reply.few
    ]
    if over := final(answer.position):
        said = f"{mover} is {over}"
    elif not answer.went_on:
        said = "none of them went on"
    elif not first:
        said = f"no reply of {mover} to show"
    elif not sure:
        counted = [f"{words.spelled(r.san, letters)} in {r.games:,}" for r in first]
        counted[0] += " of them" if answer.games > 1 else ""
        said = f"{mover} played {words.listed(counted)}"
    elif len(sure) == 1:
        said = f"{mover}'s most common reply is {sure[0]}"
    else:
        said = f"{mover}'s most common replies are {words.listed(sure)}"
    return f"{reached(answer)}; {said}."


def reached(answer: RepliesAnswer) -> str:
    """``240 games by 80 players reached this position``."""
    games = words.count(answer.games, "game")
    return f"{games} by {words.count(answer.players, 'player')} reached this position"


def final(position: PositionFacts) -> str | None:
    """``mated`` or ``stalemated`` for a position that ends the game, else None."""
    board = chess.Board(position.fen)
    if board.is_checkmate():
        return "mated"
    return "stalemated" if board.is_stalemate() else None


def to_move(position: PositionFacts) -> str:
    """``Black to move``, ``Black is mated``."""
    over = final(position)
    return f"{words.side(position.to_move)} {f'is {over}' if over else 'to move'}"


def levels_of(filters: Filters) -> tuple[Level, ...]:
    """The bands of a table's columns, in its order."""
    return bands(filters.cuts)


def _stopped(answer: RepliesAnswer) -> str:
    """How many games stop at the position, and how."""
    mated = {"mated": "by mate", "stalemated": "by stalemate"}.get(final(answer.position) or "")
    kinds = [
        f"{number:,} {kind}"
        for number, kind in (
            (answer.ended.mate_or_stalemate, mated or "by mate or stalemate"),
            (answer.ended.result, "with a result given"),
            (answer.ended.cut_short, "cut short"),
        )
        if number
    ]
    how = f": {words.listed(kinds)}" if kinds else ""
    stop = "stops" if answer.ended_here == 1 else "stop"
    games = words.count(answer.games, "game")
    if answer.went_on:
        went_on = f"Shares are of the {answer.went_on:,} that went on."
        return f"{answer.ended_here:,} of {games} {stop} here{how}. {went_on}"
    all_of = {1: "The one game", 2: "Both games"}.get(answer.games, f"All {games}")
    return f"{all_of} {stop} here{how}."


def records(answer: RepliesAnswer) -> Iterator[str]:
    """How the games that reached the position add up, and where else it comes from."""
    if answer.ended_here:
        yield _stopped(answer)
    if answer.unknown_results:
        yield (
            f"{words.count(answer.unknown_results, 'game')} without a known result: "
            "counted in shares, not in scores."
        )
    if answer.replies_left_out:
        replies = "reply is" if answer.replies_left_out == 1 else "replies are"
        yield f"{answer.replies_left_out} rarer {replies} counted but not shown."
    if orders := orders_counted(answer):
        yield orders


def orders_counted(answer: RepliesAnswer) -> str | None:
    """How many move orders lead here; None for one, or when they were not counted."""
    if answer.move_orders < 2:
        return None
    return f"{answer.move_orders:,} move orders lead to this position."


def orders_left_out(answer: OrdersAnswer) -> str | None:
    """How many move orders are not shown; None for none."""
    if not answer.orders_left_out:
        return None
    orders = words.count(answer.orders_left_out, "rarer move order")
    return f"{orders} {'is' if answer.orders_left_out == 1 else 'are'} counted but not shown."


def transpositions(answer: RepliesAnswer, letters: str | None = None) -> Iterator[str]:
    """The unplayed moves that lead to a position of other games."""
    for move in answer.transposing:
        name = f", the {words.clean(move.name)}," if move.name else ""
        yield (
            f"{words.spelled(move.san, letters)} was not played here; it leads to a position{name} "
            f"that {words.count(move.games_there, 'game')} reached another way."
        )


def origin(source: Source, veil: Veil) -> Iterator[str]:
    """What one must know of the games behind the numbers."""
    if source.vague_dates:
        yield (
            f"{words.count(source.vague_dates, 'game')} left out: "
            "the date is too vague for the dates asked for."
        )
    if len(source.rating_scales) > 1:
        scales = words.listed([words.clean(veil.text(name)) for name in source.rating_scales])
        yield f"Ratings of different scales are mixed here ({scales}): levels do not compare."


def expectation(source: Source) -> str:
    """Which expected score was used."""
    if source.expectation == "library":
        return (
            "Expected scores come from this library: the mean result at each rating difference "
            "and colour."
        )
    return (
        "Expected scores come from the FIDE Handbook B.02, table 8.1.2, with the difference "
        "capped at 400: the library has too few rated games for its own."
    )
