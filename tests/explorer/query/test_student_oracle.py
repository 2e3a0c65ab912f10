"""`student` equals a slow recount with python-chess, section by section, on random games."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from datetime import date

import chess
import pytest

from explorer.numbers.expectation import Expectation, fide_expectation
from explorer.numbers.intervals import mean_interval, newcombe, score_interval, wilson
from explorer.positions.lesson import Lesson, lesson_of
from explorer.positions.position import position_of
from explorer.positions.typed import parse_position
from explorer.query.filters import Filters
from explorer.query.moves import pack
from explorer.query.student import StudentOptions, student
from explorer.query.student_listed import Chance, Findings
from explorer.query.student_model import Period, StudentAnswer
from explorer.query.student_parts import Choice, OwnMean, OwnRate, Results
from explorer.query.student_who import Who
from ingest.levels import Level
from tests.support import student_recount as slow
from tests.support.mistake_answers import costly_answer
from tests.support.random_games import NAMES
from tests.support.random_world import PLIES, World
from tests.support.recount import Visit
from tests.support.recount_lessons import random_lesson
from tests.support.recount_mistakes import difference_of, of_level, over_expected, rate_of
from tests.support.student_recount import Own

NAME = NAMES[2]
SINCE = date(2024, 1, 1)
FIDE = fide_expectation()


class Named(Findings):
    """Mistakes that the test names."""

    def __init__(self, chances: list[Chance]) -> None:
        self.named = chances

    def chances(self, filters: Filters) -> list[Chance]:
        return self.named


@pytest.fixture(scope="module")
def lesson(world: World) -> Lesson:
    game = random_lesson(world, "white")
    while not game.variations:
        game = random_lesson(world, "white")
    return lesson_of([game], "random", "white")


@pytest.fixture(scope="module")
def chances(world: World) -> list[Chance]:
    """The student's moves at the start, as a mistake, and the answers to 1. e4, as finds."""
    costly = replace(costly_answer().found[0], instead=None, punisher="e5")
    start, e4 = parse_position(""), parse_position("e4")
    e2e4, e7e5 = chess.Move.from_uci("e2e4"), chess.Move.from_uci("e7e5")
    return [
        Chance("made", "white", costly, start, pack(e2e4)),
        Chance("punished", "black", costly, e4, pack(e7e5)),
    ]


@pytest.fixture(scope="module")
def answer(world: World, lesson: Lesson, chances: list[Chance]) -> StudentAnswer:
    options = StudentOptions(Filters(), lesson, SINCE)
    return student(world.library, Who((NAME.swapcase(),)), options, Named(chances))


@pytest.fixture(scope="module")
def games(world: World) -> list[Own]:
    return slow.own_games(world.records, NAME)


@pytest.fixture(scope="module")
def level(games: list[Own]) -> Level:
    found = slow.level_of(games, Filters().cuts)
    assert found
    return found


def same_mean(told: OwnMean, over: list[float]) -> None:
    assert told.games == len(over)
    if over:
        interval = mean_interval(sum(over), len(over), sum(x * x for x in over))
        assert told.value == pytest.approx(sum(over) / len(over))
        assert (told.low, told.high) == pytest.approx(interval)


def overs(games: list[Own], expectation: Expectation = FIDE) -> list[float]:
    return [over for one in games if (over := one.over(expectation)) is not None]


def same_results(told: Results, games: list[Own]) -> None:
    points = Counter(one.points for one in games)
    assert (told.wins, told.draws, told.losses, told.unknown) == (
        points[1.0],
        points[0.5],
        points[0.0],
        points[None],
    )
    assert told.games == len(games)
    interval = score_interval(told.wins, told.draws, told.losses)
    assert (told.score.low, told.score.high) == (interval or (None, None))
    same_mean(told.over_expected, overs(games))


def same_rate(told: OwnRate, cases: int, games: int) -> None:
    assert (told.cases, told.games) == (cases, games)
    assert (told.low, told.high) == (wilson(cases, games) or (None, None))


def test_in_short_every_game_is_counted_with_its_result(
    answer: StudentAnswer, games: list[Own]
) -> None:
    short = answer.short
    for told, those in zip(
        short.results,
        (games, [g for g in games if g.white], [g for g in games if not g.white]),
        strict=True,
    ):
        same_results(told, those)
    days = [day for one in games if (day := one.record.played)]
    assert (short.games, short.first, short.last) == (len(games), min(days), max(days))
    assert short.undated == len(games) - len(days)
    assert short.set_up == sum(not one.normal for one in games)
    paces = Counter(one.record.pace for one in games)
    assert {pace.label: pace.games for pace in short.paces} == dict(paces)
    rated = [rating for one in games if (rating := one.ratings[0])]
    assert (short.rated_games, short.lowest_rating, short.highest_rating) == (
        len(rated),
        min(rated),
        max(rated),
    )


def test_the_others_are_those_of_the_level_of_most_rated_games(
    answer: StudentAnswer, level: Level
) -> None:
    assert (answer.level, answer.level_by) == (level.label, "ratings")


def others(world: World, epd: str, level: Level | None) -> list[Visit]:
    here = [v for v in world.recount.at[epd] if v.move and v.mover != NAME]
    return of_level(here, level)


def test_the_trees_have_every_position_met_three_times_with_shares_and_results(
    world: World, answer: StudentAnswer, games: list[Own], level: Level
) -> None:
    firsts = Counter(
        one.record.moves[0].uci()
        for one in games
        if one.normal and not one.white and len(one.record.moves) > 1
    )
    groups = {None: [one for one in games if one.white]}
    for uci in firsts:
        groups[uci] = [
            one
            for one in games
            if not one.white and len(one.record.moves) > 1 and one.record.moves[0].uci() == uci
        ]
    told = {one.against and chess.Board().parse_san(one.against).uci(): one for one in answer.plays}
    assert set(told) == set(groups)
    for against, those in groups.items():
        expected = slow.tree(those, PLIES)
        choices = {chess.Board(one.fen).epd(): one for one in told[against].choices}
        assert set(choices) == set(expected)
        for epd, found in expected.items():
            same_choice(world, choices[epd], found, level)
            assert parse_position(choices[epd].line).board().epd() == epd


def same_choice(world: World, choice: Choice, found: list[tuple[Own, Visit]], level: Level) -> None:
    moves = slow.moves_of(found)
    assert {move.uci: move.own.cases for move in choice.moves} == dict(moves)
    assert [move.own.cases for move in choice.moves] == sorted(moves.values(), reverse=True)
    crowd = others(world, found[0][1].epd, level)
    for move in choice.moves:
        same_rate(move.own, moves[move.uci], len(found))
        uci = move.uci
        rate, factor = rate_of(crowd, lambda v, uci=uci: v.move.uci() == uci)
        assert move.others == rate
        same_results(
            move.results, [one for one, visit in found if visit.move and visit.move.uci() == uci]
        )
        if move is choice.moves[0] and crowd:
            difference = newcombe(move.own.cases, len(found), factor[0], factor[1], 1, factor[2])
            assert difference
            assert choice.difference.value == pytest.approx(difference[0])
            assert (choice.difference.low, choice.difference.high) == pytest.approx(difference[1])


def test_a_choice_stands_below_the_position_before_it(answer: StudentAnswer) -> None:
    for tree in answer.plays:
        depths: dict[str, int] = {}
        for choice in tree.choices:
            assert choice.depth == (depths[choice.parent] + 1 if choice.parent else 0)
            depths[choice.key] = choice.depth


def test_beside_the_lesson_each_game_is_followed_to_where_it_left(
    answer: StudentAnswer, games: list[Own], lesson: Lesson
) -> None:
    told = answer.lesson
    assert told
    hand = slow.read(lesson.games[0], True)
    found = [slow.walked(one, hand) for one in games if one.white and one.normal]
    entered = [one for one in found if one.kept]
    same_rate(told.entered, len(entered), len(found))
    assert told.met == sum(one.asked > 0 for one in found)
    assert told.stayed.games == len(entered)
    assert told.stayed.value == pytest.approx(sum(one.kept for one in entered) / len(entered))
    for rate, by in (
        (told.left_by_student, "student"),
        (told.left_by_opponent, "opponent"),
        (told.ended, ""),
    ):
        same_rate(rate, sum(one.by == by for one in entered), len(entered))
    for ways, by in ((told.by_student, "student"), (told.by_opponent, "opponent")):
        expected = Counter(one.at for one in found if one.by == by)
        assert {(chess.Board(one.fen).epd(), one.uci): one.games for one in ways} == dict(expected)
    assert (told.kept.cases, told.kept.games) == (
        sum(one.kept for one in found),
        sum(one.asked for one in found),
    )
    kept, left, not_entered = told.results
    same_results(kept, [one.game for one in entered if one.by != "student"])
    same_results(left, [one.game for one in entered if one.by == "student"])
    same_results(not_entered, [one.game for one in found if not one.kept])


def test_listed_mistakes_are_counted_where_the_position_was_met(
    world: World, answer: StudentAnswer, games: list[Own], level: Level
) -> None:
    for row in (*answer.mistakes.made, *answer.mistakes.punished):
        epd = chess.Board(row.fen).epd()
        uci = "e2e4" if row.what == "made" else "e7e5"
        met = [
            (one, visit)
            for one in games
            if one.normal
            for visit in one.visits(PLIES)
            if visit.epd == epd
        ]
        moves = slow.moves_of(met)
        same_rate(row.own, moves[uci], len(met))
        crowd = others(world, epd, level)
        assert row.others == rate_of(crowd, lambda v, uci=uci: v.move.uci() == uci)[0]
        wrong = [
            one.record.played
            for one, visit in met
            if (visit.move.uci() == uci) == (row.what == "made")
        ]
        assert row.last == (wrong[-1] if wrong else None)
    assert answer.mistakes.made
    assert answer.mistakes.punished


def test_each_period_has_its_own_games(
    answer: StudentAnswer, games: list[Own], lesson: Lesson
) -> None:
    better = answer.better
    expected = dict(slow.months(games))
    assert [month.label for month in better.months] == list(expected)
    for month in better.months:
        same_period(month, expected[month.label], lesson)
    dated = [one for one in games if one.record.played]
    assert better.undated == len(games) - len(dated)
    assert better.before
    assert better.after
    same_period(better.before, [one for one in dated if one.record.played < SINCE], lesson)
    same_period(better.after, [one for one in dated if one.record.played >= SINCE], lesson)


def same_period(period: Period, games: list[Own], lesson: Lesson) -> None:
    assert period.games == len(games)
    same_mean(period.over_expected, overs(games))
    starts = [one.record.moves[0].uci() for one in games if one.normal and one.record.moves]
    whites = [
        one.record.moves[0].uci() for one in games if one.normal and one.white and one.record.moves
    ]
    assert (period.mistakes.cases, period.mistakes.games) == (whites.count("e2e4"), len(whites))
    assert len(starts) >= len(whites)
    hand = slow.read(lesson.games[0], True)
    found = [slow.walked(one, hand) for one in games if one.white and one.normal]
    assert period.kept
    assert period.left_at
    assert period.kept.games == sum(one.asked for one in found)
    left = [one.move for one in found if one.by == "student" and one.kept]
    assert period.left_at.games == len(left)
    if left:
        assert period.left_at.value == pytest.approx(sum(left) / len(left))


def test_what_costs_is_the_levels_difference_times_how_often(
    world: World, answer: StudentAnswer, games: list[Own], monkeypatch: pytest.MonkeyPatch
) -> None:
    """With a test that lets everything pass, each row is the recount's difference."""
    monkeypatch.setattr("explorer.query.student_costs.SIGNIFICANT", 2.0)
    found = student(
        world.library, Who((NAME,)), StudentOptions(Filters(levels=(Level(0, 4000),))), Named([])
    ).costs
    assert found.positions == answer.costs.positions
    everybody = Level(0, 4000)
    for row in found.found:
        epd = chess.Board(row.fen).epd()
        crowd = others(world, epd, everybody)
        better, own = (
            [v for v in crowd if v.move.uci() == uci] for uci in (row.favoured.uci, row.uci)
        )
        expected = difference_of(over_expected(better, FIDE), over_expected(own, FIDE), 0.5)
        assert row.difference.value == pytest.approx(expected.value)
        assert (row.difference.games, row.difference.other_games) == (
            expected.games,
            expected.other_games,
        )
        colour = [one for one in games if one.normal and one.white == (row.side == "white")]
        assert row.games == len(colour)
        assert row.lost == pytest.approx(100 * row.difference.value * row.own.cases / len(colour))


def test_short_games_turn_where_the_loser_lost_most(
    world: World, answer: StudentAnswer, games: list[Own]
) -> None:
    for short in (*answer.won, *answer.lost):
        assert short.row.result != "1/2-1/2"
        board = chess.Board()
        for uci in short.row.ucis[: short.ply]:
            board.push_uci(uci)
        assert position_of(board).numbered == short.line
        assert board.turn == ((short.side == "white") != short.won)
        if short.swing is not None:
            (record,) = [r for r in world.records if str(r.number) == short.row.round]
            visits = [
                visit
                for visit in slow.visits_of(record, PLIES)
                if visit.move and visit.white == board.turn and visit.swing is not None
            ]
            assert short.swing == min(visit.swing for visit in visits)
            assert short.ply == max(v.ply for v in visits if v.swing == short.swing)
