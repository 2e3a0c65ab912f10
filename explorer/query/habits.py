"""`habits`: whether players do what teachers preach, by level, and one player beside the others."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from explorer.numbers.discovery import POINTS
from explorer.numbers.multiple import benjamini_hochberg
from explorer.numbers.trend import SIGNIFICANT, linear_trend
from explorer.query.filters import Filters
from explorer.query.groups import label_of, parted, rows_of_levels
from explorer.query.habit_groups import Group, apart
from explorer.query.habit_rules import MATED, NOT_ASKED, RULES, Marks, Rule
from explorer.query.habit_sides import Sides, sides_of
from explorer.query.habits_model import Habit, HabitLevel, HabitsAnswer, Own
from explorer.query.library import Facts, Library
from explorer.query.mistake_model import NO_DIFFERENCE, Difference
from explorer.query.model import LevelCount, TrendOver
from explorer.query.sides import no_games, source_of_games
from explorer.query.visits import Flags, Ints
from explorer.query.where import of_games, player_id
from ingest.errors import NothingFound
from ingest.levels import bands


def habits(
    library: Library, filters: Filters, player: str | Sequence[str] | None = None
) -> HabitsAnswer:
    """Habits of the chosen sides of all games from the normal start.

    ``filters.levels`` speak of the players whose habits they are, ``filters.side`` of their
    colour. ``player``, in any spelling, is set beside the others of the level at which most of
    that player's chosen games are; several names are one player. NothingFound when no game
    passes the filters, or none of that player.
    """
    names = (player,) if isinstance(player, str) else tuple(player or ())
    with library.reading() as (cursor, facts):
        chosen = of_games(cursor, facts, filters)
        numbers = [player_id(cursor, name) for name in names]
        source = source_of_games(cursor, facts, filters, chosen)
        sides = sides_of(cursor, chosen, filters)
        if sides is None:
            raise no_games(cursor, facts, source)
    number = numbers[0] if numbers else None
    sides = sides.joined(numbers)
    if number is not None and number not in sides.player:
        raise NothingFound(
            f"player {names[0]!r}: no game of theirs passes the filters; loosen them"
        )
    table = _table(sides, facts, filters, number)
    level = None if table.own is None else bands(filters.cuts)[table.own[1]].label
    return HabitsAnswer(
        filters=filters,
        source=source,
        games=sides.games,
        players=sides.players,
        levels=tuple(_counts(sides, filters.cuts)),
        habits=tuple(_adjusted([*map(table.habit, RULES, sides.seen)])),
        player=names[0] if names else None,
        player_level=level,
        player_games=0 if number is None else int(np.count_nonzero(sides.player == number)),
    )


def _counts(sides: Sides, cuts: Sequence[int]) -> list[LevelCount]:
    """How many sides are at each level."""
    levels = bands(tuple(cuts))
    games = np.bincount(sides.level, minlength=len(levels)).tolist()
    return [
        LevelCount(level.label, level.low, level.high, number, apart=not level.rated)
        for level, number in zip(levels, games, strict=True)
    ]


def _table(sides: Sides, facts: Facts, filters: Filters, number: int | None) -> _Table:
    levels = len(filters.cuts) + 2
    keys, group = np.unique(sides.person * levels + sides.level, return_inverse=True)
    person = keys // levels
    named = np.zeros(int(person.max()) + 1, np.bool_)
    named[sides.person] = sides.player >= 0
    own = None
    if number is not None:
        rows = sides.player == number
        own = int(sides.person[rows][0]), int(np.bincount(sides.level[rows]).argmax())
    compared, over = sides.over(facts)
    starts = np.flatnonzero(np.diff(person, prepend=-1))
    groups = group, person, starts, named[person], keys % levels
    return _Table(sides, filters, *groups, sides.ratings(levels - 1), compared, over, own)


@dataclass(frozen=True, slots=True)
class _Table:
    """The sides, and their groups by player and level: ``group`` is that of each side.

    ``starts`` is where the groups of each player begin, ``ratings`` the mean rating at each
    rated level. ``compared`` and ``over`` as `Sides.over` gives them. ``own`` has the person
    looked at and the number of that player's level.
    """

    sides: Sides
    filters: Filters
    group: Ints
    person: Ints
    starts: Ints
    named: Flags
    level: Ints
    ratings: Sequence[float]
    compared: Flags
    over: NDArray[np.float64]
    own: tuple[int, int] | None

    def habit(self, rule: Rule, seen: Marks) -> Habit:
        rows = rows_of_levels(self.filters.cuts)
        each = self._group(rule, seen)
        groups = [
            each.joined(self.starts) if n is None else each.at(self.level == n) for n, _ in rows
        ]
        levels = tuple(
            HabitLevel(**label_of(level), **group.told())
            for group, (_, level) in zip(groups, rows, strict=True)
        )
        return Habit(
            id=rule.id,
            words=rule.words,
            definition=rule.definition,
            wanted=rule.wanted,
            moves=rule.moves,
            levels=levels,
            score=self._score(seen, levels[-1]) if rule.scored else NO_DIFFERENCE,
            trend=self._trend(groups, levels),
            own=self._own(each, *self.own) if self.own else None,
        )

    def _group(self, rule: Rule, seen: Marks) -> Group:
        value = np.maximum(seen, 0)
        marked = (seen != NOT_ASKED, value, value * value, seen == MATED)
        added = [np.bincount(self.group, column, len(self.person)) for column in marked]
        columns = (column.astype(np.int64) for column in added)
        return Group(rule.pieces, self.named, *columns)

    def _score(self, seen: Marks, whole: HabitLevel) -> Difference:
        """Of those that have the habit less that of those that have it not."""
        bound = whole.mean.value if whole.mean and whole.mean.value else 0.0
        seen = seen[self.compared]
        rows = seen >= 0
        person = self.sides.person[self.compared][rows]
        return parted(person, self.over[rows], seen[rows] > bound, POINTS)

    def _trend(self, groups: Sequence[Group], levels: Sequence[HabitLevel]) -> TrendOver:
        """Over the rated levels with enough games and players, by their mean ratings."""
        rated = range(len(self.filters.cuts) + 1)
        enough = [n for n in rated if not levels[n].found.few]
        sums = [groups[n].sums for n in enough]
        found = linear_trend(
            [total for total, _, _ in sums],
            [games for _, games, _ in sums],
            [squares for _, _, squares in sums],
            [self.ratings[n] for n in enough],
            [groups[n].design for n in enough],
        )
        if found is None:
            return TrendOver("none", None, len(enough))
        return TrendOver(found.direction, found.p, len(enough))

    def _own(self, each: Group, person: int, number: int) -> Own:
        """The player beside the others of that level."""
        own, level = self.person == person, bands(self.filters.cuts)[number]
        mine, others = each.at(own), each.at(~own & (self.level == number))
        return Own(
            **mine.told_alone(),
            others=HabitLevel(**label_of(level), **others.told()),
            difference=apart(mine, others),
        )


def _adjusted(habits: Sequence[Habit]) -> list[Habit]:
    """The habits with p-values that stand beside so many tests (Benjamini-Hochberg)."""
    trends = _adjust([habit.trend.p for habit in habits])
    owns = _adjust([habit.own.difference.p if habit.own else None for habit in habits])
    return [
        replace(
            habit,
            trend=replace(habit.trend, p=p, direction=_direction(habit.trend, p)),
            own=habit.own and replace(habit.own, difference=replace(habit.own.difference, p=own)),
        )
        for habit, p, own in zip(habits, trends, owns, strict=True)
    ]


def _adjust(ps: Sequence[float | None]) -> list[float | None]:
    given = np.array([np.nan if p is None else p for p in ps])
    return [None if np.isnan(p) else p for p in benjamini_hochberg(given).tolist()]


def _direction(trend: TrendOver, p: float | None) -> str:
    return trend.direction if p is not None and p < SIGNIFICANT else "none"
