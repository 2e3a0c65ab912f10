"""`costly`: which replies do worse than the others at their position, and what that costs."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import islice
from math import inf

import numpy as np
from duckdb import DuckDBPyConnection

from explorer.numbers.discovery import FEWEST_GAMES, by_many, discover, eligible, large
from explorer.positions.position import Position
from explorer.query.compared import Compared
from explorer.query.costly_rows import Findings, describe
from explorer.query.filters import Filters
from explorer.query.groups import Counted, change
from explorer.query.library import Facts, Library
from explorer.query.mistake_model import CompareAnswer, CostlyAnswer, Outgrown
from explorer.query.model import TELLING_SWING
from explorer.query.occurring import each_in_all_games
from explorer.query.origin import facts_of, nothing_found, reached, source_of
from explorer.query.pairs import put_pairs, shares_at
from explorer.query.subtree import Subtree, choose_popular
from explorer.query.sums import sums_of
from explorer.query.where import where
from ingest.errors import UsageError
from ingest.levels import Level

MIN_GAMES = 50
FALSE_ALARMS = 5.0  # per cent
AT_LEAST = 2.0  # points in 100 games with the reply
SHOWN = 20


@dataclass(frozen=True, slots=True)
class _Asked:
    """What is looked for under a position; ``side`` None is either side's moves."""

    position: Position
    filters: Filters
    side: str | None
    to_move: int
    min_games: int
    false_alarms: float
    at_least: float


def costly(
    library: Library,
    position: Position,
    filters: Filters,
    side: str | None = None,
    to_move: int = 8,
    min_games: int = MIN_GAMES,
    false_alarms: float = FALSE_ALARMS,
    top: int = SHOWN,
    at_least: float = AT_LEAST,
) -> CostlyAnswer:
    """The costly replies of one side (None: either) at the position and up to move ``to_move``.

    ``filters.levels`` are those of the player who errs. Looked at are replies with
    ``min_games`` games; ``false_alarms`` is the share of false findings to put up with, in per
    cent. Of what is found only that is shown which costs ``at_least`` points in 100 games with
    the reply or, by material, TELLING_SWING pawns; 0 shows all. UsageError when the
    position comes later, NothingFound when no game that passes the filters goes on from it.
    """
    asked = _Asked(position, filters, side, to_move, min_games, false_alarms, at_least)
    with library.reading() as (cursor, facts):
        findings = _find(cursor, facts, asked)
        return _answer(cursor, facts, asked, findings, _ranked(cursor, findings), top)


def compare(
    library: Library,
    position: Position,
    filters: Filters,
    lower: Level,
    higher: Level,
    side: str | None = None,
    to_move: int = 8,
    min_games: int = MIN_GAMES,
    false_alarms: float = FALSE_ALARMS,
    top: int = SHOWN,
    at_least: float = AT_LEAST,
) -> CompareAnswer:
    """What players of the lower level get wrong that those of the higher one no longer do.

    The costly replies of the lower level (in place of ``filters.levels``), and of these the
    ones that the higher level chooses significantly less, the most costly first. Errors
    as of `costly`.
    """
    filters = replace(filters, levels=(lower,))
    asked = _Asked(position, filters, side, to_move, min_games, false_alarms, at_least)
    with library.reading() as (cursor, facts):
        findings = _find(cursor, facts, asked)
        ranked = _ranked(cursor, findings)
        answer = _answer(cursor, facts, asked, findings, ranked, top)
        outgrown = _outgrown(cursor, facts, findings, ranked, higher, top)
    return CompareAnswer(lower.label, higher.label, answer, outgrown)


def _find(cursor: DuckDBPyConnection, facts: Facts, asked: _Asked) -> Findings:
    filters = asked.filters
    subtree = Subtree(asked.position, 2 * asked.to_move, where(cursor, facts, filters))
    popular = choose_popular(cursor, subtree, asked.side, asked.min_games, FEWEST_GAMES)
    if not len(popular.key):
        _refuse_if_nothing(cursor, facts, asked, subtree)
    compared = Compared(cursor, facts, subtree, popular, filters.cuts)
    sums = sums_of(compared.visits(), min(asked.min_games, FEWEST_GAMES))
    candidates = eligible(sums.games, sums.players, sums.others, asked.min_games)
    tested = candidates & by_many(sums.games, sums.kk, sums.top)
    tested &= by_many(sums.others, sums.others_kk, sums.other_top)
    discovery = discover(sums.results, sums.material, tested, asked.false_alarms)
    anyone = where(cursor, facts, replace(filters, levels=()))
    return Findings(
        subtree=subtree,
        anyone=replace(subtree, where=anyone),
        filters=filters,
        popular=popular,
        sums=sums,
        candidates=int(np.count_nonzero(candidates)),
        discovery=discovery,
        large=large(discovery, asked.at_least, TELLING_SWING if asked.at_least else 0),
    )


def _refuse_if_nothing(
    cursor: DuckDBPyConnection, facts: Facts, asked: _Asked, subtree: Subtree
) -> None:
    """Say why, when there are no moves to look at."""
    sql = f"SELECT 1 FROM ({subtree.visits}) LIMIT 1"
    if cursor.execute(sql, subtree.params).fetchone():
        return
    position, chosen_visits = asked.position, subtree.where
    if reached(cursor, position.key, chosen_visits):
        raise UsageError(
            f"--to-move {asked.to_move}: {position.numbered or position.fen} comes later, or no "
            "game goes on from there; write a higher number or an earlier position"
        )
    raise nothing_found(cursor, facts, position, chosen_visits)


def _ranked(cursor: DuckDBPyConnection, findings: Findings) -> dict[int, Counted]:
    """What was found and is shown, most costly first, with its rate in all games.

    What cannot be compared with expected scores comes last.
    """
    rows = np.flatnonzero(findings.shown)
    put_pairs(cursor, [findings.pair(row) for row in rows.tolist()])
    everywhere = each_in_all_games(cursor, findings.subtree)
    lost = {}
    for row, counted in zip(rows.tolist(), everywhere, strict=True):
        share, cost = counted.rate.share, findings.cost(row).value
        lost[row] = -inf if share is None or cost is None else -share * cost
    rates = dict(zip(rows.tolist(), everywhere, strict=True))
    return {row: rates[row] for row in sorted(rates, key=lambda row: (-lost[row], row))}


def _answer(
    cursor: DuckDBPyConnection,
    facts: Facts,
    asked: _Asked,
    findings: Findings,
    ranked: dict[int, Counted],
    top: int,
) -> CostlyAnswer:
    everybody = replace(asked.filters, levels=(), opponents=())
    shown = dict(islice(ranked.items(), top))
    return CostlyAnswer(
        position=facts_of(asked.position),
        filters=asked.filters,
        source=source_of(
            cursor, facts, asked.position, asked.filters, where(cursor, facts, everybody)
        ),
        side=asked.side,
        to_move=asked.to_move,
        false_alarms=asked.false_alarms,
        candidates=findings.candidates,
        tests=findings.discovery.tests,
        could_show=findings.discovery.could_show,
        found=describe(cursor, facts, findings, shown),
        found_left_out=len(ranked) - len(shown),
        at_least=asked.at_least,
        too_small=int(np.count_nonzero(findings.costly & ~findings.large)),
    )


def _outgrown(
    cursor: DuckDBPyConnection,
    facts: Facts,
    findings: Findings,
    ranked: dict[int, Counted],
    higher: Level,
    top: int,
) -> tuple[Outgrown, ...]:
    """The findings that the higher level chooses less, where the whole interval says so."""
    of_higher = where(cursor, facts, replace(findings.filters, levels=(higher,)))
    if not ranked:
        return ()
    pairs = {row: findings.pair(row) for row in ranked}
    put_pairs(cursor, list(pairs.values()))
    above = replace(findings.subtree, where=of_higher)
    played = shares_at(cursor, above, list(pairs.values()))
    changes = {}
    for row, pair in pairs.items():
        counted = played.rate_at(pair.position, pair.reply)
        less = change(counted, findings.sums.rate(row))
        if less.high is not None and less.high < 0 and not less.few:
            changes[row] = counted.rate, less
    shown = {row: ranked[row] for row in islice(changes, top)}
    rows = describe(cursor, facts, findings, shown)
    return tuple(Outgrown(row, *changes[number]) for number, row in zip(shown, rows, strict=True))
