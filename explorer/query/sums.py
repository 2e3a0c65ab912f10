"""Games at many positions at once, by reply: sums over games and over players, made in SQL."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from duckdb import DuckDBPyConnection
from numpy.typing import NDArray

from explorer.numbers.clusters import design_effect, mean_designs
from explorer.numbers.discovery import TwoGroups
from explorer.numbers.expectation import PARTS
from explorer.numbers.intervals import wilson
from explorer.numbers.welch import Sample
from explorer.query.groups import Counted
from explorer.query.mistake_model import Rate

Floats = NDArray[np.float64]

HEAVY = 10  # games of one player at one position: fewer are no third of any 30


@dataclass(frozen=True, eq=False, slots=True)
class Sums:
    """One entry a reply, in order of position and reply; ``number`` names the position.

    ``games`` have the reply, by ``players``, of whom a named one has at most ``top``,
    and at most ``other_top`` with other replies (0: fewer than HEAVY). ``mated`` games end
    with the mover mated within the window. ``went_on`` games by ``went_on_players``
    have any reply. ``kk``, ``kn`` and ``nn`` are sums over
    players as in `numbers.clusters`. ``results`` (points) and ``material`` (pawns)
    hold the reply's games and those of the other replies at the position.
    """

    number: NDArray[np.int64]
    move: NDArray[np.int64]
    games: Floats
    players: Floats
    top: Floats
    other_top: Floats
    mated: Floats
    went_on: Floats
    went_on_players: Floats
    kk: Floats
    kn: Floats
    nn: Floats
    measured: dict[str, TwoGroups]

    @property
    def results(self) -> TwoGroups:
        """Points: the games with the reply, and those with the others."""
        return self.measured["over"]

    @property
    def material(self) -> TwoGroups:
        """Pawns, the same way."""
        return self.measured["swing"]

    def row(self, number: int, move: int) -> int | None:
        """The entry of a reply; None when there is none."""
        (found,) = np.nonzero((self.number == number) & (self.move == move))
        return int(found[0]) if len(found) else None

    def mean(self, row: int) -> float | None:
        """The mean of the results measured (points); None without any."""
        total, n = (np.asarray(part)[row] for part in self.results.reply[:2])
        return float(total / n) if n else None

    def rate(self, row: int) -> Counted:
        """How often the reply is chosen, of the games that went on."""
        products = [float(column[row]) for column in (self.kk, self.kn, self.nn)]
        people = [int(column[row]) for column in (self.went_on_players, self.players, self.top)]
        return rate_of(float(self.games[row]), float(self.went_on[row]), products, *people)

    def rate_at(self, number: int, move: int) -> Counted:
        """The rate of a reply that may not have been played, at a position that may be new."""
        row = self.row(number, move)
        if row is not None:
            return self.rate(row)
        (here,) = np.nonzero(self.number == number)
        if not len(here):
            return rate_of(0, 0, (0, 0, 0), 0, 0, 0)
        games, players, nn = (
            float(column[here[0]]) for column in (self.went_on, self.went_on_players, self.nn)
        )
        return rate_of(0, games, (0, 0, nn), int(players), 0, 0)

    @property
    def others(self) -> Floats:
        """Games with another reply."""
        return self.went_on - self.games

    @property
    def others_kk(self) -> Floats:
        """Sum over players of the squares of their games with another reply."""
        return self.nn - 2 * self.kn + self.kk


def rate_of(
    cases: float, games: float, products: Sequence[float], players: int, who_did: int, top: int
) -> Counted:
    """A rate from sums over its players; ``products`` are those of k * k, k * n and n * n."""
    kk, kn, nn = products
    design = design_effect(cases, games, kk, kn, nn, players) if games else 1.0
    low, high = wilson(cases, games, design) or (None, None)
    share = cases / games if games else None
    rate = Rate(int(cases), int(games), players, share, low, high, top, who_did)
    return Counted(rate, design)


def sums_of(
    cursor: DuckDBPyConnection,
    parts: Iterable[tuple[str, dict[str, Any]]],
    at_least: int = 1,
    measures: Sequence[str] = ("over", "swing"),
) -> Sums:
    """The sums over the replies with ``at_least`` games.

    Each part is a SELECT with its parameters, of positions of its own; at least one. Its
    columns: number (of the position), move, player (below 0: nameless), mated, and the
    measures: over (points), swing (pawns), in 1 / PARTS, NULL where they are not known.
    """
    every = [
        cursor.execute(_sql(sql, at_least, measures), params).fetchnumpy() for sql, params in parts
    ]
    found = {
        name: np.concatenate([np.asarray(columns[name], np.float64) for columns in every])
        for name in every[0]
    }
    return Sums(
        number=found["number"].astype(np.int64),
        move=found["move"].astype(np.int64),
        games=found["n"],
        players=found["players"],
        top=found["top"],
        other_top=found["other_top"],
        mated=found["mated"],
        went_on=found["all_n"],
        went_on_players=found["all_players"],
        kk=found["kk"],
        kn=found["kn"],
        nn=found["nn"],
        measured={measure: _groups(found, measure) for measure in measures},
    )


def _sql(visits: str, at_least: int, measures: Sequence[str]) -> str:
    """Sums of whole numbers as DOUBLE: exact far beyond what a library holds, and faster."""

    def each(*templates: str) -> str:
        return "".join(f", {t.format(m=measure)}" for measure in measures for t in templates)

    of_player = each(
        "count({m})::DOUBLE AS {m}_n",
        "coalesce(sum({m}::DOUBLE), 0) AS {m}_t",
        "coalesce(sum({m}::DOUBLE * {m}), 0) AS {m}_q",
    )
    of_everybody = each(*(f"sum({{m}}_{part}) AS all_{{m}}_{part}" for part in "ntq"))
    of_reply = each(
        "sum({m}_n) AS {m}_n", "sum({m}_t) AS {m}_t", "sum({m}_q) AS {m}_q",
        "count_if({m}_n > 0) AS {m}_players",
        "sum({m}_t * {m}_t) AS {m}_tt",
        "sum({m}_t * {m}_n) AS {m}_tn",
        "sum({m}_n * {m}_n) AS {m}_nn",
        "sum({m}_t * all_{m}_t) AS cross_{m}_tt",
        "sum({m}_t * all_{m}_n + {m}_n * all_{m}_t) AS cross_{m}_tn",
        "sum({m}_n * all_{m}_n) AS cross_{m}_nn",
        "count_if({m}_n > 0 AND {m}_n = all_{m}_n) AS {m}_only",
    )  # fmt: skip
    of_position = each(
        "sum(all_{m}_n) AS all_{m}_n", "sum(all_{m}_t) AS all_{m}_t",
        "sum(all_{m}_q) AS all_{m}_q",
        "count_if(all_{m}_n > 0) AS all_{m}_players",
        "sum(all_{m}_t * all_{m}_t) AS all_{m}_tt",
        "sum(all_{m}_t * all_{m}_n) AS all_{m}_tn",
        "sum(all_{m}_n * all_{m}_n) AS all_{m}_nn",
    )  # fmt: skip
    return f"""
        WITH by_player AS MATERIALIZED (
            SELECT number, move, player, count(*)::DOUBLE AS n,
                count_if(mated)::DOUBLE AS mated {of_player}
            FROM ({visits}) GROUP BY number, move, player
        ), everybody AS MATERIALIZED (
            SELECT number, player, sum(n) AS all_n {of_everybody}
            FROM by_player GROUP BY number, player
        ), replies AS (
            SELECT number, move, sum(n) AS n, count(*) AS players, sum(mated) AS mated,
                max(CASE WHEN player >= 0 THEN n ELSE 0 END) AS top,
                sum(n * n) AS kk, sum(n * all_n) AS kn {of_reply}
            FROM by_player JOIN everybody USING (number, player)
            GROUP BY number, move HAVING sum(n) >= {at_least}
        ), positions AS (
            SELECT number, sum(all_n) AS all_n, count(*) AS all_players,
                sum(all_n * all_n) AS nn {of_position}
            FROM everybody GROUP BY number
        ), heavy AS (
            SELECT number, move, max(all_n - coalesce(by_player.n, 0)) AS other_top
            FROM (SELECT number, move FROM replies)
            JOIN (SELECT * FROM everybody WHERE all_n >= {HEAVY} AND player >= 0) USING (number)
            LEFT JOIN by_player USING (number, move, player) GROUP BY number, move
        )
        SELECT * EXCLUDE (other_top), coalesce(other_top, 0) AS other_top
        FROM replies JOIN positions USING (number) LEFT JOIN heavy USING (number, move)
        ORDER BY number, move
    """


def _groups(found: dict[str, Floats], measure: str) -> TwoGroups:
    """A reply's sample and, by subtraction, that of the others at its position.

    For a player with t and n of the position's T and N the others have T - t and
    N - n; their products come apart into sums of the database's.
    """
    own = {p: found[f"{measure}_{p}"] for p in ("t", "n", "q", "tt", "tn", "nn", "players")}
    every = {name: found[f"all_{measure}_{name}"] for name in own}
    cross = {p: found[f"cross_{measure}_{p}"] for p in ("tt", "tn", "nn")}
    rest = {part: every[part] - own[part] for part in ("t", "n", "q")}
    rest["tt"] = every["tt"] - 2 * cross["tt"] + own["tt"]
    rest["tn"] = every["tn"] - cross["tn"] + own["tn"]
    rest["nn"] = every["nn"] - 2 * cross["nn"] + own["nn"]
    rest["players"] = every["players"] - found[f"{measure}_only"]
    return TwoGroups(_sample(own), _sample(rest))


def _sample(part: dict[str, Floats]) -> Sample:
    order = (part[name] for name in ("t", "n", "q", "tt", "tn", "nn", "players"))
    return Sample(
        total=part["t"] / PARTS,
        n=part["n"],
        squares=part["q"] / PARTS**2,
        design=mean_designs(*order),
        clusters=part["players"],
        sum_nn=part["nn"],
    )


def at(sample: Sample, rows: NDArray[np.intp] | int) -> Sample:
    """Some of many samples."""
    return Sample(*(np.asarray(part)[rows] for part in sample))
