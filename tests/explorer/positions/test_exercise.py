"""Exercises of a lesson: where the student must know the move, and how the line goes on."""

from __future__ import annotations

import io
from pathlib import Path

import chess.pgn

from explorer.positions.exercise import LONG, LONGEST, Exercise, lesson_exercises
from explorer.positions.lesson import Lesson, lesson_of, read_lesson
from explorer.positions.typed import parse_position

SAMPLE = Path(__file__).parents[3] / "sample_games" / "lesson_italian.pgn"


def lesson(text: str, side: str = "white") -> Lesson:
    stream = io.StringIO(text)
    games = iter(lambda: chess.pgn.read_game(stream), None)
    return lesson_of([game for game in games if game], "lesson.pgn", side)


def exercises(text: str, side: str = "white") -> list[Exercise]:
    return list(lesson_exercises(lesson(text, side)))


def test_every_taught_move_but_the_first_of_the_game_is_an_exercise() -> None:
    found = exercises("1. e4 e5 (1... c5 2. Nf3) 2. Nf3 Nc6 3. Bc4 *")
    assert [one.position.numbered for one in found] == [
        "1. e4 e5",
        "1. e4 e5 2. Nf3 Nc6",
        "1. e4 c5",
    ]


def test_a_lesson_for_black_begins_with_the_answer_to_the_first_move() -> None:
    found = exercises("1. e4 (1. d4 d5) e5 *", "black")
    assert [(one.position.numbered, one.sans) for one in found] == [
        ("1. e4", ("e5",)),
        ("1. d4", ("d5",)),
    ]


def test_no_two_exercises_have_the_same_position() -> None:
    found = exercises("1. e4 e5 2. Nf3 Nc6 3. Bc4 *\n\n1. e4 Nc6 2. Nf3 e5 3. Bc4 *")
    keys = [one.key for one in found]
    assert len(keys) == len(set(keys)) == 3
    whole = [one.key for one in lesson_exercises(read_lesson(str(SAMPLE), "white"))]
    assert len(whole) == len(set(whole)) > 40


def test_the_solution_follows_the_lesson_until_nothing_is_in_the_air() -> None:
    moves = "1. e4 e5 2. Nf3 Nc6 3. Bc4 Bc5 4. c3 Nf6 5. d3 d6 6. O-O *"
    assert exercises(moves)[0].sans == ("Nf3", "Nc6", "Bc4", "Bc5", "c3")
    # After the fifth ply the queen has just taken with check, so the line goes on.
    taking = "1. e4 e5 2. Nf3 f6 3. Nxe5 fxe5 4. Qh5+ g6 5. Qxe5+ Qe7 6. Qxh8 *"
    assert exercises(taking)[1].sans[-1] == "Qxh8"


def test_the_solution_of_each_exercise_has_an_end_and_begins_with_the_taught_move() -> None:
    taught = read_lesson(str(SAMPLE), "white")
    for one in lesson_exercises(taught):
        place = taught.places[one.key]
        assert place.taught is not None
        assert one.solution[0] == place.taught.uci
        assert len(one.solution) <= LONGEST
        assert len(one.solution) % 2
    assert LONG % 2 == LONGEST % 2 == 1


def test_checks_that_go_round_in_a_circle_are_cut() -> None:
    """The fourth and the sixth check lead to one position, so the lesson never ends."""
    moves = "1. d4 f6 2. e4 Kf7 3. Qh5+ Ke6 4. Qf5+ Kd6 5. Qc5+ Ke6 6. Qf5+ Kd6 *"
    found = exercises(moves)
    assert len(found[1].solution) == LONGEST
    assert found[1].sans[-1] == "Qf5+"


def test_a_reply_without_an_answer_is_passed_over() -> None:
    found = exercises("1. e4 e5 2. Nf3 Nc6 (2... d6 3. d4) *")
    assert found[0].sans == ("Nf3", "d6", "d4")


def test_alternatives_warnings_and_comments_come_along() -> None:
    found = exercises("1. e4 e5 2. Nf3 { Asks. } (2. Bc4 { Too. }) (2. Qh5 $2 { Early. }) *")[0]
    assert found.comment == "Asks."
    assert [(m.san, m.comment) for m in found.alternatives] == [("Bc4", "Too.")]
    assert [(m.san, m.comment) for m in found.warnings] == [("Qh5", "Early.")]


def test_an_exercise_knows_the_facts_of_its_answer() -> None:
    one = Exercise(parse_position("e4 e5 Bc4 Nc6 Qh5 Nf6"), ("h5f7",))
    assert one.facts[0].mate
    assert one.balance == 0
    assert one.sans == ("Qxf7#",)
    assert one.line.numbered.endswith("4. Qxf7#")
