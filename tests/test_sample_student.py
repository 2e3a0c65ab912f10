"""What was planted in the games of the sample student is found on her page, and nothing else.

The truths stand in sample_games/planted.py; the seeds of the games in the generator.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType

import pytest

from explorer.positions.lesson import read_lesson
from explorer.positions.typed import parse_position
from explorer.query.filters import Filters
from explorer.query.library import Library, open_library
from explorer.query.student import StudentOptions, student
from explorer.query.student_listed import Findings
from explorer.query.student_model import StudentAnswer
from explorer.query.student_parts import Choice
from explorer.query.student_who import Who
from ingest.pipeline import add_collection

FOLDER = Path(__file__).parent.parent / "sample_games"
NEWCOMER = "Larkfield, Jo"
CHANCES_AFTER = 20  # of the mistake that stopped, in the sample


@pytest.fixture(scope="module")
def planted() -> Iterator[ModuleType]:
    sys.path.insert(0, str(FOLDER))
    try:
        import planted

        yield planted
    finally:
        sys.path.remove(str(FOLDER))


@pytest.fixture(scope="module")
def library(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Library]:
    path = tmp_path_factory.mktemp("samples") / "games.db"
    files = [str(FOLDER / f"{name}.pgn.gz") for name in ("club_season", "junior_cup", "student")]
    add_collection(path, files, "sample")
    with open_library(path) as opened:
        yield opened


@pytest.fixture(scope="module")
def hers(library: Library, planted: ModuleType) -> StudentAnswer:
    lesson = read_lesson(str(FOLDER / "lesson_italian.pgn"), "white")
    options = StudentOptions(lesson=lesson, since=planted.MISTAKE_STOPS)
    return student(library, Who((planted.STUDENT,)), options)


def line_of(words: str) -> str:
    return parse_position(words).numbered


def differing(answer: StudentAnswer) -> list[Choice]:
    return [choice for tree in answer.plays for choice in tree.choices if choice.differs]


def test_where_she_chooses_otherwise_a_habit_was_planted(
    hers: StudentAnswer, planted: ModuleType
) -> None:
    """Each clear difference is one of her habits, or her favourite among book moves; the line
    that she forgets is among them."""
    habits = {line_of(habit.line): habit.san for habit in planted.STUDENT_HABITS[::-1]}
    found = {choice.line: choice.moves[0].san for choice in differing(hers)}
    assert found[line_of(planted.FORGOTTEN.line)] == planted.FORGOTTEN.san
    assert found["1. d4"] == planted.STRONG_OPENING.split()[-1]
    for line, san in found.items():
        if line in habits:
            assert san == habits[line]
    # Everybody keeps to a favourite of the book where nothing else is planted; she in one place.
    assert [line for line in found if line not in habits] == ["1. e4 e5 2. Nf3 Nc6 3. Bc4"]
    assert found["1. e4 e5 2. Nf3 Nc6 3. Bc4"] == "Nf6"


def test_one_opening_scores_above_expectation_and_none_below(
    hers: StudentAnswer, planted: ModuleType
) -> None:
    """After 1. d4 f5 she plays like somebody stronger, and nowhere else."""
    standing = [
        (choice.line, move.san, move.stands_out)
        for tree in hers.plays
        for choice in tree.choices
        for move in choice.moves
        if move.stands_out
    ]
    first, reply = planted.STRONG_OPENING.split()
    assert standing == [(line_of(first), reply, "above")]


def test_the_lesson_is_left_at_the_forgotten_line(hers: StudentAnswer, planted: ModuleType) -> None:
    """Most often at move 4, with 4. Nc3 instead of 4. d3; no other move comes near."""
    assert hers.lesson
    first, second, *_ = hers.lesson.by_student
    assert (first.line, first.san) == (line_of(planted.FORGOTTEN.line), planted.FORGOTTEN.san)
    assert (first.move, first.instead) == (4, (planted.FORGOTTEN_LESSON_MOVE,))
    assert first.games > 10 * second.games
    (place,) = [one for one in hers.lesson.places if one.line == first.line]
    assert place.kept.high is not None
    assert place.kept.high < 0.5
    assert not place.over


def test_what_costs_is_the_recurring_mistake_alone(
    hers: StudentAnswer, planted: ModuleType
) -> None:
    """2... f6, with Nc6 instead; and the list of her level's mistakes has it, too."""
    (cost,) = hers.costs.found
    habit = planted.RECURRING
    assert (cost.line, cost.san, cost.favoured.san) == (line_of(habit.line), habit.san, "Nc6")
    assert cost.lost_low is not None
    assert cost.lost_low > 2
    (made,) = hers.mistakes.made
    assert (made.line, made.costly.san) == (line_of(habit.line), habit.san)
    assert made.difference.low is not None
    assert made.difference.low > 0.1  # more often than the others


def test_the_mistake_has_stopped_and_the_page_knows_since_when(
    hers: StudentAnswer, planted: ModuleType
) -> None:
    """Without being told a date; and before and after the date the difference is sure."""
    (made,) = hers.mistakes.made
    assert made.over
    assert made.last
    assert made.last < planted.MISTAKE_STOPS
    assert made.since_then >= CHANCES_AFTER
    changes = {change.measure: change for change in hers.better.changes}
    assert changes["mistakes"].better is True
    assert hers.better.after
    assert hers.better.after.mistakes.cases == 0
    assert {name for name, change in changes.items() if change.better is not None} == {"mistakes"}


def test_what_to_practise_begins_with_the_forgotten_line(
    hers: StudentAnswer, planted: ModuleType
) -> None:
    """Not the mistake that has stopped; the rest are positions whose answer she was never taught
    to remember."""
    first, *rest = hers.practise
    assert (first.kind, first.answer) == ("lesson", planted.FORGOTTEN_LESSON_MOVE)
    assert first.line == line_of(planted.FORGOTTEN.line)
    kept = {line_of(habit.line) for habit in planted.STUDENT_HABITS}
    assert all(item.kind == "lesson" and item.line not in kept for item in rest)


def test_a_student_with_eight_games_gets_no_claim(library: Library) -> None:
    answer = student(library, Who((NEWCOMER,)), StudentOptions())
    assert (answer.short.games, answer.few) == (8, True)
    assert (answer.practise, answer.costs.found) == ((), ())
    assert not differing(answer)
    assert not any(
        move.stands_out for tree in answer.plays for one in tree.choices for move in one.moves
    )
    assert not any(row.over for row in answer.mistakes.made)


def test_the_others_of_somebody_without_a_rating_are_everybody(library: Library) -> None:
    answer = student(library, Who((NEWCOMER,)), StudentOptions())
    assert (answer.level, answer.level_by) == (None, "nothing")


def test_a_class_shares_what_discovery_finds(
    library: Library, planted: ModuleType, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Discovery, the dear part, runs once for a level and a colour."""
    from explorer.query import student_listed

    asked: list[tuple[Filters, str]] = []
    real = student_listed.costly

    def counted(library: Library, position, filters: Filters, side: str, **more):  # type: ignore[no-untyped-def]
        asked.append((filters, side))
        return real(library, position, filters, side, **more)

    monkeypatch.setattr(student_listed, "costly", counted)
    findings = Findings(library)
    for name in planted.CLASS:
        student(library, Who((name,)), StudentOptions(), findings)
    assert len(asked) == len(set(asked)) == 2 * len({filters for filters, _ in asked})
    assert len(asked) < 2 * len(planted.CLASS)
