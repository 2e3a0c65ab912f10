"""`plans` by hand: what is a plan, who is counted, what is refused."""

from __future__ import annotations

from itertools import product

import pytest

from explorer.positions.typed import parse_position
from explorer.query.filters import Filters
from explorer.query.library import Library, open_library
from explorer.query.plans import plans
from explorer.query.plans_model import Plan, PlansAnswer
from ingest.errors import NothingFound
from ingest.levels import Level
from tests.support.club import Add, Played

ITALIAN = "e4 e5 Nf3 Nc6 Bc4 Bc5"
NAMES = ("Vane, Amber", "Olander, Birk", "Marsh, Cleo", "Fenn, Dario", "Quill, Edda", "Roe, Finn")
PAIRS = [(white, black) for white, black in product(NAMES, NAMES) if white != black]


def game(moves: str, number: int = 0, result: str = "1-0") -> Played:
    white, black = PAIRS[number]
    return Played(f"{ITALIAN} {moves}", white, black, 900, 1700, result)


def asked(add: Add, *games: Played, within: int = 2, **more: object) -> PlansAnswer:
    with open_library(add(games)) as library:
        return ask(library, within=within, **more)


def ask(library: Library, line: str = ITALIAN, within: int = 2, **more: object) -> PlansAnswer:
    filters = Filters(**more)  # type: ignore[arg-type]
    return plans(library, parse_position(line.split()), filters, None, within)


def told(answer: PlansAnswer, side: str) -> set[tuple[str, ...]]:
    """The plans of a side, without what does not apply."""
    listed = next(one for one in answer.sides if one.side == side).plans
    return {tuple(filter(None, (p.kind, p.piece, p.other, p.square, p.side))) for p in listed}


def one(answer: PlansAnswer, kind: str) -> Plan:
    (found,) = (p for side in answer.sides for p in side.plans if p.kind == kind)
    return found


def test_castling_is_told_by_side_and_a_king_walk_is_none(add: Add) -> None:
    """O-O castles king's side; Ke1-f1-g1 is two moves of the king."""
    answer = asked(add, game("O-O Nf6 d3 d6"), game("Kf1 Nf6 Kg1 d6", 1))
    assert told(answer, "white") == {
        ("castle", "king", "king"),
        ("step", "pawn", "d3"),
        ("move", "king", "f1"),
        ("move", "king", "g1"),
    }
    assert one(answer, "castle").path == "e1g1"
    assert one(answer, "castle").here.rate.cases == 1
    walked = [p for p in answer.sides[0].plans if p.square == "g1"]
    assert walked[0].path == "e1g1"


def test_a_game_that_ended_in_the_window_is_in_no_denominator(add: Add) -> None:
    """Two of three games went on for two moves of each side: shares are of two."""
    answer = asked(add, game("d3 Nf6 O-O d6"), game("d3 Nf6 c3 O-O", 1), game("d3 Nf6 Nc3", 2))
    for side in answer.sides:
        assert (side.reached, side.games) == (3, 2)
        assert {plan.here.rate.games for plan in side.plans} == {2}
    assert ("move", "knight", "c3") not in told(answer, "white")


def test_a_break_attacks_a_pawn_and_stands_in_place_of_its_step(add: Add) -> None:
    """d4 attacks e5 and is listed as a break only; d3 attacks nothing and is a step."""
    answer = asked(add, game("d4 exd4 O-O Nf6"), game("d3 Nf6 O-O d6", 1))
    assert {("break", "pawn", "d4"), ("step", "pawn", "d3")} < told(answer, "white")
    assert ("step", "pawn", "d4") not in told(answer, "white")
    assert answer.sides[0].plans_left_out == 0


def test_a_pin_needs_something_worth_more_behind(add: Add) -> None:
    """Bg5 pins a knight on f6 to the queen; on an empty f6 it pins nothing."""
    answer = asked(add, game("d3 Nf6 Bg5 h6"), game("d3 a6 Bg5 f6", 1), game("d3 a6 Bg5 Nf6", 2))
    pin = one(answer, "pin")
    assert (pin.piece, pin.square, pin.path, pin.here.rate.cases) == ("bishop", "g5", "c1g5", 1)
    moved = [p for p in answer.sides[0].plans if (p.kind, p.square) == ("move", "g5")]
    assert [p.here.rate.cases for p in moved] == [3]


def test_an_exchange_counts_for_both_sides(add: Add) -> None:
    """Bxf7+ Kxf7 gives a bishop for a pawn and is none; knights taken on d4 are one."""
    answer = asked(add, game("Bxf7+ Kxf7 O-O Nf6"), game("Nd4 Nxd4 c3 d6", 1))
    assert not any(p.kind == "exchange" for side in answer.sides for p in side.plans)
    answer = asked(add, game("d3 Nd4 Nxd4 Bxd4"), within=2)
    assert ("exchange", "knight", "knight") in told(answer, "white")
    assert ("exchange", "knight", "knight") in told(answer, "black")


def test_a_plan_counts_once_at_its_first_time_by_the_games_own_count(add: Add) -> None:
    """Ng5 twice is one plan, at move 4."""
    answer = asked(add, game("Ng5 Nh6 Nf3 Ng4 Ng5 Nh6 Nf3 Ng8"), within=4)
    (plan,) = (p for p in answer.sides[0].plans if p.square == "g5")
    assert (plan.here.rate.cases, plan.here.move, plan.here.move_low) == (1, 4, 4)


def test_levels_are_those_of_the_player_whose_plan_it_is(add: Add) -> None:
    """With White at 900 and Black at 1700 a level has games on one side only."""
    games = [game("d3 Nf6 O-O d6", number) for number in range(3)]
    with open_library(add(games)) as library:
        answer = ask(library, levels=(Level(800, 1199),))
        assert [(side.reached, side.games) for side in answer.sides] == [(3, 3), (0, 0)]
        assert answer.sides[1].plans == ()
        rates = {level.label: level.rate.games for level in answer.sides[0].plans[0].levels}
        assert {label for label, games in rates.items() if games} == {"800-999"}
        turned = ask(library, opponents=(Level(800, 1199),))
        assert [side.games for side in turned.sides] == [0, 3]
        model = plans(library, parse_position(ITALIAN.split()), Filters(), Level(1600, 1999), 2)
        assert [side.model_games for side in model.sides] == [0, 3]
        assert model.sides[1].plans[0].model is not None


def test_which_plan_comes_first(add: Add) -> None:
    """In 30 games with both, the share in which one comes first, in the commoner order."""
    games = [
        game("d3 Nf6 O-O d6" if number < 20 else "O-O Nf6 d3 d6", number) for number in range(30)
    ]
    answer = asked(add, *games)
    plans_, (pair, *rest) = answer.sides[0].plans, answer.sides[0].pairs
    assert not rest
    assert (plans_[pair.first].square, plans_[pair.second].side) == ("d3", "king")
    assert (pair.order.cases, pair.order.games) == (20, 30)
    assert answer.sides[1].pairs == ()  # Nf6 before d6 in all of them: that says nothing


def test_what_cannot_be_answered_says_why(add: Add) -> None:
    """Nobody lasted, nobody reached it, nobody passes: one line each."""
    with open_library(add([game("d3 Nf6 O-O")])) as library:
        with pytest.raises(NothingFound, match=r"1 game reached it, but none goes on for 8 more"):
            ask(library, within=8)
        with pytest.raises(NothingFound, match="no game reached this position"):
            ask(library, "d4")
        with pytest.raises(NothingFound, match="passes the filters"):
            ask(library, levels=(Level(2000, None),))


def test_a_start_of_its_own_counts_moves_by_its_own_number(add: Add) -> None:
    """A game from a FEN at move 3 with Black to move carries out its plan at move 4."""
    fen = "r1bqkbnr/pppp1ppp/2n5/4p3/2B1P3/5N2/PPPP1PPP/RNBQK2R b KQkq - 3 3"
    tags = (("SetUp", "1"), ("FEN", fen))
    played = Played("3... Bc5 4. O-O Nf6 5. d3 d6", *NAMES[:2], 900, 900, tags=tags)
    answer = asked(add, played)
    assert one(answer, "castle").here.move == 4
