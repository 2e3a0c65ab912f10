"""Taught moves that do worse than another popular move of players at the student's level."""

from __future__ import annotations

from collections.abc import Iterator

import chess
import numpy as np
from duckdb import DuckDBPyConnection
from numpy.typing import NDArray

from explorer.numbers.discovery import POINTS, TwoGroups
from explorer.numbers.multiple import benjamini_hochberg
from explorer.numbers.welch import alike, welch
from explorer.positions.lesson import Lesson, Place
from explorer.query.costly_rows import difference
from explorer.query.favoured import enough, moves_at
from explorer.query.filters import Filters
from explorer.query.holes import of_students
from explorer.query.lesson_model import Outscored
from explorer.query.library import Facts
from explorer.query.moves import pack, unpack
from explorer.query.reach import Reach
from explorer.query.sums import Sums, at

LEAST_IN_100 = 0.1  # positions that arise less often are not looked at
POPULAR = 0.05  # share of the games at the position
FALSE_ALARMS = 0.05

Pairs = NDArray[np.int64]  # a row for each test: taught, other; rows of the sums


def outscored(
    cursor: DuckDBPyConnection, facts: Facts, lesson: Lesson, found: Reach, filters: Filters
) -> tuple[Outscored, ...]:
    """Where the lesson's move scores worse against expectation than another popular one.

    Each taught move is tested against each other one with POPULAR share and enough games
    (Welch's test, one-sided); Benjamini-Hochberg over all tests. Of several better moves the
    commonest is told. Those that cost most points in all games come first.
    """
    places = [
        place
        for place in lesson.taught
        if 100 * found.run.reach(place.key) >= LEAST_IN_100
    ]  # fmt: skip
    if not places:
        return ()
    keys = [place.key for place in places]
    sums = moves_at(cursor, facts, keys, of_students(filters), white=lesson.side == "white")
    pairs = np.array(list(_pairs(sums, places)), np.int64).reshape(-1, 2)
    results = sums.results.reply
    groups = TwoGroups(*alike(at(results, pairs[:, 0]), at(results, pairs[:, 1])))
    test = welch(*groups, POINTS)
    worse = (benjamini_hochberg(test.p_less) <= FALSE_ALARMS) & (test.high < 0)
    rows = []
    for number, place in enumerate(places):
        better = np.flatnonzero(worse & (sums.number[pairs[:, 0]] == number))
        if len(better):
            commonest = int(better[int(sums.games[pairs[better, 1]].argmax())])
            own, other = pairs[commonest].tolist()
            rows.append(
                Outscored(
                    line=place.numbered,
                    fen=place.fen,
                    taught=place.taught.san if place.taught else "",
                    other=chess.Board(place.fen).san(unpack(int(sums.move[other]))),
                    games=int(sums.games[own]),
                    other_games=int(sums.games[other]),
                    difference=difference(test, groups, commonest),
                    in_100=100 * found.run.reach(place.key),
                )
            )
    return tuple(sorted(rows, key=lambda row: row.in_100 * (row.difference.value or 0.0)))


def _pairs(sums: Sums, places: list[Place]) -> Iterator[tuple[int, int]]:
    able = enough(sums)
    popular = able & (sums.games >= POPULAR * sums.went_on)
    for number, place in enumerate(places):
        uci = place.taught.uci if place.taught else ""
        taught = sums.row(number, pack(chess.Move.from_uci(uci)))
        if taught is not None and able[taught]:
            for other in np.flatnonzero(popular & (sums.number == number)).tolist():
                if other != taught:
                    yield taught, other
