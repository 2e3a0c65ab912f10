"""`replies`: what players do in a position, how often, and how it ends, by level
or by another breakdown."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import chess
from duckdb import DuckDBPyConnection

from explorer.numbers import fide
from explorer.numbers.clusters import design_effect, mean_design
from explorer.numbers.expectation import PARTS
from explorer.numbers.intervals import Interval, mean_interval, score_interval, wilson
from explorer.positions.names import name_of_key
from explorer.positions.position import Position
from explorer.query.breakdown import Group
from explorer.query.clustering import HALF, NOBODY, Cluster, Players, players_of
from explorer.query.elsewhere import transposing
from explorer.query.filters import Filters
from explorer.query.here import Here, visits_at, visits_by_collection
from explorer.query.library import Facts, Library
from explorer.query.model import Ended, LevelCount, RepliesAnswer, Reply, ReplyLevel, Transposing
from explorer.query.moves import key_after, unpack
from explorer.query.orders import count_orders
from explorer.query.origin import facts_of, nothing_found, source_of
from explorer.query.tallies import ALL, NONE, Tally, tallies_of
from explorer.query.trends import Grouped, adjusted, trend_over
from explorer.query.where import where

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
        here = visits_at(cursor, position, chosen, filters)
        if not len(here):
            raise nothing_found(cursor, facts, position, chosen)
        curve = facts.curve(position.to_move)
        counted = _Counted(here.groups, tallies_of(here), players_of(here, curve))
        if filters.by == "collection":
            here = visits_by_collection(cursor, facts, position, chosen, filters)
            counted = counted.in_groups(here, players_of(here, curve))
        source = source_of(cursor, facts, position, filters, chosen)
        others: tuple[Transposing, ...] = ()
        orders = 0
        if extras:
            played = {unpack(move) for move, _ in counted.tallies}
            elsewhere = where(cursor, facts, filters, opponent_moves=True)
            others = transposing(cursor, position, played, elsewhere)
            orders = count_orders(cursor, position, chosen)
    stopped = counted.tallies.get((0, ALL), NONE)
    every = _Maker(position, filters.by, counted).replies()
    shown = tuple(reply for reply in every if reply.games >= filters.min_games)[: filters.top]
    whole = [tally for (_, group), tally in counted.tallies.items() if group == ALL]
    games, known = sum(tally.games for tally in whole), sum(tally.known for tally in whole)
    return RepliesAnswer(
        position=facts_of(position),
        filters=filters,
        source=source,
        games=games,
        players=counted.players.all,
        ended_here=stopped.games,
        ended=Ended(
            mate_or_stalemate=stopped.ended_on_board,
            result=stopped.games - stopped.ended_on_board - stopped.ended_open,
            cut_short=stopped.ended_open,
        ),
        unknown_results=games - known,
        levels=counted.levels,
        replies=shown,
        replies_left_out=len(every) - len(shown),
        transposing=others,
        move_orders=orders,
    )


def every_reply(
    cursor: DuckDBPyConnection, facts: Facts, position: Position, filters: Filters
) -> list[Reply]:
    """The replies alone, all of them; none where no game that passes the filters came."""
    here = visits_at(cursor, position, where(cursor, facts, filters), filters)
    if not len(here):
        return []
    players = players_of(here, facts.curve(position.to_move))
    counted = _Counted(here.groups, tallies_of(here), players)
    return _Maker(position, filters.by, counted).replies()


@dataclass(frozen=True, slots=True)
class _Counted:
    """The games and players at a position, by reply and group."""

    groups: tuple[Group, ...]
    tallies: Tallies
    players: Players

    def in_groups(self, here: Here, players: Players) -> _Counted:
        """The same as a whole, in groups between which games may be shared."""
        tallies = {place: tally for place, tally in tallies_of(here).items() if place[1] != ALL}
        whole = {place: tally for place, tally in self.tallies.items() if place[1] == ALL}
        return _Counted(here.groups, tallies | whole, self.players.in_groups_of(players))

    @property
    def levels(self) -> tuple[LevelCount, ...]:
        """The games that reached the position, by group."""
        games = Counter[int]()
        for (_, number), tally in self.tallies.items():
            games[number] += tally.games
        return tuple(
            LevelCount(group.label, group.low, group.high, games[number], group.apart)
            for number, group in enumerate(self.groups)
        )


class _Maker:
    """Makes the replies of one position from the counted games and players."""

    def __init__(self, position: Position, by: str, counted: _Counted) -> None:
        self.board = chess.Board(position.fen)
        self.by = by
        self.groups = counted.groups
        self.tallies = counted.tallies
        self.players = counted.players
        self.went_on = Counter[int]()  # games with a move from here, by group
        rated, rating = Counter[int](), Counter[int]()
        for (move, number), tally in self.tallies.items():
            if move:
                self.went_on[number] += tally.games
                rated[number] += tally.rated
                rating[number] += tally.rating
        self.mean_rating = {
            number: rating[number] / rated[number] for number in rated if rated[number]
        }

    def replies(self) -> list[Reply]:
        moves = [move for move, number in self.tallies if move and number == ALL]
        replies = sorted(map(self.reply, moves), key=lambda reply: (-reply.games, reply.san))
        return adjusted(replies)

    def reply(self, packed: int) -> Reply:
        levels = tuple(self.at_group(packed, number) for number in range(len(self.groups)))
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
            levels=levels,
            trend=trend_over(self.by, self.grouped(packed, levels)),
        )

    def at_group(self, packed: int, number: int) -> ReplyLevel:
        tally = self.tallies.get((packed, number), NONE)
        share, low, high = self.share(packed, number)
        return ReplyLevel(
            label=self.groups[number].label,
            games=tally.games,
            players=self.players.replies.get((packed, number), NOBODY).players,
            share=share,
            share_low=low,
            share_high=high,
            score=_ratio(tally.half_points, 2 * tally.known),
            of=self.went_on[number],
            of_players=self.players.went_on.get(number, 0),
        )

    def grouped(self, packed: int, levels: Sequence[ReplyLevel]) -> Iterator[Grouped]:
        """A reply in each group that has enough games and a place in the order of the others."""
        for number, (group, level) in enumerate(zip(self.groups, levels, strict=True)):
            if not level.few and not group.apart:
                score = self.mean_rating.get(number, 0.0) if group.year is None else group.year
                yield Grouped(level.games, level.of, score, self.design(packed, number))

    def share(self, packed: int, number: int) -> tuple[float | None, float | None, float | None]:
        """A reply's share in a group and its interval."""
        games, n = self.tallies.get((packed, number), NONE).games, self.went_on[number]
        if not n:
            return None, None, None
        return games / n, *_ends(wilson(games, n, self.design(packed, number)))

    def design(self, packed: int, number: int) -> float:
        """The design effect of a reply's share in a group that somebody went on in."""
        games = self.tallies.get((packed, number), NONE).games
        by = self.players.replies.get((packed, number), NOBODY)
        n, everybody = self.went_on[number], self.players.went_on[number]
        return design_effect(games, n, by.kk, by.kn, self.players.nn[number], everybody)


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
