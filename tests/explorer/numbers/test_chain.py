"""Games run through a lesson as a Markov chain: five states that sum to 1 at every turn."""

from __future__ import annotations

import copy
from collections import Counter
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from explorer.numbers.chain import Chain, Standing, flow, influence

TURNS = 6


def kinds(standing: Standing) -> dict[str, float]:
    names = ("answer", "won", "ended", "unanswered", "too_few")
    return {name: getattr(standing, name) for name in names}


def random_chain(seed: int) -> Chain:
    """Student's positions are even, the opponent's odd; replies lead to any of them."""
    draw = Random(seed)
    places, replies = range(0, 24, 2), {}
    for place in range(1, 24, 2):
        to = draw.sample(places, draw.randint(1, 5))
        weights = [draw.random() for _ in to]
        share = {p: w / sum(weights) for p, w in zip(to, weights, strict=True)}
        replies[place] = draw.choice((share, share, share, {}))
    for place in draw.sample(range(1, 24, 2), 2):
        del replies[place]
    taught = {p: draw.choice(range(1, 24, 2)) for p in places if draw.random() < 0.7}
    students_turn = draw.random() < 0.5
    if students_turn:
        taught[0] = 1
    untaught = [p for p in places if p not in taught]
    ends = set(draw.sample(untaught, len(untaught) // 2))
    won = set(draw.sample(range(1, 24, 2), 2))
    return Chain(0 if students_turn else 1, students_turn, 1, taught, won - {1}, replies, ends)


def play(chain: Chain, draw: Random) -> list[str]:
    """One game: its state at each turn."""
    place, students_turn, told = chain.start, chain.students_turn, []
    while len(told) < TURNS:
        if students_turn:
            if place not in chain.taught:
                known = place in chain.ends or place == chain.start
                return [*told, *["ended" if known else "unanswered"] * TURNS]
            told.append("answer")
            place = chain.taught[place]
        elif place in chain.won:
            return [*told, *["won"] * TURNS]
        elif place in chain.replies and not chain.replies[place]:
            return [*told, *["too_few"] * TURNS]
        elif not chain.answers_at(place):
            return [*told, *["ended"] * TURNS]
        else:
            to = chain.replies[place]
            place = draw.choices(list(to), list(to.values()))[0]
        students_turn = not students_turn
    return told


@given(st.integers(0, 10**6))
def test_the_five_states_sum_to_1_and_the_last_four_never_shrink(seed: int) -> None:
    before: dict[str, float] = {}
    for standing in flow(random_chain(seed), TURNS).standings:
        now = kinds(standing)
        assert sum(now.values()) == pytest.approx(1)
        assert all(now[name] >= part for name, part in before.items() if name != "answer")
        assert standing.answered == now["answer"] + now["won"]
        before = now


@pytest.mark.parametrize("seed", range(6))
def test_the_states_equal_20000_simulated_games(seed: int) -> None:
    """Within five standard errors at every turn, for every state."""
    chain, draw, games = random_chain(seed), Random(seed), 20_000
    played = [play(chain, draw) for _ in range(games)]
    for turn, standing in enumerate(flow(chain, TURNS).standings):
        counts = Counter(game[turn] for game in played)
        for name, part in kinds(standing).items():
            error = max(0.0, part * (1 - part) / games) ** 0.5
            assert counts[name] / games == pytest.approx(part, abs=5 * error + 1e-9)


def line(**more: object) -> Chain:
    """A lesson of two turns: 1... is answered in 3 of 5 games, 2... always."""
    chain = Chain(0, True, 1, {0: 1, 2: 3}, set(), {1: {2: 0.6, 4: 0.4}, 3: {6: 1.0}})
    for name, value in more.items():
        setattr(chain, name, value)
    return chain


def test_a_lesson_that_ends_in_mate_loses_nothing() -> None:
    found = flow(line(won={3}), TURNS)
    assert [one.answered for one in found.standings] == [1.0, *[0.6] * 5]
    assert [one.won for one in found.standings] == [0, 0, *[0.6] * 4]


def test_a_lesson_that_is_over_has_ended_and_leaves_nothing_unanswered() -> None:
    """Where it answers no reply, and where an answered reply leads to no taught move."""
    assert flow(line(), 3).standings[-1].ended == 0.6
    assert flow(line(ends={6}), 3).standings[-1].ended == 0.6
    assert flow(line(ends={6}), 3).met[3] == {6: 0.6}
    assert flow(line(taught={}), 1).standings == [Standing(1, 0, 0, 1, 0, 0)]


def test_too_few_is_said_only_where_the_opponent_moves() -> None:
    found = flow(line(replies={1: {}}), 3)
    assert [one.too_few for one in found.standings] == [0, 1, 1]


def test_what_would_come_after_the_end_is_told_apart() -> None:
    found = flow(line(), 3)
    assert found.beyond[3] == {6: 0.6}
    assert found.reach(6) == 0
    assert found.reach(4) == 0.4
    assert found.reach_asked(1) == 1
    assert found.reach_asked(3) == 0


@given(st.integers(0, 10**6), st.integers(1, TURNS))
def test_influence_is_the_derivative_by_the_shares(seed: int, turn: int) -> None:
    """Of the answered share, and of the part that comes to an unanswered position."""
    chain = random_chain(seed)
    found = flow(chain, turn)
    unanswered = sorted(set(found.met[turn]) - chain.taught.keys() - set(chain.ends) - {0})
    for position in (None, *unanswered[:1]):
        worth = influence(chain, found, turn, position)
        for place, shares in chain.replies.items():
            for to in shares:
                changed = copy.deepcopy(chain)
                changed.replies[place] = {**shares, to: shares[to] + 1e-6}
                after = flow(changed, turn)
                if position is None:
                    change = after.standings[-1].answered - found.standings[-1].answered
                else:
                    change = after.reach(position) - found.reach(position)
                assert change / 1e-6 == pytest.approx(worth.get(place, {}).get(to, 0), abs=1e-4)
