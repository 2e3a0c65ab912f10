"""What an answer says, in plain sentences: for cards, summaries and footnotes."""

from __future__ import annotations

from collections.abc import Iterator

from explorer.query.filters import Filters
from explorer.query.model import (
    FEW_GAMES,
    FEW_PLAYERS,
    OrdersAnswer,
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
    '0 to 1. "Between": 95 % interval, players not games being the sample.'
)
SWING = (
    "Pawns won or lost: the mover's material (pawn 1, knight and bishop 3, rook 5, queen 9) about "
    "four moves later, once nothing is being taken; players who get mated are counted apart."
)
FEW_NOTE = f"{FEW_SIGN} fewer than {FEW_GAMES} games or {FEW_PLAYERS} players: too few to say."
# Smaller mean swings are the ordinary ebb of material in an opening.
TELLING_SWING = 0.5
# The widest interval around 0 that is still called "as expected": 5 points in 100 games each way.
NARROW = 0.1
NAMED_IN_SUMMARY = 3


def few_of(level: ReplyLevel) -> bool:
    """Whether a level's share rests on too few games or players for a claim."""
    return level.of < FEW_GAMES or level.of_players < FEW_PLAYERS


def not_seen(level: ReplyLevel) -> bool:
    """Whether no game of a level that somebody reached shows the reply."""
    return level.games == 0 and level.of > 0


def reply_sentence(reply: Reply, levels: tuple[Level, ...]) -> str:
    """One reply in a sentence: ``About 1 in 9 players under 800 choose this; ...``

    ``levels`` are the bands of ``reply.levels``, in the same order. A level is
    named only when its interval lies above the share of all together. When one
    player made most of the games, that is all that is said.
    """
    if reply.few:
        return f"{_counted(reply)}: too few to say."
    if mostly := one_player(reply):
        return words.sentence(f"{words.one_in(reply.share or 0.0)} games, but {mostly}")
    told = [
        (level.share, band)
        for level, band in zip(reply.levels, levels, strict=True)
        if band.rated and not few_of(level) and (level.share_low or 0.0) > (reply.share or 0.0)
    ]
    share, who, where = reply.share, "players", ""
    if told:
        share, band = max(told, key=lambda pair: pair[0] or 0.0)
        who, where = words.players_of(band), "over all levels "
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
        points = f"{abs(100 * reply.over_expected):.1f}".removesuffix(".0")
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

    One game each of two or three is not worth a sentence.
    """
    if not reply.one_player or reply.top_player_games < 2:
        return None
    return f"one player made {reply.top_player_games} of these {reply.games}"


def not_seen_at(reply: Reply) -> str | None:
    """The levels where a reply was not seen, with the most that it may be; None for none."""
    told = [
        f"in {words.count(level.of, 'game')} of {level.label} "
        f"(at most {words.fine_hundredths(level.share_high or 0.0)} in 100)"
        for level in reply.levels
        if not_seen(level) and not few_of(level)
    ]
    return f"Not seen {words.listed(told)}." if told else None


def mated(reply: Reply) -> str | None:
    """How often the mover was mated soon after; None for never."""
    if not reply.mated:
        return None
    return f"Mated within eight moves: {reply.mated:,} of {words.count(reply.games, 'game')}."


def summary(answer: RepliesAnswer, letters: str | None = None) -> str:
    """The whole answer in one sentence."""
    reached = (
        f"{words.count(answer.games, 'game')} by {words.count(answer.players, 'player')} "
        "reached this position"
    )
    mover = words.side(answer.position.to_move)
    if not answer.replies:
        return f"{reached}; no reply of {mover} to show."
    named = [
        f"{words.spelled(reply.san, letters)} ({words.percent(reply.share)})"
        for reply in answer.replies[:NAMED_IN_SUMMARY]
    ]
    if len(named) == 1:
        return f"{reached}; {mover}'s most common reply is {named[0]}."
    return f"{reached}; {mover}'s most common replies are {words.listed(named)}."


def levels_of(filters: Filters) -> tuple[Level, ...]:
    """The bands of a table's columns, in its order."""
    return bands(filters.cuts)


def records(answer: RepliesAnswer) -> Iterator[str]:
    """How the games that reached the position add up, and where else it comes from."""
    if answer.ended_here:
        kinds = [
            f"{number} {kind}"
            for number, kind in (
                (answer.ended.mate_or_stalemate, "by mate or stalemate"),
                (answer.ended.result, "with a result given"),
                (answer.ended.cut_short, "cut short"),
            )
            if number
        ]
        yield (
            f"{answer.ended_here:,} of {words.count(answer.games, 'game')} "
            f"stop{'s' if answer.ended_here == 1 else ''} here"
            f"{': ' + words.listed(kinds) if kinds else ''}. "
            f"Shares are of the {answer.went_on:,} that went on."
        )
    if answer.unknown_results:
        yield (
            f"{words.count(answer.unknown_results, 'game')} without a known result: "
            "counted in shares, not in scores."
        )
    if answer.replies_left_out:
        replies = "reply is" if answer.replies_left_out == 1 else "replies are"
        yield f"{answer.replies_left_out} rarer {replies} counted but not shown."
    if answer.move_orders > 1:
        yield f"{answer.move_orders:,} move orders lead to this position."


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
            f"that {words.count(move.games_there, 'game')} reached otherwise."
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
