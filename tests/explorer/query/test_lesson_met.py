"""How often the positions of a lesson are met, and what is replied there."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import chess
import pytest

from explorer.positions.lesson import Lesson, lesson_of
from explorer.positions.typed import parse_position
from explorer.query.filters import Filters
from explorer.query.lesson_check import lesson_check
from explorer.query.lesson_met import LessonMet, lesson_met
from explorer.query.library import Library, open_library
from explorer.query.replies import replies
from ingest.errors import InputError, NothingFound
from ingest.levels import Level
from tests.support.club import Add, evening
from tests.support.lessons_met import key_after, make_lesson
from tests.support.random_world import World
from tests.support.recount_lessons import random_lesson

CASES = 8  # for each of three seeds


def near(value: float) -> object:
    return pytest.approx(value, abs=1e-9)


def test_replies_and_reach_of_random_lessons_are_those_of_the_other_queries(world: World) -> None:
    seen = Counter[str]()
    for _ in range(CASES):
        side = world.random.choice(("white", "black"))
        filters = replace(world.filters(), side=None)
        limits = {"to_move": 4, "min_games": 1, "top": 99}
        try:
            lesson = lesson_of([random_lesson(world, side)], "lesson", side)
            found = lesson_met(world.library, lesson, filters, **limits)
        except (InputError, NothingFound):
            continue
        assert found.answer == lesson_check(world.library, lesson, filters, **limits)
        check_replies(world.library, lesson, found, filters, seen)
        check_reach(lesson, found, seen)
    assert min(seen[kind] for kind in ("replies", "reach")) > 3


def check_replies(
    library: Library, lesson: Lesson, found: LessonMet, filters: Filters, seen: Counter[str]
) -> None:
    for key, there in found.replies.items():
        place = lesson.places.get(key)
        if place is None or there.borrowed or not there.of:
            continue
        asked = parse_position(place.fen)
        try:
            rows = replies(library, asked, replace(filters, min_games=1, top=999)).replies
        except NothingFound:
            continue
        wanted = {row.uci: row.games for row in rows if row.games}
        assert there.games == wanted
        assert there.of == sum(wanted.values())
        seen["replies"] += 1


def check_reach(lesson: Lesson, found: LessonMet, seen: Counter[str]) -> None:
    """Where a line is the only way, its reach is the product of the shares along it."""
    for place in lesson.taught:
        if place.key not in found.in_100 or len(place.line) > 3:
            continue
        board, product = chess.Board(), 100.0
        for uci in place.line:
            there = found.replies.get(key_after(" ".join(_sans(board))))
            if there is not None and there.of:
                product *= there.games.get(uci, 0) / there.of
            board.push_uci(uci)
        assert found.in_100[place.key] >= product - 1e-6
        seen["reach"] += 1


def _sans(board: chess.Board) -> list[str]:
    again, sans = chess.Board(), []
    for move in board.move_stack:
        sans.append(again.san(move))
        again.push(move)
    return sans


@pytest.fixture
def evenings(add: Add):
    """1. e4 e5 in 30 games of 40, 1... c5 in 10; then 2. Nf3, and always 2... Nc6 3. Bc4."""
    games = [evening("1. e4 e5 2. Nf3 Nc6 3. Bc4", "1-0", n) for n in range(30)]
    games += [evening("1. e4 c5 2. Nf3 d6", "0-1", n) for n in range(10)]
    with open_library(add(games)) as library:
        yield library


LESSON = "1. e4 e5 (1... c5 2. Nf3 d6 3. d4 a6 4. d5) 2. Nf3 Nc6 3. Bc4 a6 4. O-O *"


def test_shares_multiply_along_the_lesson_to_its_end(evenings: Library) -> None:
    found = lesson_met(evenings, make_lesson(LESSON), Filters(), to_move=2, min_games=5)
    assert found.answer.to_move == 2
    after_e4 = found.replies[key_after("e4")]
    assert (after_e4.games, after_e4.of) == ({"e7e5": 30, "c7c5": 10}, 40)
    assert not after_e4.few
    assert found.in_100[key_after("e4 e5 Nf3 Nc6")] == near(75)
    assert found.in_100[key_after("e4 c5 Nf3 d6")] == near(25)


def test_what_comes_after_too_few_games_is_not_said(evenings: Library) -> None:
    found = lesson_met(evenings, make_lesson(LESSON), Filters(), min_games=20)
    assert found.in_100[key_after("e4 c5")] == near(25)
    assert key_after("e4 c5 Nf3 d6") not in found.in_100
    there = found.replies[key_after("e4 c5 Nf3")]
    assert (there.games, there.of, there.few) == ({"d7d6": 10}, 10, True)
    assert found.replies[key_after("e4 e5 Nf3 Nc6 Bc4")].of == 0


def test_a_reply_that_nobody_chose_leads_to_what_is_never_met(evenings: Library) -> None:
    found = lesson_met(evenings, make_lesson("1. e4 e6 2. d4 *"), Filters(), min_games=5)
    assert found.in_100[key_after("e4 e6")] == 0.0


def test_levels_borrow_and_say_so(evenings: Library) -> None:
    near_by = Filters(levels=(Level(700, 799), Level(800, 899)))
    with pytest.raises(NothingFound):
        lesson_met(evenings, make_lesson(LESSON), near_by)
    found = lesson_met(evenings, make_lesson(LESSON), Filters(levels=(Level(800, 999),)))
    assert not found.replies[key_after("e4")].borrowed
    assert found.replies[key_after("e4 c5 Nf3")].borrowed


def test_a_start_counts_only_the_games_that_come_there(evenings: Library) -> None:
    start = parse_position(["e4", "c5"])
    found = lesson_met(evenings, make_lesson(LESSON), Filters(), start, min_games=5)
    assert found.in_100[key_after("e4 c5 Nf3 d6")] == near(100)
    assert key_after("e4") not in found.replies
