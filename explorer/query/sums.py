"""Games at many positions at once, by reply: sums over games and over players, made in SQL."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any

import numpy as np
from numpy.typing import NDArray

from explorer.numbers.clusters import design_effect, mean_designs
from explorer.numbers.discovery import TwoGroups
from explorer.numbers.expectation import PARTS
from explorer.numbers.intervals import wilson
from explorer.numbers.welch import Sample
from explorer.query.ahead import side_by_side
from explorer.query.groups import Counted
from explorer.query.mistake_model import Rate
from explorer.query.reduce import by_reply

Floats = NDArray[np.float64]


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
    parts: Iterable[Mapping[str, NDArray[Any]]],
    at_least: int = 1,
    measures: Sequence[str] = ("over", "swing"),
) -> Sums:
    """The sums over the replies with ``at_least`` games.

    Each part has the visits at positions of its own; there is at least one. Its
    columns: number (of the position), move, player (below 0: nameless), mated, and the
    measures: over (points), swing (pawns), in 1 / PARTS, masked where they are not known.
    """
    every = list(side_by_side(partial(by_reply, measures=measures, at_least=at_least), parts))
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
