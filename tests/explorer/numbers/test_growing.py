"""Learning the position that is met most often: how good that is, and where it is not."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from itertools import combinations
from random import Random

import pytest

from explorer.numbers.chain import Chain, Flow, Masses, flow
from explorer.numbers.growing import Growth, Stop, grow, most_met, objective, unanswered

Pick = Callable[[Masses, tuple[int, ...]], int]


@dataclass
class Game:
    """What can be taught and what is replied: position -> place -> positions with shares."""

    turns: int
    answers: dict[int, int] = field(default_factory=dict)
    replies: dict[int, dict[int, float]] = field(default_factory=dict)
    mates: set[int] = field(default_factory=set)

    def chain(self, taught: tuple[int, ...] = ()) -> Chain:
        answers = {position: self.answers[position] for position in taught}
        return Chain(0, True, 1, answers, self.mates & {*answers.values()}, dict(self.replies))

    def worth(self, taught: tuple[int, ...]) -> float:
        return objective(flow(self.chain(taught), self.turns))

    def greedy(self, most: int, least: float = 0.0) -> tuple[Growth, Chain]:
        chain = self.chain()

        def teach(position: int) -> bool:
            if position not in self.answers:
                return False
            chain.taught[position] = self.answers[position]
            chain.won |= self.mates & {self.answers[position]}
            return True

        return grow(chain, lambda: flow(chain, self.turns), teach, most, least), chain

    def best(self, most: int) -> float:
        """By trying every choice of so many positions."""
        sizes = range(min(most, len(self.answers)) + 1)
        return max(self.worth(taught) for n in sizes for taught in combinations(self.answers, n))

    def by(self, pick: Pick, most: int) -> float:
        """With another rule for the next position."""
        taught: tuple[int, ...] = ()
        for _ in range(most):
            chain = self.chain(taught)
            open_now = unanswered(chain, flow(chain, self.turns))
            if not open_now:
                break
            taught = (*taught, pick(open_now, taught))
        return self.worth(taught)


def tree(random: Random, turns: int, widest: int, largest: int = 10_000) -> Game:
    """Replies with any shares, some left out; no position is come to by two lines."""
    game, new = Game(turns), [0]
    numbers = iter(range(1, 1_000_000))
    for _ in range(turns):
        positions, new = new, []
        for position in positions:
            if len(game.answers) >= largest:
                break
            place = game.answers[position] = -next(numbers)
            weights = [random.random() for _ in range(random.randint(1, widest))]
            rest = random.random() * 0.3
            replies = {next(numbers): w * (1 - rest) / sum(weights) for w in weights}
            game.replies[place] = replies
            new += replies
    return game


@pytest.mark.parametrize("seed", range(40))
def test_on_a_tree_no_choice_of_as_many_positions_is_better(seed: int) -> None:
    random = Random(seed)
    game = tree(random, turns=4, widest=3, largest=11)
    for most in (1, 2, 3, 5, 8):
        growth, chain = game.greedy(most)
        got = objective(growth.learnt[-1].run)
        assert got == pytest.approx(game.worth(tuple(chain.taught)), abs=1e-12)
        assert got == pytest.approx(game.best(most), abs=1e-12)


def test_each_position_of_a_tree_adds_what_comes_to_it() -> None:
    growth, _ = tree(Random(5), turns=4, widest=3).greedy(20)
    before = objective(growth.begun)
    for learnt in growth.learnt:
        assert objective(learnt.run) - before == pytest.approx(learnt.reached, abs=1e-12)
        before = objective(learnt.run)


def test_where_lines_merge_greed_can_miss_the_best_choice() -> None:
    """After 2 (31 %) and 3 (29 %) comes one position, 4; after 1 (40 %) come many.

    Greed learns 1 first, because it is met most often, and has none left for 3.
    """
    game = Game(3, {0: -10, 1: -11, 2: -12, 3: -13, 4: -14})
    game.replies = {
        -10: {1: 0.4, 2: 0.31, 3: 0.29},
        -11: {10: 0.25, 11: 0.25, 12: 0.25, 13: 0.25},
        -12: {4: 1.0},
        -13: {4: 1.0},
    }
    growth, _ = game.greedy(4)
    assert [learnt.position for learnt in growth.learnt] == [0, 1, 2, 4]
    assert objective(growth.learnt[-1].run) == pytest.approx(1 + 0.4 + 0.31 + 0.31)
    assert game.worth((0, 2, 3, 4)) == pytest.approx(1 + 0.31 + 0.29 + 0.6)
    assert game.best(4) == pytest.approx(2.2)


def test_a_mate_that_is_met_seldom_can_be_worth_more_than_what_is_met_often() -> None:
    """A game that is won stays answered at every later move."""
    game = Game(4, {0: -10, 1: -11, 2: -12}, mates={-12})
    game.replies = {-10: {1: 0.6, 2: 0.4}, -11: {}}
    growth, _ = game.greedy(2)
    assert [learnt.position for learnt in growth.learnt] == [0, 1]
    assert objective(growth.learnt[-1].run) == pytest.approx(1.6)
    assert game.best(2) == pytest.approx(1 + 3 * 0.4)


def test_it_beats_chance_and_the_single_most_common_line() -> None:
    wins = 0
    for seed in range(30):
        random = Random(seed)
        game = tree(random, turns=5, widest=4)
        growth, _ = game.greedy(12)
        got = objective(growth.learnt[-1].run)
        by_chance = game.by(lambda masses, _, draw=random: draw.choice(sorted(masses)), 12)
        one_line = game.by(lambda masses, taught, of=game: on_the_line(of, masses, taught), 12)
        assert got >= max(by_chance, one_line) - 1e-12
        wins += got > max(by_chance, one_line) + 1e-9
    assert wins >= 25


def on_the_line(game: Game, masses: Masses, taught: tuple[int, ...]) -> int:
    """The commonest line to its end, then the next that branches off last."""
    for position in reversed(taught):
        if going_on := masses.keys() & game.replies[game.answers[position]]:
            return max(going_on, key=masses.__getitem__)
    return next(iter(masses))


def test_it_stops_after_enough_positions_and_tells_what_the_next_one_is_worth() -> None:
    game = Game(2, {0: -10, 1: -11, 2: -12})
    game.replies = {-10: {1: 0.7, 2: 0.3}}
    growth, _ = game.greedy(2)
    assert (growth.stop, growth.next) == (Stop.ENOUGH, 0.3)


def test_it_stops_before_a_position_that_is_met_too_seldom() -> None:
    game = Game(2, {0: -10, 1: -11, 2: -12})
    game.replies = {-10: {1: 0.7, 2: 0.3}}
    growth, _ = game.greedy(9, least=0.31)
    assert [learnt.position for learnt in growth.learnt] == [0, 1]
    assert (growth.stop, growth.next) == (Stop.WORTH, 0.3)


def test_a_position_without_an_answer_is_passed_over_once_and_does_not_stop_it() -> None:
    game = Game(2, {0: -10, 2: -12})
    game.replies = {-10: {1: 0.7, 2: 0.3}}
    growth, _ = game.greedy(9)
    assert [learnt.position for learnt in growth.learnt] == [0, 2]
    assert growth.passed == {1: 0.7}
    assert (growth.stop, growth.next) == (Stop.NOTHING, 0.0)


def test_what_nobody_comes_to_is_not_unanswered() -> None:
    run = Flow(met={1: {0: 1.0}, 2: {7: 0.0}})
    assert dict(unanswered(Chain(0, True, 1, {0: -1}), run)) == {}
    assert most_met({}) is None
