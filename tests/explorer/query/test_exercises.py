"""Worksheets: what is asked, in which order, and what the library has to do with it."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import chess.pgn
import pytest

from explorer.positions.lesson import Lesson, lesson_of
from explorer.positions.typed import parse_position
from explorer.query import exercises as asked
from explorer.query.exercises import Wanted, Worksheet, worksheet
from explorer.query.filters import Filters
from explorer.query.library import Library, open_library
from explorer.query.mistake_model import Costly, CostlyAnswer
from ingest.errors import InputError, NothingFound
from ingest.levels import parse_level
from tests.support.club import AMBER, BIRK, CLEO, DARIO, EDDA, Add, Played
from tests.support.mistake_answers import costly_answer, make_costly, make_rate

LESSON = "1. e4 e5 (1... c5 2. Nf3) (1... d5 2. exd5) 2. Nf3 Nc6 (2... f6 3. Nxe5) 3. Bc4 *"
GAMES = (
    Played("1. e4 c5 2. Nf3 d6", AMBER, BIRK, 800, 900),
    Played("1. e4 c5 2. d4 cxd4", BIRK, CLEO, 900, 950),
    Played("1. Nf3 c5 2. e4 d6", CLEO, DARIO, 1500, 1600),  # another way to 2. Nf3, not to c5
    Played("1. e4 c5 2. c3 d5", DARIO, AMBER, 1600, 1700),
    Played("1. e4 d5 2. exd5 Qxd5", EDDA, AMBER, 800, 820),
    Played("1. e4 d5 2. e5 Bf5", AMBER, EDDA, 800, 820),
    Played("1. e4 e5 2. Nf3 f6", AMBER, CLEO, 800, 920),
)


def lesson(text: str = LESSON, side: str = "white") -> Lesson:
    game = chess.pgn.read_game(io.StringIO(text))
    assert game is not None
    return lesson_of([game], "lesson.pgn", side)


@pytest.fixture
def library(add: Add) -> Iterator[Library]:
    with open_library(add(GAMES)) as opened:
        yield opened


def lines(sheet: Worksheet) -> list[str]:
    return [one.position.numbered for one in sheet.exercises]


def test_without_a_library_and_a_seed_the_lessons_order_decides() -> None:
    sheet = worksheet(lesson(), Wanted("white", 3), Filters())
    assert lines(sheet) == ["1. e4 e5", "1. e4 e5 2. Nf3 Nc6", "1. e4 e5 2. Nf3 f6"]
    assert (sheet.of, sheet.weighed, sheet.origin) == (5, False, None)
    assert all(one.games is None for one in sheet.exercises)


def test_with_a_library_the_positions_met_most_come_first(library: Library) -> None:
    sheet = worksheet(lesson(), Wanted("white", 3), Filters(), library)
    assert lines(sheet) == ["1. e4 c5", "1. e4 d5", "1. e4 e5"]
    assert [one.games for one in sheet.exercises] == [3, 2, 1]
    assert sheet.weighed


def test_only_games_against_players_of_the_level_count(library: Library) -> None:
    """Black's ratings are 900, 950, 1700 after 1... c5, and 820 twice after 1... d5."""
    level = Filters(levels=(parse_level("800-899"),))
    sheet = worksheet(lesson(), Wanted("white", 2), level, library)
    assert [(one.position.numbered, one.games) for one in sheet.exercises] == [
        ("1. e4 d5", 2),
        ("1. e4 e5", 0),
    ]


def test_the_games_are_those_that_a_slow_recount_finds(library: Library) -> None:
    sheet = worksheet(lesson(), Wanted("white", 9), Filters(), library)
    for one in sheet.exercises:
        counted = 0
        for game in GAMES:
            read = chess.pgn.read_game(io.StringIO(game.moves))
            assert read is not None
            boards = [node.board() for node in read.mainline()]
            counted += any(parse_position(b.fen()).key == one.key for b in boards)
        assert one.games == counted


def test_a_seed_draws_and_draws_the_same_again(library: Library) -> None:
    drawn = [
        lines(worksheet(lesson(), Wanted("white", 3, seed), Filters(), library))
        for seed in (1, 1, 2, 3, 4)
    ]
    assert drawn[0] == drawn[1]
    assert len({tuple(lines) for lines in drawn}) > 1


def test_positions_that_no_game_comes_to_are_drawn_alike(library: Library) -> None:
    nobody = Filters(levels=(parse_level("2000+"),))
    sheet = worksheet(lesson(), Wanted("white", 9, 1), nobody, library)
    assert len(sheet.exercises) == 5
    assert not sheet.weighed
    assert sheet.origin is not None


def test_a_lesson_of_the_first_move_alone_has_nothing_to_draw_from() -> None:
    with pytest.raises(InputError, match=r"^lesson.pgn: nothing to draw from; it teaches no move"):
        worksheet(lesson("1. e4 *"), Wanted("white", 3), Filters())


Finds = Callable[..., list[dict[str, object]]]


@pytest.fixture
def finds(monkeypatch: pytest.MonkeyPatch) -> Finds:
    """Lets discovery find what a test says, and tells what it was asked."""
    calls: list[dict[str, object]] = []

    def finding(*found: Costly) -> list[dict[str, object]]:
        def costly(
            _: Library, position: object, filters: Filters, side: str, top: int
        ) -> CostlyAnswer:
            calls.append({"position": position, "filters": filters, "side": side, "top": top})
            return replace(costly_answer(), found=found)

        monkeypatch.setattr(asked, "costly", costly)
        return calls

    return finding


def mistake(line: str, punisher: str | None, cases: int = 40, **changes: object) -> Costly:
    made = parse_position(line)
    board = made.board()
    board.pop()
    before = make_costly().position
    key = f"{parse_position(board.fen()).key:016x}"
    return make_costly(
        line=made.numbered,
        san=made.sans[-1],
        uci=made.ucis[-1],
        position=replace(before, fen=board.fen(), key=key),
        punisher=punisher,
        punished=make_rate(7, cases, 20) if punisher else None,
        rate=make_rate(cases, 400, 90),
        **changes,
    )


F6 = mistake("e4 e5 Nf3 f6", "Nxe5")
D4 = mistake("d4 e5", "dxe5", 90)


def test_the_opponents_mistakes_are_asked_for_and_the_commonest_come_first(
    library: Library, finds: Finds
) -> None:
    calls = finds(F6, D4)
    level = Filters(levels=(parse_level("800-1199"),))
    sheet = worksheet(None, Wanted("white", 9, mistakes=True), level, library)
    assert calls == [
        {"position": parse_position(""), "filters": level, "side": "black", "top": asked.LOOKED_AT}
    ]
    assert [
        (lines, one.sans, one.games, one.found)
        for lines, one in zip(lines(sheet), sheet.exercises, strict=True)
    ] == [("1. d4 e5", ("dxe5",), 90, (7, 90)), ("1. e4 e5 2. Nf3 f6", ("Nxe5",), 40, (7, 40))]
    assert sheet.of_mistakes == 2


def test_what_cannot_be_punished_is_no_exercise(library: Library, finds: Finds) -> None:
    """No answer with enough games; or costly by results alone, which may be a sound opening."""
    finds(
        mistake("e4 e5 Nf3 f6", None),
        mistake("e4 e5", "f4", found_by="results"),
        mistake("e4 e5 Bc4 Nc6 Qh5 Nf6", "Qxf7#", found_by="results"),
    )
    sheet = worksheet(None, Wanted("white", 9, mistakes=True), Filters(), library)
    assert [one.sans for one in sheet.exercises] == [("Qxf7#",)]


def test_a_level_without_such_mistakes_is_said_in_one_line(library: Library, finds: Finds) -> None:
    finds()
    with pytest.raises(NothingFound, match="so there is nothing to punish; choose another level"):
        worksheet(None, Wanted("white", 9, mistakes=True), Filters(), library)


def test_of_a_lesson_only_the_mistakes_that_it_meets_are_asked(
    library: Library, finds: Finds
) -> None:
    finds(F6, D4)
    sheet = worksheet(lesson(), Wanted("white", 4, mistakes=True), Filters(), library)
    assert sheet.of_mistakes == 1
    assert "1. d4 e5" not in lines(sheet)
    assert lines(sheet)[-1] == "1. e4 e5 2. Nf3 f6"
    assert len(sheet.exercises) == 4


def test_where_the_lesson_answers_a_mistake_its_answer_is_the_one_to_find(
    library: Library, finds: Finds
) -> None:
    finds(replace(F6, punisher="d4"), mistake("e4 e5 Nf3 a6", "Nxe5"))
    sheet = worksheet(lesson(), Wanted("white", 4, mistakes=True), Filters(), library)
    answers = {one.position.numbered: (one.sans, one.found) for one in sheet.exercises[2:]}
    assert answers == {
        "1. e4 e5 2. Nf3 f6": (("Nxe5",), None),
        "1. e4 e5 2. Nf3 a6": (("Nxe5",), (7, 40)),
    }


def test_no_position_is_asked_twice_and_mistakes_fill_what_the_lesson_leaves(
    library: Library, finds: Finds
) -> None:
    finds(F6, F6, mistake("e4 e5 Nf3 a6", "Nxe5"), mistake("e4 e5 Nf3 h6", "Nxe5"))
    short = lesson("1. e4 e5 2. Nf3 Nc6 3. Bc4 *")
    sheet = worksheet(short, Wanted("white", 5, 4, mistakes=True), Filters(), library)
    keys = [one.key for one in sheet.exercises]
    assert len(keys) == len(set(keys)) == 5
    assert sheet.of == 5


def test_real_discovery_can_be_asked(tmp_path: Path, add: Add) -> None:
    """A library too small to show anything has nothing to punish."""
    with (
        open_library(add(GAMES)) as library,
        pytest.raises(NothingFound, match="nothing to punish"),
    ):
        worksheet(None, Wanted("white", 9, mistakes=True), Filters(), library)
