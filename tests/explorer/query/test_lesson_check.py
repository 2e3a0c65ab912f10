"""What is said of a lesson: replies without answers, rare lines, outscored moves, next level."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from pathlib import Path

import chess
import pytest

from explorer.positions.lesson import Lesson, lesson_of, read_lesson
from explorer.positions.typed import parse_position
from explorer.query.filters import Filters
from explorer.query.holes import of_students
from explorer.query.lesson_check import lesson_check
from explorer.query.lesson_model import LessonAnswer
from explorer.query.library import Library, open_library
from ingest.errors import InputError, NothingFound, UsageError
from ingest.levels import Level
from tests.support.club import Add, Played
from tests.support.random_world import World
from tests.support.recount import in_level
from tests.support.recount_lessons import KINDS, Slow, random_lesson

CASES = 8  # for each of three seeds
WEAK, STRONG = Level(800, 999), Level(1000, 1199)


def lesson(tmp_path: Path, text: str, side: str = "white") -> Lesson:
    file = tmp_path / "lesson.pgn"
    file.write_text(text, "utf-8")
    return read_lesson(str(file), side)


def test_everything_that_is_told_equals_the_recount(world: World) -> None:
    """Each unanswered reply: its numbers, and that answering it adds what the table said."""
    seen = Counter[str]()
    for _ in range(CASES):
        side = world.random.choice(("white", "black"))
        game = random_lesson(world, side)
        filters = replace(world.filters(), side=None)
        least = world.random.choice((1, 3))
        try:
            read = lesson_of([game], "lesson", side)
            found = lesson_check(world.library, read, filters, to_move=4, min_games=least, top=99)
        except (InputError, NothingFound):
            seen["nothing"] += 1
            continue
        slow = Slow(world.recount, side == "white", filters, least)
        slow.read(game)
        check_levels(world, slow, found, least, seen)
        check_unanswered(world, slow, found, seen)
    assert min(seen[kind] for kind in ("levels", "unanswered", "scored")) > 3


def check_levels(
    world: World, slow: Slow, found: LessonAnswer, least: int, seen: Counter[str]
) -> None:
    """Each band by itself, and the number of games that began."""
    turned = found.side == "white"
    for row in found.levels:
        levels = slow.filters.levels
        if row is not found.whole:
            levels = (Level(row.low, row.high),)
            seen["levels"] += 1
        here = Slow(world.recount, slow.white, replace(slow.filters, levels=levels), least,
                    slow.taught, slow.listed, slow.known)  # fmt: skip
        anyone = replace(slow.filters, levels=(), opponents=())
        students = slow.filters.opponents
        began = [
            v
            for v in world.recount.chosen(chess.Board(), anyone)
            for own, other in [v.ratings[::-1] if turned else v.ratings]
            if not levels or any(in_level(own, level) for level in levels)
            if not students or any(in_level(other, level) for level in students)
        ]
        assert row.games == len(began)
        for states in row.states:
            wanted = here.states(chess.Board(), states.move - 1)
            told = {kind: getattr(states, kind) for kind in KINDS}
            assert told == pytest.approx({kind: wanted[kind] for kind in KINDS}, abs=1e-9)
            if states.low is not None:
                assert 0 <= states.low <= states.answered + 1e-12
                assert states.answered <= states.high + 1e-12 <= 1 + 1e-12


def check_unanswered(world: World, slow: Slow, found: LessonAnswer, seen: Counter[str]) -> None:
    told = [row.in_100 for row in found.unanswered]
    assert told == sorted(told, reverse=True)
    assert found.unanswered_left_out == 0
    for row in found.unanswered:
        board = chess.Board(row.fen)
        games, borrowed = slow.games(board)
        move = chess.Move.from_uci(row.uci)
        mine = [v for v in games if v.move == move]
        assert (row.games, row.of) == (len(mine), len(games))
        assert row.players == len({v.mover for v in mine})
        assert row.of_players == len({v.mover for v in games})
        assert (row.share, row.borrowed) == (len(mine) / len(games), borrowed)
        results = [v for v in world.recount.chosen(board, slow.filters)
                   if v.move == move and v.points is not None]  # fmt: skip
        points = [v.points for v in results]
        assert row.score == (sum(points) / len(points) if points else None)
        assert (row.score_games, row.score_players) == (
            len(points),
            len({v.mover for v in results}),
        )
        seen["scored"] += bool(points)
        assert row.low is None or row.low <= row.in_100 + 1e-9 <= row.high + 2e-9
        board.push(move)
        before = [slow.states(chess.Board(), s.move - 1) for s in found.whole.states]
        answer = next(iter(board.legal_moves), None)
        if answer is not None:
            slow.taught[board.epd()] = answer
            after = [slow.states(chess.Board(), s.move - 1) for s in found.whole.states]
            del slow.taught[board.epd()]
            rises = [a["answer"] + a["won"] - b["answer"] - b["won"]
                     for a, b in zip(after, before, strict=True)]  # fmt: skip
            assert 100 * sum(rises) == pytest.approx(row.in_100)
            assert max(rises) == pytest.approx(rises[row.move - 1])
            seen["unanswered"] += 1


def evening(line: str, result: str, number: int, rating: int = 900) -> Played:
    """One of many like games; the last moves differ, so that none is a duplicate."""
    tail = f"{'abgh'[number % 4]}{3 + number // 4 % 2} {'abgh'[number // 8 % 4]}6"
    white, black = f"White {number % 7}", f"Black {number % 11}"
    return Played(f"{line} {tail}", white, black, 950, rating, result, f"2025.01.{number % 28 + 1}")


@pytest.fixture
def library(add: Add) -> Library:
    """120 games: 1... e5 in 60, 1... c5 in 40 and 1... d5 in 20; of stronger opponents 1... c5
    in 40 of 60. In 1. e4 c5 2. Nf3 wins and 2. d3 loses."""
    games = [evening("e4 e5 Nf3 Nc6", "1-0", i) for i in range(60)]
    games += [evening("e4 c5 Nf3 d6", "1-0", i) for i in range(40)]
    games += [evening("e4 d5 exd5 Qxd5", "1/2-1/2", i) for i in range(20)]
    games += [evening("e4 c5 d3 Nc6", "0-1", i, 1100) for i in range(40)]
    games += [evening("e4 e5 Nf3 d6", "0-1", i, 1100) for i in range(20)]
    return open_library(add(games))


LINE = "1. e4 e5 2. Nf3 Nc6 3. Bc4 *"


def test_the_reply_met_most_often_comes_first_with_the_favoured_answer(
    library: Library, tmp_path: Path
) -> None:
    """1... c5 in 80 of 180; both answers have enough games, and 2. Nf3 scores better."""
    found = lesson_check(library, lesson(tmp_path, LINE), Filters())
    first, second, *_ = found.unanswered
    assert (first.line, first.san, first.move, first.games, first.of) == ("1. e4", "c5", 2, 80, 180)
    assert first.in_100 == pytest.approx(100 * 80 / 180)
    assert first.answer is not None
    assert (first.answer.san, first.answer.games, first.answer.level) == ("Nf3", 40, "all levels")
    assert first.score == 0.5
    assert (second.san, second.answer) == ("d5", None)
    assert found.positions == 3
    assert found.whole.label == "all levels"
    assert [one.label for one in found.levels] == ["800-999", "1000-1199", "all levels"]


def test_the_answer_is_that_of_the_student_s_own_level(library: Library, tmp_path: Path) -> None:
    """By default the level of the opponents, else what is said of the students."""
    assert of_students(Filters(levels=(WEAK,))).levels == (WEAK,)
    assert of_students(Filters(levels=(WEAK,), opponents=(STRONG,))).levels == (STRONG,)
    found = lesson_check(library, lesson(tmp_path, LINE), Filters(levels=(WEAK,)))
    assert found.unanswered[0].answer is not None
    assert found.unanswered[0].answer.level == "800-999"
    none = lesson_check(
        library, lesson(tmp_path, LINE), Filters(opponents=(WEAK,), levels=(STRONG,))
    )
    assert none.unanswered[0].answer is not None
    assert none.unanswered[0].answer.level == "800-999"


def test_few_rows_are_shown_and_the_rest_counted(library: Library, tmp_path: Path) -> None:
    found = lesson_check(library, lesson(tmp_path, LINE), Filters(), top=1)
    assert len(found.unanswered) == 1
    assert found.unanswered_left_out == 2  # 1... d5, 2... d6


def test_moving_up_adds_what_stronger_opponents_play(library: Library, tmp_path: Path) -> None:
    """1... c5 goes from 40 of 120 to 40 of 60."""
    ask = library, lesson(tmp_path, LINE), Filters(levels=(WEAK,))
    found = lesson_check(*ask, next_level=STRONG)
    assert found.next_level == "1000-1199"
    assert found.next is not None
    assert found.next.games == 60
    assert found.next.states[1].answered == pytest.approx(20 / 60)
    first = found.added[0]
    assert (first.reply.san, first.reply.games, first.reply.of) == ("c5", 40, 60)
    assert first.now == pytest.approx(100 * 40 / 120)
    assert first.reply.in_100 == pytest.approx(100 * 40 / 60)
    assert lesson_check(*ask).added == ()


def test_a_taught_move_that_scores_below_a_popular_one_is_told(
    library: Library, tmp_path: Path
) -> None:
    text = "1. e4 c5 (1... e5 2. Nf3) 2. d3 *"
    found = lesson_check(library, lesson(tmp_path, text), Filters())
    (row,) = found.outscored
    assert (row.line, row.taught, row.other) == ("1. e4 c5", "d3", "Nf3")
    assert (row.games, row.other_games) == (40, 40)
    assert row.difference.value is not None
    assert row.difference.value < -0.5
    assert row.difference.high is not None
    assert row.difference.high < 0
    assert row.in_100 == pytest.approx(100 * 80 / 180)
    better = text.replace("2. d3", "2. Nf3")
    assert lesson_check(library, lesson(tmp_path, better), Filters()).outscored == ()


def test_lines_that_hardly_arise_are_told_with_the_moves_they_cost(
    library: Library, tmp_path: Path
) -> None:
    """Nobody plays 1... a6; its line has three moves, one of them taught elsewhere too."""
    text = "1. e4 e5 (1... a6 2. d4 e6 3. Bd3 (3. c4) c5 4. Nf3) 2. Nf3 Nc6 3. Bc4 *"
    found = lesson_check(library, lesson(tmp_path, text), Filters())
    (row,) = found.rare
    assert (row.line, row.moves, row.in_100) == ("1. e4 a6", 3, 0)
    shared = "1. e4 e5 (1... Nc6 2. Nf3 e5) 2. Nf3 Nc6 3. Bc4 *"
    (row,) = lesson_check(library, lesson(tmp_path, shared), Filters()).rare
    assert (row.line, row.moves) == ("1. e4 Nc6", 1)


def test_rare_lines_for_black_begin_at_the_first_move(library: Library, tmp_path: Path) -> None:
    text = "1. e4 (1. a3 e5 2. b3 d5) e5 2. Nf3 Nc6 *"
    found = lesson_check(library, lesson(tmp_path, text, "black"), Filters(), to_move=3)
    assert [(row.line, row.moves) for row in found.rare] == [("1. a3", 2)]


def test_the_file_s_oddities_are_told(library: Library, tmp_path: Path) -> None:
    text = (
        '[Event "One"]\n\n1. e4 (1. d4) (1. c4) (1. b3) (1. g3) e5 2. Nf3 *\n\n'
        '[Event "Two"]\n\n1. e4 e5 2. Bc4 *\n\n'
        '[Event "Three"]\n[FEN "4k3/8/8/8/8/8/4P3/4K3 w - - 0 1"]\n\n1. e4 *\n'
    )
    told = lesson_check(library, lesson(tmp_path, text), Filters()).warnings
    assert told == (
        "Only the student's side has a choice of moves here: is it a lesson for Black?",
        "Two moves are taught in one position: Nf3 after 1. e4 e5, and Bc4 after 1. e4 e5; "
        "the first one counts.",
        "Alternatives are not followed: 1. d4; 1. c4; 1. b3 and 1 more.",
        "No line leads to where these begin: game 3: Three.",
    )


def test_two_moves_taught_at_the_start_are_named_as_such(library: Library, tmp_path: Path) -> None:
    text = '[Event "a"]\n\n1. e4 e5 *\n\n[Event "b"]\n\n1. d4 d5 *\n'
    told = lesson_check(library, lesson(tmp_path, text), Filters()).warnings
    assert told == (
        "Two moves are taught in one position: e4 at the start, and d4 at the start; the first "
        "one counts.",
    )


def test_one_position_by_two_ways_is_one_hole(add: Add, tmp_path: Path) -> None:
    """Told by the commoner way, with the games of both."""
    lines = ["e4 e5 Nf3 Nc6", "e4 e5 Nf3 Nc6 a3", "e4 Nc6 Nf3 e5", "e4 Nc6 Nf3 d6"]
    add([Played(line, f"W{i}", f"B{i}") for i, line in enumerate(lines)])
    text = "1. e4 e5 (1... Nc6 2. Nf3 d6 3. d4) 2. Nf3 d6 3. d4 *"
    with open_library(tmp_path / "games.db") as library:
        found = lesson_check(library, lesson(tmp_path, text), Filters(), min_games=1)
    (row,) = found.unanswered
    assert (row.line, row.san, row.ways) == ("1. e4 e5 2. Nf3", "Nc6", 2)
    assert (row.games, row.of, row.reached, row.in_100) == (2, 2, 50, 75)


def test_a_level_without_games_is_nothing_found(library: Library, tmp_path: Path) -> None:
    with pytest.raises(NothingFound, match="none of the 180 games that reached it passes"):
        lesson_check(library, lesson(tmp_path, LINE), Filters(levels=(Level(2000, None),)))


def test_a_start_beyond_the_last_move_is_refused(library: Library, tmp_path: Path) -> None:
    start = parse_position(["e4", "e5"])
    with pytest.raises(UsageError, match="--to-move 1: the student's first move here is number 2"):
        lesson_check(library, lesson(tmp_path, LINE), Filters(), start, to_move=1)


def test_a_lesson_without_an_opponent_s_reply_just_ends(library: Library, tmp_path: Path) -> None:
    found = lesson_check(library, lesson(tmp_path, "1. e4 *"), Filters(), to_move=2)
    assert (found.unanswered, found.rare, found.outscored) == ((), (), ())
    assert found.whole.states[1].ended == 1
    assert found.whole.states[1].low is None
