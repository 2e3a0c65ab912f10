"""`replies`: what players do in a position, how often, and how it ends, by level."""

from __future__ import annotations

from collections import Counter

import chess

from explorer.numbers import fide
from explorer.numbers.clusters import design_effect, mean_design
from explorer.numbers.expectation import PARTS
from explorer.numbers.intervals import Interval, mean_interval, score_interval, wilson
from explorer.positions.names import name_of_key
from explorer.positions.position import Position
from explorer.query.clustering import HALF, NOBODY, Cluster, Players, players_of
from explorer.query.elsewhere import transposing
from explorer.query.filters import Filters
from explorer.query.here import visits_at
from explorer.query.library import Library
from explorer.query.model import Ended, LevelCount, RepliesAnswer, Reply, ReplyLevel, Transposing
from explorer.query.moves import key_after, unpack
from explorer.query.orders import count_orders
from explorer.query.origin import facts_of, nothing_found, source_of
from explorer.query.tallies import ALL, NONE, Tally, tallies_of
from explorer.query.where import where
from ingest.levels import bands

Tallies = dict[tuple[int, int], Tally]


def replies(
    library: Library, position: Position, filters: Filters, *, extras: bool = True
) -> RepliesAnswer:
    """The replies to a position, the most frequent first.

    Without ``extras`` transposing moves are not looked for and ``move_orders``
    is 0. NothingFound when no game that passes the filters reached the position.
    """
    with library.reading() as (cursor, facts):
        chosen = where(cursor, facts, filters)
        here = visits_at(cursor, position, chosen, filters.cuts)
        if not len(here):
            raise nothing_found(cursor, facts, position, chosen)
        tallies = tallies_of(here)
        players = players_of(here, facts.curve(position.to_move))
        source = source_of(cursor, facts, position, filters, chosen)
        others: tuple[Transposing, ...] = ()
        orders = 0
        if extras:
            played = {unpack(move) for move, _ in tallies}
            elsewhere = where(cursor, facts, filters, opponent_moves=True)
            others = transposing(cursor, position, played, elsewhere)
            orders = count_orders(cursor, position, chosen)
    stopped = tallies.get((0, ALL), NONE)
    every = _Maker(position, filters, tallies, players).replies()
    shown = tuple(reply for reply in every if reply.games >= filters.min_games)[: filters.top]
    games = sum(tally.games for (_, level), tally in tallies.items() if level == ALL)
    known = sum(tally.known for (_, level), tally in tallies.items() if level == ALL)
    return RepliesAnswer(
        position=facts_of(position),
        filters=filters,
        source=source,
        games=games,
        players=players.all,
        ended_here=stopped.games,
        ended=Ended(
            mate_or_stalemate=stopped.ended_on_board,
            result=stopped.games - stopped.ended_on_board - stopped.ended_open,
            cut_short=stopped.ended_open,
        ),
        unknown_results=games - known,
        levels=_levels(filters, tallies),
        replies=shown,
        replies_left_out=len(every) - len(shown),
        transposing=others,
        move_orders=orders,
    )


def _levels(filters: Filters, tallies: Tallies) -> tuple[LevelCount, ...]:
    games = Counter[int]()
    for (_, number), tally in tallies.items():
        games[number] += tally.games
    return tuple(
        LevelCount(level.label, level.low, level.high, games[number])
        for number, level in enumerate(bands(filters.cuts))
    )


class _Maker:
    """Makes the replies of one position from the counted games and players."""

    def __init__(
        self, position: Position, filters: Filters, tallies: Tallies, players: Players
    ) -> None:
        self.board = chess.Board(position.fen)
        self.labels = [level.label for level in bands(filters.cuts)]
        self.tallies = tallies
        self.players = players
        self.went_on = Counter[int]()  # games with a move from here, by level
        for (move, number), tally in tallies.items():
            self.went_on[number] += tally.games if move else 0

    def replies(self) -> list[Reply]:
        moves = [move for move, number in self.tallies if move and number == ALL]
        return sorted(map(self.reply, moves), key=lambda reply: (-reply.games, reply.san))

    def reply(self, packed: int) -> Reply:
        tally, cluster = self.tallies[packed, ALL], self.players.replies[packed, ALL]
        move = unpack(packed)
        share = self.share(packed, ALL)
        score = _score_ends(tally, cluster)
        over = _over_ends(cluster)
        expected = HALF * tally.compared_half_points - cluster.over
        return Reply(
            san=self.board.san(move),
            uci=move.uci(),
            games=tally.games,
            players=cluster.players,
            share=share[0],
            share_low=share[1],
            share_high=share[2],
            wins=tally.wins,
            draws=tally.draws,
            losses=tally.losses,
            score=_ratio(tally.half_points, 2 * tally.known),
            score_low=score[0],
            score_high=score[1],
            expected=_ratio(expected, PARTS * cluster.compared),
            over_expected=_ratio(cluster.over, PARTS * cluster.compared),
            over_expected_low=over[0],
            over_expected_high=over[1],
            over_expected_games=cluster.compared,
            performance=_performance(tally),
            mean_rating=_ratio(tally.rating, tally.rated),
            mean_opponent=_ratio(tally.opponent_rating, tally.opponent_rated),
            swing=_ratio(tally.swing, tally.swing_games),
            swing_games=tally.swing_games,
            mated=tally.mated,
            top_player_games=cluster.top,
            name=name_of_key(key_after(self.board, move)),
            levels=tuple(self.at_level(packed, number) for number in range(len(self.labels))),
        )

    def at_level(self, packed: int, number: int) -> ReplyLevel:
        tally = self.tallies.get((packed, number), NONE)
        share, low, high = self.share(packed, number)
        return ReplyLevel(
            label=self.labels[number],
            games=tally.games,
            players=self.players.replies.get((packed, number), NOBODY).players,
            share=share,
            share_low=low,
            share_high=high,
            score=_ratio(tally.half_points, 2 * tally.known),
            of=self.went_on[number],
            of_players=self.players.went_on.get(number, 0),
        )

    def share(self, packed: int, number: int) -> tuple[float | None, float | None, float | None]:
        """A reply's share at a level and its interval."""
        games = self.tallies.get((packed, number), NONE).games
        by = self.players.replies.get((packed, number), NOBODY)
        n = self.went_on[number]
        if not n:
            return None, None, None
        everybody = self.players.went_on[number]
        design = design_effect(games, n, by.kk, by.kn, self.players.nn[number], everybody)
        return games / n, *_ends(wilson(games, n, design))


def _ratio(total: int, n: int) -> float | None:
    return total / n if n else None


def _ends(interval: Interval | None) -> tuple[float, float] | tuple[None, None]:
    return interval or (None, None)


def _score_ends(tally: Tally, by: Cluster) -> tuple[float, float] | tuple[None, None]:
    squares = 4 * tally.wins + tally.draws
    design = mean_design(
        tally.half_points, tally.known, squares, by.hh, by.hm, by.mm, by.known_players
    )
    return _ends(score_interval(tally.wins, tally.draws, tally.losses, design))


def _over_ends(by: Cluster) -> tuple[float, float] | tuple[None, None]:
    """The interval of score - expected; its sums come in 1 / PARTS."""
    n = by.compared
    design = mean_design(by.over, n, by.squares, by.dd, by.dr, by.rr, by.compared_players)
    return _ends(mean_interval(by.over / PARTS, n, by.squares / PARTS**2, design))


def _performance(tally: Tally) -> int | None:
    if not tally.met:
        return None
    return fide.performance(tally.met_rating / tally.met, tally.met_half_points / 2, tally.met)
