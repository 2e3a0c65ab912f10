"""A class of ten from the sample games: what was planted is on one page, and on that alone."""

from __future__ import annotations

import re
import sys
from collections.abc import Iterator
from datetime import date
from html import unescape
from pathlib import Path
from types import ModuleType

import pytest

from explorer.positions.lesson import read_lesson
from explorer.query.library import Library, open_library
from explorer.query.student import StudentOptions
from explorer.query.student_model import StudentAnswer
from explorer.query.student_who import Who
from explorer.query.whole_class import Pupil, whole_class
from explorer.report.sheet import PageOptions
from explorer.report.student_discreet import told_apart
from explorer.report.student_page import student_page
from ingest.pipeline import add_collection

FOLDER = Path(__file__).parent.parent / "sample_games"
OPTIONS = PageOptions("replybook class class.toml", date(2026, 7, 1))
TELLING = 3  # letters of a word that gives a name away


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
    for name in ("club_season", "junior_cup", "student"):
        add_collection(path, [str(FOLDER / f"{name}.pgn.gz")], name)
    with open_library(path) as opened:
        yield opened


@pytest.fixture(scope="module")
def answers(library: Library, planted: ModuleType) -> list[StudentAnswer]:
    lesson = read_lesson(str(FOLDER / "lesson_italian.pgn"), "white")
    pupils = [Pupil(Who((name,)), lesson) for name in planted.CLASS]
    options = StudentOptions(since=planted.MISTAKE_STOPS)
    return [told.answer for told in whole_class(library, pupils, options) if told.answer]


@pytest.fixture(scope="module")
def pages(answers: list[StudentAnswer], planted: ModuleType) -> list[str]:
    labels = told_apart(planted.CLASS)
    return [
        student_page(answer, OPTIONS, planted.CLASS, label=label)
        for answer, label in zip(answers, labels, strict=True)
    ]


def text(html: str) -> str:
    """What a reader reads, on one line."""
    body = re.sub(r"<(style|svg)\b.*?</\1>", " ", html, flags=re.DOTALL)
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", body)).replace("\u00a0", " ").split())


def test_all_ten_have_a_page(pages: list[str]) -> None:
    assert len(pages) == 10


def test_no_name_of_the_class_is_on_any_page(pages: list[str], planted: ModuleType) -> None:
    """Byte search for each word of each name; initials of the others neither."""
    words = {word for name in planted.CLASS for word in re.findall(r"\w+", name)}
    labels = list(told_apart(planted.CLASS))
    for place, page in enumerate(pages):
        found = re.findall(r"\w+", text(page))
        assert not {word for word in words if len(word) >= TELLING} & set(found)
        others = [f"games of {label}" for label in labels if label != labels[place]]
        assert not any(other in page for other in others)


def test_the_planted_truths_are_on_the_students_page(pages: list[str], planted: ModuleType) -> None:
    """The mistake that stopped, the line of the lesson that is forgotten, the strong opening."""
    hers = text(pages[planted.CLASS.index(planted.STUDENT)])
    assert "You have stopped: not once in the" in hers
    assert "with 4. Nc3 instead of 4. d3" in hers
    assert "1. d4 f5, the Dutch Defence, goes well for you" in hers
    assert hers.count("goes well for you") == 1
    assert "is worth a closer look" not in hers
    tasks = hers.rsplit("What to practise next", 1)[1]
    assert "mostly with 4. Nc3. Find the move that the lesson teaches." in tasks
    assert "2... f6" not in tasks


def test_they_are_on_no_other_page(pages: list[str], planted: ModuleType) -> None:
    own = planted.CLASS.index(planted.STUDENT)
    for page in (page for place, page in enumerate(pages) if place != own):
        read = text(page)
        assert "Dutch Defence, goes well for you" not in read
        assert "You have stopped" not in read
        assert "with 4. Nc3 instead of 4. d3 and" not in read


def test_each_page_has_the_games_of_its_own_student(
    pages: list[str], answers: list[StudentAnswer]
) -> None:
    for page, answer in zip(pages, answers, strict=True):
        assert f"You played {answer.short.games} games" in text(page)
