"""What is said of exercises: the last move, the answer, the reason, how they were chosen."""

from __future__ import annotations

from dataclasses import replace

import pytest

from explorer.positions.exercise import Exercise
from explorer.positions.typed import parse_position
from explorer.report import exercise_words as said
from tests.support.worksheets import exercises, make_worksheet, mate, weighed_worksheet


def test_the_last_move_is_told_with_its_number_and_letters() -> None:
    first, *_, last = exercises()
    assert said.just_played(first) == "Black has just played 1... e5."
    assert said.just_played(last, "de") == "Black has just played 1... c5."
    black = Exercise(parse_position("e4 e5 Nf3"), ("b8c6",))
    assert said.just_played(black, "de") == "White has just played 2. Sf3."
    assert said.turn(black) == "Black to move"


def test_the_answer_stands_first_and_the_line_goes_on_after_it() -> None:
    by_line = {one.position.numbered: one for one in exercises()}
    one = by_line["1. e4 e5 2. Nf3 f6"]
    assert said.answer(one) == ("3. Nxe5", "fxe5 4. Qh5+ g6 5. Qxe5+ Qe7 6. Qxh8")
    assert said.answer(one, "de") == ("3. Sxe5", "fxe5 4. Dh5+ g6 5. Dxe5+ De7 6. Dxh8")
    assert said.answer(mate()) == ("4. Qxf7#", "")
    black = Exercise(parse_position("e4 e5 Nf3"), ("b8c6", "f1c4", "f8c5"))
    assert said.answer(black) == ("2... Nc6", "3. Bc4 Bc5")


@pytest.mark.parametrize(
    ("line", "solution", "told"),
    [
        ("e4 e5 Bc4 Nc6 Qh5 Nf6", "Qxf7#", "Mate."),
        ("f3 e5", "g4 Qh4#", "Mate at the end."),
        ("e4 e5 Nf3 f6", "Nxe5", "White is ahead by 1 pawn."),
        ("e4 e5 Nf3 f6", "Nxe5 fxe5", "At the end Black is ahead by 2 pawns."),
        ("e4 d5", "exd5 Qxd5 Nc3", ""),
        ("d4 d5 c4 dxc4", "e3 b5", ""),
        (
            "e4 e5 Nf3 f6 Nxe5 fxe5",
            "Qh5+",
            "Check, 2 replies: Ke7 and g6. Attacks e5 and Ke8 at once.",
        ),
        ("e4 d5 exd5", "Qxd5 Nf3", "At the end material even."),
    ],
)
def test_the_reason_is_what_the_rules_say(line: str, solution: str, told: str) -> None:
    start = parse_position(line)
    whole = parse_position(f"{line} {solution}")
    one = Exercise(start, whole.ucis[len(start.ucis) :])
    assert said.reason(one) == told


def test_what_the_library_gives_is_told_with_its_games() -> None:
    assert said.reason(mate()) == "Mate. Found in 5 of 12 games."


def test_the_reason_names_men_by_the_letters_asked_for() -> None:
    one = Exercise(parse_position("e4 e5 Nf3 f6 Nxe5 fxe5"), ("d1h5",))
    assert "Ke7 and g6" in said.reason(one, "de")
    assert "Attacks e5 and Ke8" in said.reason(one, "de")


def test_what_programs_hide_in_comments_is_left_out() -> None:
    assert said.comment("[%cal Gf3e5,Rd1h5] Attacks\ne5. [%clk 0:01]") == "Attacks e5."


def test_other_good_answers_and_warnings_are_told_with_the_teachers_words() -> None:
    first, second, *_ = exercises()
    assert [*said.asides(first, "de")] == ["Also 2. Lc4: Also sound.", "Not 2. Dh5: Too early."]
    assert [*said.asides(second)] == []
    bare = replace(first, warnings=(replace(first.warnings[0], comment=""),), alternatives=())
    assert [*said.asides(bare)] == ["Not 2. Qh5."]


def test_the_notes_say_how_the_exercises_were_chosen() -> None:
    plain = make_worksheet()
    own = replace(plain, practised=True)
    assert next(said.notes(own)).startswith("The positions are of the student's own games:")
    assert next(said.notes(plain)) == (
        f"All {plain.of} positions, in the lesson's order. Each counts alike: no library was asked."
    )
    one = make_worksheet(exercises=plain.exercises[:1], of=1)
    assert next(said.notes(one)).startswith("The one position, in the lesson's order.")
    drawn = make_worksheet(seed=7, of=20)
    assert next(said.notes(drawn)).startswith(f"{plain.of} of 20 positions, drawn with seed 7.")


def test_the_notes_say_what_the_library_had_to_do_with_it() -> None:
    sheet = weighed_worksheet()
    notes = [*said.notes(sheet)]
    assert notes[0] == (
        "3 of 7 positions: those that most games against players rated 800 to 1199 come to."
    )
    assert "a move that costs players rated 800 to 1199 material" in notes[1]
    assert next(said.notes(weighed_worksheet(seed=3))).endswith(
        "drawn with seed 3; likelier are those that more games against players rated 800 to 1199 "
        "come to."
    )
    nobody = weighed_worksheet(weighed=False)
    assert "no game of the library comes to them." in next(said.notes(nobody))


def test_a_page_of_exercises_is_told_by_its_numbers() -> None:
    assert said.numbers(1, [1, 2, 3]) == "Exercises 1 to 3"
    assert said.numbers(13, [1]) == "Exercise 13"
