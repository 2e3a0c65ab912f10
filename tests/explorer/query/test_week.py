"""`week` and `class` on a small library: what each member met since a day, and what to show."""

from __future__ import annotations

import io
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import chess.pgn
import pytest

from explorer.positions.lesson import Lesson, lesson_of, read_lesson
from explorer.query.library import Library, open_library
from explorer.query.student import StudentOptions
from explorer.query.student_who import Who
from explorer.query.week import WeekAnswer, WeekStudent, week
from explorer.query.whole_class import Pupil, whole_class
from ingest.errors import NothingFound
from ingest.levels import parse_level
from ingest.pipeline import AddOptions, add_collection
from tests.support.club import Played, evening, pgn

SINCE = date(2026, 3, 2)
AMBER, BIRK, CLEO = "Vane, Amber", "Olander, Birk", "Marsh, Cleo"
FULL = "1. e4 e5 2. Nf3 f6 3. Nxe5 fxe5 4. Qh5+ g6 5. Qxe5+ Qe7 6. Qxh8"
GOOD = "1. e4 e5 2. Nf3 Nc6 3. Bc4 Bc5 4. c3 Nf6 5. d3 d6"
LESSON = "1. e4 e5 2. Nf3 Nc6 (2... f6 3. Nxe5) 3. Bc4 Bc5 4. c3 *"
GUEST = "Guest, Una"


def played(line: str, white: str, black: str, day: str, result: str = "1-0") -> Played:
    return Played(line, white, black, 900, 900, result, day)


# 2... f6 is a listed mistake of everybody's: played by all, and it loses.
CROWD = [
    *(evening(FULL, "1-0", number) for number in range(90)),
    *(evening(GOOD, "0-1" if number % 2 else "1-0", number) for number in range(150)),
]
WEEK = [
    played(GOOD, AMBER, GUEST, "2026.03.02"),
    played("1. e4 e5 2. Nf3 Nc6 3. Bb5 a6", AMBER, GUEST, "2026.03.03", "0-1"),
    played(FULL, AMBER, GUEST, "2026.03.04"),
    played("1. e4 e5 2. Nf3 f6 3. d4 d6", AMBER, GUEST, "2026.03.05", "1/2-1/2"),
    played(FULL, GUEST, BIRK, "2026.03.06"),
    played(GOOD, GUEST, BIRK, "2026.03.07"),
    played(GOOD, AMBER, GUEST, "2026.03.01"),  # the day before
    played("1. e4 c5 2. Nf3 d6", AMBER, GUEST, "2026.??.??"),
    played(GOOD, CLEO, GUEST, "2025.12.01"),
]


@pytest.fixture(scope="module")
def library(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Library]:
    folder = tmp_path_factory.mktemp("week")
    for name, games in (("season", CROWD), ("new", WEEK)):
        (folder / f"{name}.pgn").write_text(pgn(games), "utf-8")
        add_collection(
            folder / "week.duckdb", [str(folder / f"{name}.pgn")], name, AddOptions(plies=20)
        )
    with open_library(folder / "week.duckdb") as opened:
        yield opened


@pytest.fixture(scope="module")
def lesson(tmp_path_factory: pytest.TempPathFactory) -> Lesson:
    path: Path = tmp_path_factory.mktemp("lesson") / "lesson.pgn"
    path.write_text(LESSON, "utf-8")
    return read_lesson(str(path), "white")


@pytest.fixture(scope="module")
def pupils(lesson: Lesson) -> tuple[Pupil, ...]:
    return (
        Pupil(Who((AMBER,)), lesson),
        Pupil(Who((BIRK,))),
        Pupil(Who((CLEO,))),
        Pupil(Who(("Nobody, Such",))),
    )


@pytest.fixture(scope="module")
def answer(library: Library, pupils: tuple[Pupil, ...]) -> WeekAnswer:
    return week(library, pupils, SINCE)


def of(answer: WeekAnswer, number: int) -> WeekStudent:
    return next(one for one in answer.students if one.number == number)


def test_games_count_by_the_day_on_which_they_were_played(answer: WeekAnswer) -> None:
    amber = of(answer, 0)
    assert (amber.student, amber.results.games) == (AMBER, 4)
    assert (amber.results.wins, amber.results.draws, amber.results.losses) == (2, 1, 1)
    assert of(answer, 1).results.games == 2
    assert answer.source.vague_dates == 1


def test_who_has_no_game_since_and_who_is_unknown_is_told(answer: WeekAnswer) -> None:
    assert answer.absent == (2,)
    ((number, why),) = answer.not_found
    assert number == 3
    assert "no such name in the library" in why


def test_taught_answers_found_and_missed(answer: WeekAnswer) -> None:
    """By hand: GOOD asks four times, the others three; 3. Bb5 and 3. d4 were not taught."""
    amber = of(answer, 0)
    assert amber.met == 4
    assert amber.kept is not None
    assert (amber.kept.cases, amber.kept.games) == (4 + 2 + 3 + 2, 4 + 3 + 3 + 3)
    assert of(answer, 1).met is None
    assert of(answer, 1).kept is None


def test_listed_mistakes_made_and_punished(answer: WeekAnswer) -> None:
    amber, birk = of(answer, 0), of(answer, 1)
    assert (amber.punished.cases, amber.punished.games) == (1, 2)
    assert (birk.made.cases, birk.made.games) == (1, 2)
    assert amber.made.games == 0


def test_the_positions_to_show_are_those_that_most_students_missed(answer: WeekAnswer) -> None:
    assert len(answer.to_show) <= 3
    assert len({one.key for one in answer.to_show}) == len(answer.to_show)
    lines = {one.line: one for one in answer.to_show}
    missed = lines["1. e4 e5 2. Nf3 f6"]
    assert (missed.answer, missed.played, missed.missed, missed.met) == ("Nxe5", "d4", 1, 2)
    assert (missed.by, missed.students, missed.side) == (1, 1, "white")
    assert lines["1. e4 e5 2. Nf3 Nc6"].answer == "Bc4"
    mistake = lines["1. e4 e5 2. Nf3"]
    assert (mistake.kind, mistake.played, mistake.answer) == ("mistake", "f6", "Nc6")
    assert mistake.answer_uci == "b8c6"


def test_what_nobody_missed_is_shown_where_there_is_nothing_else(library: Library) -> None:
    game = chess.pgn.read_game(io.StringIO("1. e4 e5 2. Nf3 *"))
    assert game is not None
    lesson = lesson_of([game], "tiny.pgn", "white")
    found = week(library, [Pupil(Who((AMBER,)), lesson)], SINCE).to_show
    assert [(one.line, one.missed) for one in found if one.kind == "lesson"] == [("1. e4 e5", 0)]


def test_a_week_in_which_nobody_played_is_told(library: Library, pupils: tuple[Pupil, ...]) -> None:
    with pytest.raises(NothingFound, match="no game of the class since 2027-01-01"):
        week(library, pupils, date(2027, 1, 1))


def test_a_class_has_an_answer_for_each_member_or_says_why_not(
    library: Library, pupils: tuple[Pupil, ...]
) -> None:
    told = list(whole_class(library, pupils, StudentOptions(since=SINCE)))
    assert [one.number for one in told] == [0, 1, 2, 3]
    assert [one.answer is None for one in told] == [False, False, False, True]
    assert "no such name" in told[3].why_not
    first, second, *_ = (one.answer for one in told)
    assert first is not None
    assert second is not None
    assert first.lesson is not None
    assert second.lesson is None
    assert first.level == "800-999"


def test_the_level_that_the_class_file_gives_is_for_those_without_a_rating(
    library: Library,
) -> None:
    given = Pupil(Who((AMBER,), parse_level("2000+"), SINCE))
    (told,) = whole_class(library, [given], StudentOptions())
    assert told.answer is not None
    assert told.answer.level == "800-999"
