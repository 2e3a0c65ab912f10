"""`student` on a few invented games, by hand."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from explorer.positions.lesson import Lesson, read_lesson
from explorer.query.filters import Filters
from explorer.query.library import Library, open_library
from explorer.query.mistake_model import Difference
from explorer.query.student import StudentOptions, student
from explorer.query.student_better import _change
from explorer.query.student_listed import Findings
from explorer.query.student_model import StudentAnswer
from explorer.query.student_numbers import run_since
from explorer.query.student_practise import practice_sheet
from explorer.query.student_who import Who, with_neighbours
from explorer.query.visits import NO_DAY
from ingest.errors import NothingFound
from ingest.levels import UNRATED, Level, bands
from tests.support.club import AMBER, BIRK, CLEO, DARIO, Add, Played

ITALIAN = "1. e4 e5 2. Nf3 Nc6 3. Bc4"
LESSON = f"{ITALIAN} Bc5 (3... Nf6 4. d3 (4. Ng5) (4. O-O $6)) 4. c3 Nf6 5. d3 *"


def lesson_from(text: str, folder: Path, side: str = "white") -> Lesson:
    file = folder / "lesson.pgn"
    file.write_text(f'[Event "The quiet game"]\n\n{text}\n', "utf-8")
    return read_lesson(str(file), side)


def ask(path: Path, *names: str, **options: object) -> StudentAnswer:
    with open_library(path) as library:
        return student(library, Who(names), StudentOptions(**options))  # type: ignore[arg-type]


def many(lines: Sequence[str]) -> list[Played]:
    """A game for each line, a day apart, of Amber with White."""
    return [
        Played(line, AMBER, BIRK, 900, 900, "1-0", f"2024.01.{day:02}")
        for day, line in enumerate(lines, start=1)
    ]


# Who.


def test_the_name_is_found_in_any_spelling(add: Add) -> None:
    answer = ask(add(many(["1. e4"])), "amber  VANE")
    assert (answer.student, answer.names, answer.not_found) == (AMBER, (AMBER,), ())


def test_an_unknown_name_tells_near_ones_with_their_games(add: Add) -> None:
    path = add([*many(["1. e4", "1. d4"]), Played("1. c4", "Vale, Amber", BIRK)])
    with pytest.raises(NothingFound, match=r"Vane, Amber \(2 games\); Vale, Amber \(1 game\)"):
        ask(path, "Vane, Ambre")


def test_several_names_are_one_student(add: Add) -> None:
    """Whom the library does not know is told."""
    path = add([*many(["1. e4"]), Played("1. d4", CLEO, "Vane, A."), Played("1. c4", CLEO, BIRK)])
    answer = ask(path, AMBER, "A. Vane", "A. Nobody")
    assert answer.short.games == 2
    assert answer.names == (AMBER, "Vane, A.")
    assert answer.not_found == ("A. Nobody",)


def test_games_between_the_joined_names_are_left_out_and_told(add: Add) -> None:
    answer = ask(add([*many(["1. e4"]), Played("1. d4", AMBER, CLEO)]), AMBER, CLEO)
    assert (answer.short.games, answer.short.both_sides) == (1, 1)
    assert [doubt.kind for doubt in answer.doubts] == ["itself"]


def test_nobody_but_themselves_is_no_student(add: Add) -> None:
    with pytest.raises(NothingFound, match="1 with the name on both sides"):
        ask(add([Played("1. d4", AMBER, CLEO)]), AMBER, CLEO)


def test_filters_that_no_game_passes_say_so(add: Add) -> None:
    with pytest.raises(NothingFound, match="no game of theirs passes the filters"):
        ask(add(many(["1. e4"])), AMBER, filters=Filters(until=date(2020, 1, 1)))


def rated(*ratings: tuple[int, str]) -> list[Played]:
    return [
        Played(f"1. {move}", AMBER, BIRK, rating, 900, "1-0", day)
        for (rating, day), move in zip(ratings, ("e4", "d4", "c4", "b4", "a4"), strict=False)
    ]


def test_two_people_of_one_name_are_suspected_by_far_ratings_within_a_year(add: Add) -> None:
    path = add(rated((900, "2024.01.01"), (1401, "2024.12.30")))
    (doubt,) = ask(path, AMBER).doubts
    assert doubt.kind == "ratings"
    assert doubt.lower
    assert doubt.higher
    assert (doubt.lower.rating, doubt.higher.rating) == (900, 1401)
    assert (doubt.lower.played, doubt.higher.played) == (date(2024, 1, 1), date(2024, 12, 30))


@pytest.mark.parametrize(
    "games",
    [
        rated((900, "2024.01.01"), (1400, "2024.02.01")),  # 500 is possible
        rated((900, "2022.01.01"), (1500, "2024.02.01")),  # in two years
        rated((900, "2024.01.01"), (1300, "2024.04.01"), (1700, "2024.09.01")),  # by and by
        rated((900, "2024.??.??"), (1700, "2024.09.01")),
    ],
)
def test_one_person_may_have_learnt_as_much(add: Add, games: list[Played]) -> None:
    assert ask(add(games), AMBER).doubts == ()


def at_sites(*sites: str) -> list[Played]:
    lines = ("1. e4", "1. d4")
    return [
        Played(line, AMBER, BIRK, rating, 900, "1-0", "2024.01.01", (("Site", site),))
        for line, rating, site in zip(lines, (900, 1050), sites, strict=True)
    ]


def test_two_people_of_one_name_are_suspected_at_two_places_on_a_day(add: Add) -> None:
    (doubt,) = ask(add(at_sites("Lantern", "Harbour")), AMBER).doubts
    assert doubt.kind == "places"


@pytest.mark.parametrize("sites", [("Lantern", "Lantern"), ("Lantern", "https://a.example/1")])
def test_a_web_address_is_no_place(add: Add, sites: tuple[str, str]) -> None:
    assert ask(add(at_sites(*sites)), AMBER).doubts == ()


# The level of the others.


def test_the_class_gives_a_level_to_whom_has_no_rating(add: Add) -> None:
    path = add([Played("1. e4", AMBER, BIRK, None, 900, "1-0", "2024.01.10")])
    with open_library(path) as library:
        for since, told in ((date(2024, 1, 1), "class"), (date(2024, 2, 1), "nothing")):
            who = Who((AMBER,), Level(800, 999), since)
            answer = student(library, who, StudentOptions())
            assert answer.level_by == told
            assert answer.level == ("800-999" if told == "class" else None)


def test_a_rating_goes_before_what_the_class_says(add: Add) -> None:
    with open_library(add(many(["1. e4"]))) as library:
        answer = student(library, Who((AMBER,), Level(1400, 1599)), StudentOptions())
    assert (answer.level, answer.level_by) == ("800-999", "ratings")


def test_the_level_that_was_asked_for_goes_before_both(add: Add) -> None:
    answer = ask(add(many(["1. e4"])), AMBER, filters=Filters(levels=(UNRATED,)))
    assert (answer.level, answer.level_by) == ("unrated", "asked")


def test_mistakes_are_looked_for_in_the_bands_next_to_the_level_too() -> None:
    """But for levels that were asked for, and for the unrated."""
    cuts = (800, 1000, 1200)
    low, middle, _, high, _ = bands(cuts)
    assert with_neighbours((middle,), "ratings", cuts) == (Level(None, 1199),)
    assert with_neighbours((low,), "ratings", cuts) == (Level(None, 999),)
    assert with_neighbours((high,), "ratings", cuts) == (Level(1000, None),)
    assert with_neighbours((middle,), "asked", cuts) == (middle,)
    assert with_neighbours((UNRATED,), "class", cuts) == (UNRATED,)
    assert with_neighbours((), "nothing", cuts) == ()


def test_the_others_never_include_the_student(add: Add) -> None:
    path = add([*many(["1. e4"] * 3), Played("1. e4", CLEO, DARIO, 900, 900)])
    (white,) = ask(path, AMBER).plays
    (start,) = white.choices
    assert start.moves[0].own.cases == 3
    assert (start.others_games, start.others_players) == (1, 1)


# The lesson.


def test_a_lesson_is_left_by_whoever_first_plays_out_of_it(add: Add, tmp_path: Path) -> None:
    games = [
        f"{ITALIAN} Nf6 4. Nc3",  # the student, at move 4
        f"{ITALIAN} Nf6 4. Ng5",  # an alternative
        f"{ITALIAN} Nf6 4. O-O",  # a warning
        f"{ITALIAN} d6",  # the opponent
        f"{ITALIAN} Bc5 4. c3 Nf6 5. d3 d6",  # to its end
        f"{ITALIAN} Nf6 4. d3 Bc5 5. c3 d6",  # to its end
        "1. e4",  # the record is over
        "1. d4 d5",  # not entered
    ]
    told = ask(add(many(games)), AMBER, lesson=lesson_from(LESSON, tmp_path)).lesson
    assert told
    assert (told.title, told.games, told.met, told.entered.cases) == ("The quiet game", 8, 8, 7)
    assert [one.cases for one in (told.left_by_student, told.left_by_opponent, told.ended)] == [
        3,
        1,
        3,
    ]
    ways = {one.san: (one.move, one.instead, one.kind) for one in told.by_student}
    assert ways == {
        "Nc3": (4, ("d3",), ""),
        "Ng5": (4, ("d3",), "alternative"),
        "O-O": (4, ("d3",), "warning"),
        "d4": (1, ("e4",), ""),
    }
    (theirs,) = told.by_opponent
    assert (theirs.san, theirs.instead) == ("d6", ("Bc5", "Nf6"))
    assert told.stayed.value == pytest.approx((3 * 4 + 5 + 4 + 1) / 7)
    assert {one.move: (one.kept.cases, one.kept.games) for one in told.at_moves}[4] == (2, 5)


def test_another_order_of_moves_stays_in_the_lesson(add: Add, tmp_path: Path) -> None:
    """What counts is the position, also where the move is not the lesson's there."""
    lesson = lesson_from("1. e4 e5 2. Nf3 Nc6 3. Bc4 (3. Nc3) (3. d4) *", tmp_path)
    path = add(many(["1. e4 Nc6 2. Nf3 e5 3. Bc4", "1. Nf3 Nc6 2. e4 e5 3. Bc4"]))
    told = ask(path, AMBER, lesson=lesson).lesson
    assert told
    # 1... Nc6 leads to no position of the lesson; nor does 1. Nf3.
    assert (told.left_by_opponent.cases, told.entered.cases) == (1, 1)
    both = "1. e4 e5 (1... Nc6 2. Nf3 e5) 2. Nf3 Nc6 3. Bc4 *"
    told = ask(path, AMBER, lesson=lesson_from(both, tmp_path)).lesson
    assert told
    assert told.left_by_opponent.cases == 0
    assert told.stayed.value == 3


def test_a_lesson_for_black_is_entered_with_the_first_taught_answer(
    add: Add, tmp_path: Path
) -> None:
    games = [Played(line, BIRK, AMBER) for line in ("1. e4 c5", "1. e4 e5", "1. d4 d5", "")]
    lesson = lesson_from("1. e4 c5 *", tmp_path, "black")
    told = ask(add(games), AMBER, lesson=lesson).lesson
    assert told
    assert (told.games, told.met, told.entered.cases) == (4, 2, 1)
    assert [one.san for one in told.by_opponent] == ["d4"]


def test_without_games_of_its_colour_a_lesson_has_nothing_to_tell(add: Add, tmp_path: Path) -> None:
    lesson = lesson_from("1. e4 c5 *", tmp_path, "black")
    told = ask(add(many(["1. e4"])), AMBER, lesson=lesson).lesson
    assert told
    assert (told.games, told.entered.share, told.stayed.value, told.places) == (0, None, None, ())


# Numbers.


def days(count: int) -> np.ndarray:
    return np.arange(count)


def test_it_is_over_when_so_long_a_run_would_be_rare() -> None:
    """Of 6 chances 3 went wrong: 20 orders of those, of 364 with 8 chances more, 455 with 9."""
    wrong = np.array([True, False, True, False, False, True])
    for more, over in ((8, False), (9, True)):
        flags = np.concatenate([wrong, np.zeros(more, bool)])
        last, since, told = run_since(days(len(flags)), flags)
        assert (last, since, told) == (date(1970, 1, 6), more, over)


def test_one_success_after_only_failures_is_no_end() -> None:
    assert run_since(days(5), np.array([True] * 4 + [False]))[1:] == (1, False)


def test_what_went_wrong_twice_was_no_habit() -> None:
    assert run_since(days(30), np.array([True, True] + [False] * 28))[2] is False


def test_where_a_day_is_missing_nothing_is_over() -> None:
    when = days(30)
    when[0] = NO_DAY
    assert run_since(when, np.array([True] * 3 + [False] * 27))[2] is False


def test_what_never_went_wrong_has_no_last_day() -> None:
    assert run_since(days(3), np.zeros(3, bool)) == (None, 3, False)


@pytest.mark.parametrize(
    ("measure", "low", "high", "better"),
    [
        ("mistakes", -0.4, -0.1, True),
        ("mistakes", 0.1, 0.4, False),
        ("punished", 0.1, 0.4, True),
        ("punished", -0.4, -0.1, False),
        ("kept", -0.1, 0.1, None),
    ],
)
def test_a_change_is_better_or_worse_only_where_the_whole_interval_says_so(
    measure: str, low: float, high: float, better: bool | None
) -> None:
    found = Difference((low + high) / 2, low, high, 40, 40)
    assert _change(measure, found, False).better is better
    assert _change(measure, found, True).better is None
    few = Difference((low + high) / 2, low, high, 9, 40)
    assert (_change(measure, few, False).few, _change(measure, few, False).better) == (True, None)


def test_before_and_after_have_no_measure_without_chances(add: Add) -> None:
    path = add([*many(["1. e4"] * 2), Played("1. d4", AMBER, BIRK, 900, 900, "*", "2025.01.01")])
    better = ask(path, AMBER, since=date(2025, 1, 1)).better
    assert better.before
    assert better.after
    assert (better.before.games, better.after.games) == (2, 1)
    (change,) = better.changes
    assert (change.measure, change.few, change.difference.value) == ("over_expected", True, None)


# Games.


def test_a_short_game_is_told_by_the_move_at_which_it_turned(add: Add) -> None:
    """The queen that is lost; a mate by its last move but one; a game given up is not told."""
    games = [
        Played("1. e4 e5 2. Qh5 Nf6 3. Qxe5+ Be7 4. Qxe7+ Qxe7", AMBER, BIRK, result="0-1"),
        Played("1. f3 e5 2. g4 Qh4#", AMBER, CLEO, result="0-1"),
        Played("1. e4", AMBER, DARIO, result="0-1"),
        Played("1. e4 e5 2. Bc4 Nc6 3. Qh5 Nf6 4. Qxf7#", AMBER, DARIO, result="1-0"),
        Played("1. e4 e5", AMBER, DARIO, result="1/2-1/2"),
    ]
    answer = ask(add(games), AMBER)
    assert [(one.turn, one.line, one.swing) for one in answer.lost] == [
        ("g4", "1. f3 e5", None),
        ("Qxe7+", "1. e4 e5 2. Qh5 Nf6 3. Qxe5+ Be7", -6.0),
    ]
    (won,) = answer.won
    assert (won.turn, won.side, won.row.white) == ("Nf6", "white", AMBER)


def test_set_up_games_count_in_short_only(add: Add) -> None:
    fen = "rnbqkbnr/pppppppp/8/8/4P3/8/PPPP1PPP/RNBQKBNR b KQkq - 0 1"
    set_up = Played("1... e5", AMBER, BIRK, tags=(("SetUp", "1"), ("FEN", fen)))
    answer = ask(add([set_up, *many(["1. e4"] * 3)]), AMBER)
    assert (answer.short.games, answer.short.set_up) == (4, 1)
    assert answer.plays[0].games == 3


def test_pace_until_and_collections_choose_the_students_games(add: Add) -> None:
    blitz = Played("1. d4", AMBER, BIRK, tags=(("TimeControl", "300"),))
    later = Played("1. c4", AMBER, BIRK, date="2025.02.??")
    add([blitz, later], "school")
    path = add(many(["1. e4"]))
    assert ask(path, AMBER, filters=Filters(pace=("blitz",))).short.games == 1
    assert ask(path, AMBER, filters=Filters(collections=("school",))).short.games == 2
    until = ask(path, AMBER, filters=Filters(until=date(2025, 2, 10)))
    assert (until.short.games, until.source.vague_dates) == (2, 1)


def test_the_source_names_only_collections_that_the_student_is_in(add: Add) -> None:
    add([Played("1. d4", CLEO, DARIO)], "Marsh, Cleo")
    assert ask(add(many(["1. e4"])), AMBER).source.collections == ("club",)


def test_nothing_to_practise_makes_no_sheet(add: Add) -> None:
    sheet = practice_sheet(ask(add(many(["1. e4"])), AMBER))
    assert (sheet.exercises, sheet.side, sheet.practised) == ((), "white", True)


def test_habits_join_the_names_of_a_student(add: Add) -> None:
    path = add([*many(["1. e4 e5"]), Played("1. d4 d5", "Vane, A.", BIRK, 900, 900)])
    found = ask(path, AMBER, "A. Vane", habits=True).habits
    assert found
    assert (found.player, found.player_games) == (AMBER, 2)


def test_who_has_no_move_from_the_normal_start_has_a_page_without_habits(add: Add) -> None:
    """A game given up before it began is a game all the same."""
    path = add([*many(["1. e4"]), Played("", CLEO, BIRK, 900, 900)])
    answer = ask(path, CLEO, habits=True)
    assert (answer.short.games, answer.habits) == (1, None)


@pytest.fixture
def findings(add: Add) -> Iterator[tuple[Library, Findings]]:
    with open_library(add(many(["1. e4"]))) as library:
        yield library, Findings(library)


def test_where_nobody_of_the_level_played_there_are_no_listed_mistakes(
    findings: tuple[Library, Findings],
) -> None:
    assert findings[1].chances(Filters(levels=(Level(2400, None),))) == []
