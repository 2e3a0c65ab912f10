"""`plans`: what both sides do next after a position, at a level and beside a model level."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import combinations

import chess
import numpy as np

from explorer.numbers.multiple import benjamini_hochberg
from explorer.positions.position import Position
from explorer.query.carried_out import CODES, CarriedOut, Done, kind_of, sharper
from explorer.query.filters import Filters
from explorer.query.groups import change, label_of, rows_of_levels
from explorer.query.library import Library
from explorer.query.model import FEW_GAMES
from explorer.query.origin import facts_of, nothing_found, source_of
from explorer.query.plans_model import Pair, Plan, PlanLevel, PlansAnswer, SidePlans
from explorer.query.players_of import NEVER, Players, p_of_change, players_of
from explorer.query.visits import Flags, Ints, visits_at
from explorer.query.where import where
from explorer.query.windows import windows_after
from ingest.errors import NothingFound
from ingest.levels import Level

TOP = 12  # plans of a side that are listed
LEAST_SHARE = 0.01  # of the games, for a plan to be listed
DRAWN = 8  # of these, the commonest, among which it is said which comes first
ONE_WAY = 0.99  # of the games: so nearly always in one order that it says nothing
NEARLY = 0.9  # of the times of a move, for a pin or break to be listed in its place
PAIRS = 12  # pairs of them that are listed


def plans(
    library: Library,
    position: Position,
    filters: Filters,
    model_level: Level | None = None,
    within_moves: int = 8,
) -> PlansAnswer:
    """What White and Black do in the next ``within_moves`` moves of each, in any order.

    ``filters.levels`` speak of the player whose plan it is, ``filters.opponents`` of the
    other one; the model level stands in place of both. Listed are the ``filters.top``
    commonest plans with ``filters.min_games`` games and 1 % of all, and those of the model's
    eight commonest that are not among them; a plain move that is a pin or a break in nine
    of ten games stands there as such only. NothingFound when no game that passes the filters
    reached the position, or none went on for so long.
    """
    with library.reading() as (cursor, facts):
        everybody = replace(filters, levels=(), opponents=())
        chosen = where(cursor, facts, everybody)
        visits = visits_at(cursor, position, chosen)
        windows = windows_after(cursor, position, visits, chosen, 2 * within_moves)
        sides = players_of(position, facts, visits, windows, filters, model_level)
        if not any(side.reached for side in sides):
            raise nothing_found(cursor, facts, position, where(cursor, facts, filters))
        source = source_of(cursor, facts, position, everybody, chosen)
    if not any(side.here.any() for side in sides):
        raise _none_lasted(position, max(side.reached for side in sides), within_moves)
    carried_out = CarriedOut(position.board(), windows.moves)
    found = [_Listing(side, i, carried_out, filters) for i, side in enumerate(sides)]
    whites_first = found if position.to_move == "white" else found[::-1]
    return PlansAnswer(
        position=facts_of(position),
        filters=filters,
        source=source,
        within_moves=within_moves,
        model=model_level,
        sides=_adjusted([listing.answer() for listing in whites_first]),
    )


def _none_lasted(position: Position, reached: int, within: int) -> NothingFound:
    here = position.numbered or "the starting position"
    games = "1 game" if reached == 1 else f"{reached:,} games"
    return NothingFound(
        f"{here}: {games} reached it, but none goes on for {within} more moves of each side; "
        "ask about fewer with --within-moves"
    )


class _Listing:
    """The plans of one side that are listed, and what is said of them."""

    def __init__(
        self, players: Players, side: int, carried_out: CarriedOut, filters: Filters
    ) -> None:
        self.players, self.filters = players, filters
        own, model = (carried_out.games(side, who) for who in (players.here, players.model))
        self.codes = _common(own, int(players.here.sum()), filters)[: filters.top or TOP]
        looked_up = _common(model, int(players.model.sum()), filters)[:DRAWN]
        more = [code for code in looked_up if code not in self.codes]
        self.codes += sorted(more, key=lambda code: -own[code])
        every = np.count_nonzero((own > 0) & ~_said_better(own))
        self.left_out = int(every) - sum(bool(own[code]) for code in self.codes)
        self.done = carried_out.of(side, self.codes)

    def answer(self) -> SidePlans:
        """Everything about this side."""
        players = self.players
        pairs = sorted(self._pairs(), key=lambda pair: -pair.order.games)
        return SidePlans(
            side=players.side,
            reached=players.reached,
            games=int(players.here.sum()),
            players=players.people(players.here),
            model_games=int(players.model.sum()) if players.modelled else None,
            model_players=players.people(players.model) if players.modelled else None,
            plans=tuple(self._plan(code) for code in self.codes),
            plans_left_out=self.left_out,
            pairs=tuple(pairs[:PAIRS]),
            pairs_left_out=len(pairs[PAIRS:]),
        )

    def _plan(self, code: int) -> Plan:
        players, done = self.players, self.done.of(code)
        ply = players.times(done.game, done.ply)
        here, counted = players.figures(players.here, ply)
        model = difference = None
        if players.modelled:
            model, there = players.figures(players.model, ply)
            difference = replace(change(counted, there), p=p_of_change(counted, there))
        return Plan(
            **kind_of(code),
            path=_path(done, players.here if here.rate.cases else players.model),
            here=here,
            model=model,
            change=difference,
            levels=tuple(
                PlanLevel(**label_of(level), rate=players.rate_at(number, ply))
                for number, level in rows_of_levels(self.filters.cuts)[:-1]
                if number is not None
            ),
        )

    def _pairs(self) -> Iterator[Pair]:
        """Pairs of the commonest plans that came in enough games, mostly on different moves.

        Not those that nearly always come in one order: the rules make most of them so.
        """
        players = self.players
        times = []
        for code in self.codes[:DRAWN]:
            done = self.done.of(code)
            times.append(players.times(done.game, done.ply))
        for i, j in combinations(range(len(times)), 2):
            one, two = times[i], times[j]
            both = players.here & (one != NEVER) & (two != NEVER)
            apart, sooner = both & (one != two), one < two
            if apart.sum() < FEW_GAMES or 2 * apart.sum() < both.sum():
                continue
            if 2 * (sooner & apart).sum() < apart.sum():
                i, j, sooner = j, i, ~sooner
            if (sooner & apart).sum() <= ONE_WAY * apart.sum():
                yield Pair(i, j, players.rate(apart, sooner).rate)


def _common(seen: Ints, games: int, filters: Filters) -> list[int]:
    """The plans that are common enough to be listed, the commonest first."""
    least = max(filters.min_games, LEAST_SHARE * games)
    codes = np.flatnonzero((seen >= least) & ~_said_better(seen))
    return [int(code) for code in codes[np.argsort(-seen[codes], kind="stable")]]


def _said_better(seen: Ints) -> Flags:
    """The plain moves that nearly always are the pin or the break on that square."""
    better = sharper(np.arange(CODES))
    return np.asarray((better >= 0) & (seen > 0) & (seen[better] >= NEARLY * seen))


def _path(done: Done, which: Flags) -> str:
    """The commonest way to the plan: ``g1f3``."""
    here = which[done.game]
    ways, counts = np.unique(
        64 * done.start[here].astype(int) + done.goal[here], return_counts=True
    )
    way = int(ways[counts.argmax()])
    return chess.square_name(way // 64) + chess.square_name(way % 64)


def _adjusted(sides: list[SidePlans]) -> tuple[SidePlans, ...]:
    """The sides with the p of each change adjusted for all plans listed."""
    ps = [plan.change.p if plan.change else None for side in sides for plan in side.plans]
    adjusted = iter(benjamini_hochberg([np.nan if p is None else p for p in ps]).tolist())
    return tuple(
        replace(
            side,
            plans=tuple(_with_p(plan, p) for plan, p in zip(side.plans, adjusted, strict=False)),
        )
        for side in sides
    )


def _with_p(plan: Plan, p: float) -> Plan:
    if plan.change is None or plan.change.p is None:
        return plan
    return replace(plan, change=replace(plan.change, p=p))
