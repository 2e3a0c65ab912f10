"""What is planted in the sample games is found by a teacher's questions, and nothing else."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from datetime import timedelta
from pathlib import Path
from types import ModuleType

import pytest

from explorer.numbers.intervals import newcombe, score_interval, wilson
from explorer.positions.typed import parse_position
from explorer.query.costly import costly
from explorer.query.filters import Filters
from explorer.query.library import Library, open_library
from explorer.query.mistake_model import CostlyAnswer
from explorer.query.model import Reply
from explorer.query.replies import replies
from ingest.levels import parse_level
from ingest.pipeline import add_collection

FOLDER = Path(__file__).parent.parent / "sample_games"
DAMIANO = "1. e4 e5 2. Nf3 f6"


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


def found(library: Library, level: str, side: str | None) -> CostlyAnswer:
    levels = (parse_level(level),) if level else ()
    return costly(library, parse_position(""), Filters(levels=levels), side)


@pytest.mark.parametrize(
    ("level", "side"), [("", None), ("", "black"), ("800-1199", None), ("800-1199", "black")]
)
def test_discovery_finds_the_planted_mistake_and_nothing_else(
    library: Library, level: str, side: str | None
) -> None:
    """As it comes, with 5 % of false alarms: 2... f6, punished by 3. Nxe5; nobody's own habit."""
    (row,) = found(library, level, side).found
    assert row.line == DAMIANO
    assert row.found_by in ("results", "both")
    assert row.rate.cases >= 80
    assert 3 * row.rate.top_player_cases < row.rate.cases
    assert row.lost_low is not None
    assert row.lost_low > 0.2
    assert row.instead is not None
    assert (row.instead.san, row.punisher) == ("Nc6", "Nxe5")


@pytest.mark.parametrize("level", ["under-800", "under-1000", "1000-1399", "1400+"])
@pytest.mark.parametrize("side", ["white", "black"])
def test_discovery_finds_nothing_that_was_not_planted(
    library: Library, level: str, side: str
) -> None:
    """At other levels too; what comes after 2... f6 is part of the same mistake."""
    assert all(row.line.startswith(DAMIANO) for row in found(library, level, side).found)


Hers = Callable[..., dict[str, Reply]]


@pytest.fixture
def hers(library: Library, planted: ModuleType) -> Hers:
    """What the student played after a line; in words of `Filters`, when."""

    def ask(line: str, side: str, **when: object) -> dict[str, Reply]:
        filters = Filters(player=planted.STUDENT, side=side, **when)  # type: ignore[arg-type]
        return {row.san: row for row in replies(library, parse_position(line), filters).replies}

    return ask


def test_the_end_of_the_students_mistake_shows(planted: ModuleType, hers: Hers) -> None:
    """The share of 2... f6 falls at the planted date, its whole interval says so."""
    habit = planted.RECURRING
    before = hers(habit.line, "black", until=habit.until - timedelta(days=1))
    after = hers(habit.line, "black", since=habit.until)
    made, chances = before[habit.san].games, sum(row.games for row in before.values())
    others = sum(row.games for row in after.values())
    assert habit.san not in after
    fall = newcombe(made, chances, 0, others)
    assert fall is not None
    assert fall[1].low > 0.3


def test_the_forgotten_line_of_the_student_shows(planted: ModuleType, hers: Hers) -> None:
    """Where the lesson teaches 4. d3 she plays 4. Nc3 in most games."""
    played = hers(planted.FORGOTTEN.line, "white")
    share = wilson(played[planted.FORGOTTEN.san].games, sum(row.games for row in played.values()))
    assert share is not None
    assert share.low > 0.5
    assert set(played) == {planted.FORGOTTEN.san, planted.FORGOTTEN_LESSON_MOVE}


def test_the_strong_opening_of_the_student_shows(planted: ModuleType, hers: Hers) -> None:
    """In it she scores above expectation; else about as expected, the mistake apart."""
    first, reply = planted.STRONG_OPENING.split()
    strong = hers(first, "black")[reply]
    score = score_interval(strong.wins, strong.draws, strong.losses)
    assert strong.expected is not None
    assert score is not None
    assert strong.games >= 30
    assert score.low > strong.expected + 0.05
    for rest in (hers("e4", "black")["e5"], hers("", "white")["e4"]):
        assert rest.over_expected is not None
        assert abs(rest.over_expected) < 0.12
