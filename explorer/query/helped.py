"""Did it help? A class before and after a day, beside others of its levels over the same dates."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from duckdb import DuckDBPyConnection

from explorer.query.groups import beyond, change, counted
from explorer.query.mistake_model import BeforeAfter, Helped
from explorer.query.visits import NO_DAY, Flags, Ints, Visits, levels_of
from ingest.errors import NothingFound
from ingest.tags import same_name

EPOCH = date(1970, 1, 1)


@dataclass(frozen=True, slots=True)
class Members:
    """A class in the library: each player's number -> the member's, from 0."""

    since: date
    numbers: dict[int, int]
    not_found: tuple[str, ...]


def members_of(cursor: DuckDBPyConnection, before_after: BeforeAfter) -> Members:
    """Look the class up, in any spelling. NothingFound when the library knows none of it."""
    spelt = {
        same_name(name): number for number, names in enumerate(before_after.names) for name in names
    }
    rows = cursor.execute(
        "SELECT id, same FROM players WHERE same IN (SELECT unnest($1))", [sorted(spelt)]
    ).fetchall()
    numbers = {player: spelt[same] for player, same in rows}
    known = set(numbers.values())
    missing = tuple(n[0] for number, n in enumerate(before_after.names) if number not in known)
    if not numbers:
        raise NothingFound(
            f"class: the library knows none of {', '.join(missing) or 'nobody'}; "
            "check how the names are spelt in it"
        )
    return Members(before_after.since, numbers, missing)


@dataclass(frozen=True, slots=True)
class Turned:
    """What the class may do (``what``): the visits where it can, ``cases`` where it did."""

    what: str
    visits: Visits
    cases: Flags


def helped(turned: Turned, cuts: Sequence[int], members: Members) -> Helped:
    """How often the class and the others did it, before the day and from it on."""
    visits, cases = turned.visits, turned.cases
    member = _member_of(visits, members)
    own = member >= 0
    person = np.where(own, visits.person.max(initial=0) + 1 + member, visits.person)
    dated = own & (visits.day != NO_DAY)
    beside = _others(visits, dated, levels_of(visits.rating, cuts)) & ~own
    late = visits.day >= (members.since - EPOCH).days
    groups = (dated & ~late, dated & late, beside & ~late, beside & late)
    named, one = visits.player >= 0, np.ones_like(person)
    rates = [counted(person[g], named[g], cases[g], one[g]) for g in groups]
    changed, changed_others = change(rates[1], rates[0]), change(rates[3], rates[2])
    return Helped(
        what=turned.what,
        since=members.since,
        class_before=rates[0].rate,
        class_after=rates[1].rate,
        others_before=rates[2].rate,
        others_after=rates[3].rate,
        change=changed,
        change_others=changed_others,
        beyond=beyond(changed, changed_others),
        undated=int(np.count_nonzero(own & ~dated)),
        not_found=members.not_found,
    )


def _member_of(visits: Visits, members: Members) -> Ints:
    """The number of the member who moves, -1 for anybody else."""
    found = np.full(len(visits), -1)
    for player, number in members.numbers.items():
        found[visits.player == player] = number
    return found


def _others(visits: Visits, own: Flags, level: Ints) -> Flags:
    """The visits at the levels and between the days of the class's own."""
    if not own.any():
        return own
    days = visits.day[own]
    at_that_time = (visits.day >= days.min()) & (visits.day <= days.max())
    return np.asarray(at_that_time & np.isin(level, level[own]))
