"""Invented worlds of numbers for discovery: no board, no database, only who chose what and scored.

A world has lines of games; the games of a line meet at DEPTH positions, White to
move at every other one, with REPLIES replies each. Players come back: they are
a little stronger or weaker than their rating says and have habits. A reply costs
nothing unless a mistake is planted.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from explorer.numbers.clusters import mean_designs
from explorer.numbers.discovery import TwoGroups
from explorer.numbers.expectation import Expectation, fit_expectation, left_by_level
from explorer.numbers.swing import fit_expected_swing
from explorer.numbers.welch import Sample

DEPTH = 4
REPLIES = 4
LEVELS = (800, 1000, 1200, 1400, 1600, 1800, 2000)
POPULARITY = np.array([0.4, 0.3, 0.2, 0.1])


@dataclass(frozen=True, slots=True)
class Rules:
    """How a world works; ratings are in rating points, chances fractions of 1.

    ``scale``: 400 is the usual curve, more is flatter. ``weak_way``: players
    below the median rating choose the replies in the opposite order of popularity.
    ``white_grows``: by how much White is better still for each point of rating above 1200.
    ``planted``: (line, depth, reply) -> (cost in points, cost in pawns).
    """

    lines: int = 40
    games: int = 400
    players: int = 100
    scale: float = 400
    white_better: float = 35
    white_grows: float = 0
    misrated: float = 60
    habit: float = 0.5
    drawn: float = 0.15
    weak_way: bool = False
    planted: dict[tuple[int, int, int], tuple[float, float]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class World:
    """One seeded world: arrays of lines x games, ``reply`` of lines x DEPTH x games."""

    rules: Rules
    rating: np.ndarray  # of each player
    mover: np.ndarray  # lines x DEPTH x games
    difference: np.ndarray  # White's rating minus Black's
    reply: np.ndarray
    points: np.ndarray  # White's
    swing: np.ndarray  # of the mover, lines x DEPTH x games

    def own_curve(self) -> Expectation:
        """The expectation fitted to the world's own games."""
        rows, where = np.unique(self.difference, return_inverse=True)
        half_points = np.bincount(where.ravel(), 2 * self.points.ravel())
        return fit_expectation(rows, np.bincount(where.ravel()), half_points)

    @property
    def level(self) -> np.ndarray:
        """The mover's level."""
        return np.searchsorted(LEVELS, self.rating[self.mover], side="right")

    def results(self, expectation: Expectation | None, by_level: bool = True) -> TwoGroups:
        """Score minus expected score, and minus what that leaves by level.

        None: minus one half, whoever played.
        """
        if expectation is None:
            return self._groups(self._sides(self.points, 1 - self.points) - 0.5)
        white = self.points - expectation.of(self.difference, white=True)
        over = self._sides(white, -white)
        if not by_level:
            return self._groups(over)
        colour = np.broadcast_to(1 - np.arange(DEPTH)[:, None] % 2, over.shape)
        flat = colour.ravel(), self.level.ravel()
        left = left_by_level(*flat, np.ones(over.size), over.ravel())
        return self._groups(over - left[colour, self.level])

    def material(self, expectation: Expectation | None) -> TwoGroups:
        """The swing, minus what movers of that level may expect; None: the bare swing."""
        if expectation is None:
            return self._groups(self.swing)
        white = expectation.of(self.difference, white=True)
        black = expectation.of(-self.difference, white=False)
        expected = self._sides(white, black)
        ply = np.broadcast_to(np.arange(DEPTH)[:, None], self.swing.shape)
        level = self.level
        flat = ply.ravel(), level.ravel(), expected.ravel()
        fit = fit_expected_swing(*flat, np.ones(self.swing.size), self.swing.ravel())
        return self._groups(self.swing - fit.of(ply, level, expected))

    @staticmethod
    def _sides(white: np.ndarray, black: np.ndarray) -> np.ndarray:
        """Of every game's two numbers the mover's: lines x DEPTH x games."""
        return np.stack([white, black] * (DEPTH // 2), axis=1)

    def _groups(self, values: np.ndarray) -> TwoGroups:
        """Sums per (line, depth, reply), flat, as a database would deliver them."""
        rules = self.rules
        position = np.arange(rules.lines * DEPTH).reshape(rules.lines, DEPTH, 1)
        cell = ((position * REPLIES + self.reply) * rules.players + self.mover).ravel()
        shape = rules.lines * DEPTH, REPLIES, rules.players
        weights = (None, values.ravel(), values.ravel() ** 2)
        n, t, squares = (np.bincount(cell, w, np.prod(shape)).reshape(shape) for w in weights)
        everything = [part.sum(axis=1, keepdims=True) for part in (n, t, squares)]
        others = [every - own for every, own in zip(everything, (n, t, squares), strict=True)]
        return TwoGroups(_sample(n, t, squares), _sample(*others))


def _sample(n: np.ndarray, t: np.ndarray, squares: np.ndarray) -> Sample:
    total, games, square = (part.sum(axis=2).ravel() for part in (t, n, squares))
    tt, tn, nn = ((a * b).sum(axis=2).ravel() for a, b in ((t, t), (t, n), (n, n)))
    players = (n > 0).sum(axis=2).ravel()
    design = mean_designs(total, games, square, tt, tn, nn, players)
    return Sample(total, games, square, design, players, nn)


def world(rng: np.random.Generator, rules: Rules) -> World:
    """Play a whole world."""
    rating = np.rint(np.clip(rng.normal(1200, 250, rules.players), 400, 2200))
    strength = rating + rng.normal(0, rules.misrated, rules.players)
    shape = rules.lines, rules.games
    white = rng.integers(0, rules.players, shape)
    black = (white + rng.integers(1, rules.players, shape)) % rules.players
    mover = np.stack([white, black] * (DEPTH // 2), axis=1)
    reply = np.stack(
        [_choose(rng, rules, each, rating) for each in (white, black) * (DEPTH // 2)], axis=1
    )
    level = (rating[white] + rating[black]) / 2
    advantage = rules.white_better + rules.white_grows * (level - 1200)
    lead = strength[white] - strength[black] + advantage
    chance = 1 / (1 + 10 ** (-lead / rules.scale))
    swing = _material(rng, chance, level)
    for (line, depth, which), (points, pawns) in rules.planted.items():
        erred = reply[line, depth] == which
        chance[line][erred] += points if depth % 2 else -points
        swing[line, depth][erred] -= rng.poisson(pawns, int(erred.sum()))
    difference = (rating[white] - rating[black]).astype(int)
    return World(rules, rating, mover, difference, reply, _played(rng, rules, chance), swing)


def _choose(rng, rules, mover, rating):
    """Each player's favourite at each position, or any reply by popularity."""
    weak = (rating < np.median(rating)) & rules.weak_way
    cuts = POPULARITY.cumsum()[:-1]
    favourite = np.searchsorted(cuts, rng.random((rules.lines, rules.players)))
    any_reply = np.searchsorted(cuts, rng.random(mover.shape))
    own = np.take_along_axis(favourite, mover, axis=1)
    chosen = np.where(rng.random(mover.shape) < rules.habit, own, any_reply)
    return np.where(weak[mover], REPLIES - 1 - chosen, chosen)


def _played(rng, rules, chance):
    chance = np.clip(chance, 0, 1)
    draw = np.minimum(rules.drawn, 2 * np.minimum(chance, 1 - chance))
    luck = rng.random(chance.shape)
    win = chance - draw / 2
    return np.where(luck < win, 1.0, np.where(luck < win + draw, 0.5, 0.0))


def _material(rng, chance, level):
    """The mover's swing, lines x DEPTH x games.

    The mover wins material as often as games, and a little oftener. The weaker both are
    and the deeper the position, the more often something changes hands.
    """
    movers = np.stack([chance, 1 - chance] * (DEPTH // 2), axis=1)
    calm = 0.55 + (level - 1200)[:, None] / 2500 - 0.05 * np.arange(DEPTH)[:, None]
    size = rng.choice([1, 1, 2, 3, 3, 5, 9], movers.shape)
    size[rng.random(movers.shape) < np.clip(calm, 0.2, 0.95)] = 0
    return np.where(rng.random(movers.shape) < movers + 0.05, size, -size)
