"""Sums over the players at a position: what the design effects are made of.

Players come back, so that games are no separate cases. The visits are put in
order of player, move and group; what belongs together then stands together.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from explorer.numbers.expectation import PARTS, WIDEST
from explorer.query.here import UNKNOWN, Flags, Here, Ints
from explorer.query.tallies import ALL

HALF = PARTS // 2
MOST_SEATS = 2**22  # of a table of players by groups that is mostly empty


@dataclass(frozen=True, slots=True)
class Cluster:
    """Sums over the players of one reply, in one group or in all.

    For player j: k games with the reply, n games that went on with any reply,
    m games with a known result and h half points in them, r games that can be
    compared with an expectation and d the sum of (score - expected) in them, in
    1 / PARTS. ``kk`` is the sum of k * k over the players, and so on;
    ``compared``, ``over`` and ``squares`` are the sums of r, of d and, over
    games, of the squared differences. ``known_players`` and
    ``compared_players`` are those with m and r above 0; ``top`` is the largest
    k of a named player.
    """

    players: int = 0
    known_players: int = 0
    compared_players: int = 0
    top: int = 0
    kk: int = 0
    kn: int = 0
    hh: int = 0
    hm: int = 0
    mm: int = 0
    compared: int = 0
    over: int = 0
    squares: int = 0
    dd: int = 0
    dr: int = 0
    rr: int = 0


NOBODY = Cluster()


@dataclass(slots=True)
class Players:
    """The players at a position.

    ``replies`` is keyed as `tallies.tallies_of` does; in a group only ``players``,
    ``kk`` and ``kn`` are made. ``went_on`` has the players with a move from here, by
    group (ALL: in any), and ``nn`` the sums of their n * n.
    """

    all: int
    replies: dict[tuple[int, int], Cluster] = field(default_factory=dict)
    went_on: dict[int, int] = field(default_factory=dict)
    nn: dict[int, int] = field(default_factory=dict)

    def in_groups_of(self, other: Players) -> Players:
        """These players as a whole, and the others by group."""
        whole = {place: cluster for place, cluster in self.replies.items() if place[1] == ALL}
        return Players(
            all=self.all,
            replies=other.replies | whole,
            went_on=other.went_on | {ALL: self.went_on[ALL]},
            nn=other.nn | {ALL: self.nn[ALL]},
        )


def players_of(here: Here, curve: Sequence[int]) -> Players:
    """The sums over players at a position; ``curve`` is `Facts.curve` of the mover."""
    groups = _Groups(here)
    found = Players(all=groups.everybody)
    _add_groups(found, here, groups)
    _add_whole(found, here, groups, np.array(curve, np.int32))
    return found


class _Groups:
    """The visits with a move, in order of player, move and group.

    ``starts`` is where each group of one player, move and group begins; ``person`` (from
    0), ``cell`` (as in `Here`) and ``k``, the number of visits, are those of the groups.
    """

    def __init__(self, here: Here) -> None:
        high, low = here.player >> np.uint32(16), here.player & np.uint32(0xFFFF)
        # Numbers of 16 bits are sorted by radix: five times as fast as whole ones.
        order = np.lexsort((here.cell, low.astype(np.uint16), high.astype(np.uint16)))
        player, cell = here.player[order], here.cell[order]
        self.everybody = int(np.count_nonzero(_begins(player)))
        if here.moves[:1] == [0]:
            goes_on = cell >= len(here.groups)
            order, player, cell = order[goes_on], player[goes_on], cell[goes_on]
        self.order: Ints = order
        first = _begins(player)
        self.starts = np.flatnonzero(first | _begins(cell))
        self.person: Ints = np.cumsum(first)[self.starts] - 1
        self.cell: Ints = cell[self.starts].astype(np.int64)
        self.k = np.diff(np.append(self.starts, len(order)))


def _begins(values: NDArray[Any]) -> Flags:
    """True where a value differs from the one before it."""
    return np.concatenate(([True], values[1:] != values[:-1]))[: len(values)]


def _add_groups(found: Players, here: Here, groups: _Groups) -> None:
    """Fill in each group."""
    k, width = groups.k, len(here.groups)
    n, went_on, nn = _by_person(groups, width)
    found.went_on.update(enumerate(went_on.tolist()))
    found.nn.update(enumerate(nn.tolist()))
    cells = len(here.moves) * width
    sums = _summed(groups.cell, cells, players=k > 0, kk=k * k, kn=k * n)
    for cell, cluster in sums.items():
        found.replies[here.moves[cell // width], cell % width] = cluster


def _by_person(groups: _Groups, width: int) -> tuple[Ints, Ints, Ints]:
    """At each stretch its player's n in its group; by group the players and the sum of n * n."""
    seat = groups.person * width + groups.cell % width
    people = int(groups.person.max(initial=-1)) + 1
    if people * width <= MOST_SEATS:
        n = np.bincount(seat, groups.k, people * width).astype(np.int64)
        table = n.reshape(people, width)
        return n[seat], np.count_nonzero(table, axis=0), (table * table).sum(axis=0)
    seats, seat = np.unique(seat, return_inverse=True)
    n = np.bincount(seat, groups.k).astype(np.int64)
    nn = np.bincount(seats % width, n * n, width).astype(np.int64)
    return n[seat], np.bincount(seats % width, minlength=width), nn


def _add_whole(found: Players, here: Here, groups: _Groups, curve: NDArray[np.int32]) -> None:
    """Fill in what holds for all levels together."""
    move = groups.cell // len(here.groups)
    first = np.flatnonzero(_begins(groups.person) | _begins(move))
    person, move = groups.person[first], move[first]
    k, n = _parts(groups.k, first), np.bincount(groups.person, groups.k).astype(np.int64)
    found.went_on[ALL], found.nn[ALL] = len(n), int((n * n).sum())
    rows = groups.starts[first]
    m, h, r, d, squares = (_parts(values[groups.order], rows) for values in _results(here, curve))
    named = here.named[groups.order[rows]]
    top = np.zeros(len(here.moves), np.int64)
    np.maximum.at(top, move, np.where(named, k, 0))
    sums = _summed(
        move,
        len(here.moves),
        players=k > 0,
        known_players=m > 0,
        compared_players=r > 0,
        kk=k * k,
        kn=k * n[person],
        hh=h * h,
        hm=h * m,
        mm=m * m,
        compared=r,
        over=d,
        squares=squares,
        dd=d * d,
        dr=d * r,
        rr=r * r,
    )
    for number, cluster in sums.items():
        found.replies[here.moves[number], ALL] = replace(cluster, top=int(top[number]))


def _results(here: Here, curve: NDArray[np.int32]) -> list[NDArray[Any]]:
    """Of each visit: whether its result is known, its half points, whether it can be compared,
    the score minus the expected one in 1 / PARTS, and that squared."""
    known = here.points != UNKNOWN
    compared = known & (here.rating > 0) & (here.opponent > 0)
    difference = here.rating.astype(np.int32) - here.opponent
    expected = curve[np.clip(difference, -WIDEST, WIDEST) + WIDEST]
    over = np.where(compared, HALF * here.points.astype(np.int64) - expected, 0)
    return [known, np.where(known, here.points, 0), compared, over, over * over]


def _parts(values: NDArray[Any], starts: Ints) -> Ints:
    """The sums of the stretches that begin at ``starts``."""
    if not len(starts):
        return np.zeros(0, np.int64)
    sums: Ints = np.add.reduceat(values, starts, dtype=np.int64)
    return sums


def _summed(group: Ints, size: int, **columns: NDArray[Any]) -> dict[int, Cluster]:
    """The clusters of the groups that have players. Whole numbers below 2 ** 53."""
    sums = [np.bincount(group, column, size).astype(int).tolist() for column in columns.values()]
    return {
        place: Cluster(**dict(zip(columns, values, strict=True)))
        for place, values in enumerate(zip(*sums, strict=True))
        if values[0]
    }
