"""A lesson told in plain words and tables; the same values as in JSON."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from explorer.query.filters import Filters
from explorer.query.lesson_model import (
    Added,
    Favoured,
    LessonAnswer,
    Outscored,
    RareLine,
    States,
    StatesAt,
    Unanswered,
)
from explorer.query.mistake_model import Difference
from explorer.query.model import Source
from explorer.report import formats
from explorer.report import lesson_words as said
from explorer.report.lesson_json import lesson_json
from explorer.report.lesson_tables import lesson_tables
from explorer.report.privacy import Veil
from ingest.levels import Level

AFTER_E4 = "rnbqkbnr/pppppppp/8/8/4P3/8/PPPP1PPP/RNBQKBNR b KQkq - 0 1"
SICILIAN = Unanswered(
    line="1. e4", fen=AFTER_E4, san="c5", uci="c7c5", move=2, reached=100.0, in_100=20.0, low=15.0,
    high=26.0, share=0.2, games=80, players=40, of=400, of_players=150, score=0.55, borrowed=False,
    name="Sicilian Defence",
    answer=Favoured("Nf3", "g1f3", 50, 30, 0.625, -0.02, "800-1199"), score_games=78,
    score_players=39,
)  # fmt: skip
RARE = replace(
    SICILIAN, san="Nh6", uci="g8h6", in_100=0.04, low=None, high=None, of=20, borrowed=True,
    answer=None, name=None, score=None,
)  # fmt: skip


def states(answered: float, **more: float) -> tuple[States, ...]:
    return tuple(
        States(move, share, more.get("won", 0.0), 0.0, 1 - share, 0.0, share + more.get("won", 0.0),
               None if move == 1 else share - 0.05, None if move == 1 else share + 0.05)
        for move, share in ((1, 1.0), (2, 0.8), (5, answered), (6, answered / 2))
    )  # fmt: skip


def level(label: str, games: int, answered: float) -> StatesAt:
    return StatesAt(label, 800, 999, games, states(answered), 2)


ANSWER = LessonAnswer(
    lesson="italian.pgn",
    title="The quiet Italian",
    side="white",
    start="",
    filters=Filters(levels=(Level(800, 1199),)),
    source=Source(("club",), "library", 0, (), 40),
    to_move=6,
    min_games=30,
    positions=51,
    levels=(
        level("800-999", 2000, 0.3),
        level("1000-1199", 25, 0.4),
        level("800-1199", 2025, 0.34),
    ),
    unanswered=(SICILIAN, RARE),
    unanswered_left_out=3,
    outscored=(
        Outscored("1. e4 e5 2. Nf3 Nc6", "", "Bc4", "Bb5", 90, 70,
                  Difference(-0.1, -0.18, -0.02, 90, 70, 0.01, 50, 40), 40.0),
    ),
    rare=(RareLine("1. e4 a6", 14, 0.1),),
    added=(Added(replace(SICILIAN, in_100=36.0), 20.0),),
    next_level="1200-1399",
    warnings=("Alternatives are not followed: 1. d4.",),
    next=level("1200-1399", 900, 0.25),
)  # fmt: skip
ANSWER = replace(ANSWER, outscored=(replace(
    ANSWER.outscored[0],
    fen="r1bqkbnr/pppp1ppp/2n5/4p3/4P3/5N2/PPPP1PPP/RNBQKB1R w KQkq - 0 1"),))  # fmt: skip


def text(answer: LessonAnswer = ANSWER, **more: str) -> str:
    return "\n".join(map(formats.to_text, lesson_tables(answer, **more)))


def flat(told: str) -> str:
    return " ".join(told.split())


def test_the_first_sentence_is_what_a_teacher_asks() -> None:
    told = flat(text())
    assert (
        "Of 100 games with White, at move 5 your student still has an answer in 34 (29 to 39). "
        "Your student learns a move in 51 positions. What comes most often without an answer: "
        "1... c5, in 20 of 100 games."
    ) in told
    assert "Opponents rated 800 to 1199, any pace." in told


def test_too_few_games_are_no_claim() -> None:
    few = replace(ANSWER.levels[-1], games=29)
    told = flat(text(replace(ANSWER, levels=(few,), unanswered=())))
    assert "Opponents rated 800 to 1199, any pace. 29 games." in told
    assert "Too few games to say how often your student still has an answer at move 5." in told
    assert "5 34* 29-39" in told
    assert "No reply was met" not in told
    unsaid = tuple(replace(one, too_few=0.06, ended=0.0) for one in states(0.34))
    some = replace(ANSWER.levels[-1], states=unsaid)
    told = said.headline(replace(ANSWER, levels=(some,)))
    assert told.endswith("in 34 (29 to 39); in 6.0 there are too few games to say.")
    nothing = replace(some, states=tuple(replace(one, too_few=0.51) for one in unsaid))
    assert said.headline(replace(ANSWER, levels=(nothing,))).startswith("Too few games")


def test_people_after_whom_collections_are_named_are_initials_in_titles_too() -> None:
    source = replace(ANSWER.source, people=("Doe, Jane",))
    answer = replace(ANSWER, source=source, title="For Jane Doe", warnings=("Doe, Jane: 1. c4.",))
    for told in (text(answer), lesson_json(answer)):
        assert "Doe" not in told
        assert "J. D.: 1. c4." in told
    assert "For Jane Doe" in text(answer, names="full")
    assert "For Jane Doe" in lesson_json(answer, "full")


def test_a_score_of_few_games_is_muted() -> None:
    rare = replace(SICILIAN, score=1.0, score_games=29)
    one = replace(SICILIAN, san="e6", score=0.5, score_players=4)
    told = flat(text(replace(ANSWER, unanswered=(SICILIAN, rare, one))))
    assert "1... c5 20 % 80 400 40 0.55 78" in told
    assert "1... c5 20 % 80 400 40 1.00* 29" in told
    assert "1... e6 20 % 80 400 40 0.50* 78" in told


def test_a_lesson_that_wins_and_one_from_a_start_are_told_so() -> None:
    won = replace(ANSWER.levels[-1], states=states(0.34, won=0.1))
    told = said.headline(replace(ANSWER, levels=(won,), start="1. e4 e5"))
    assert told == (
        "Of 100 games that come to 1. e4 e5, at move 5 your student still has an answer, or has "
        "won, in 44 (29 to 39)."
    )
    short = replace(ANSWER.levels[-1], states=states(0.34)[:1])
    assert said.headline(replace(ANSWER, levels=(short,))).endswith("has an answer in 100.")


def test_everything_stays_within_80_columns() -> None:
    assert max(map(len, text().splitlines())) <= 80


def test_rows_name_the_reply_the_line_and_the_favoured_answer() -> None:
    told = flat(text())
    assert "1... c5 1. e4 c5 20 15-26" in told
    assert "1... Nh6 1. e4 Nh6 0.04* -" in told
    assert "The answer that the numbers favour among players of level 800-1199" in told
    assert "1... c5 2. Nf3 62 % 50 -0.02" in told
    assert "3 more replies without an answer, met less often: --top shows more of them." in told


def test_levels_stand_side_by_side_with_the_next_one() -> None:
    table = lesson_tables(ANSWER)[0]
    heads = [column.head for column in table.columns if not column.data_only]
    assert heads[-3:] == ["800-999", "1000-1199", "1200-1399"]
    assert "25" in text()
    assert "40*" in text()  # of 25 games


def test_outscored_and_rare_lines_have_tables_of_their_own() -> None:
    told = flat(text())
    assert "3. Bc4 1. e4 e5 2. Nf3 Nc6 Bb5 40 -0.10 -0.18 to" in told
    assert "1. e4 a6 14 0.1" in told
    assert "fewer than 0.5 of 100 games" in told


def test_moving_up_is_told_in_a_sentence_and_a_table() -> None:
    told = flat(text())
    assert "When the class moves up to 1200-1399" in told
    assert (
        "Against opponents of level 1200-1399 your student still has an answer at move 5 in 25 "
        "(20 to 30) of 100 games, now in 34."
    ) in told


def test_empty_parts_are_left_out_and_said() -> None:
    bare = replace(
        ANSWER, unanswered=(), unanswered_left_out=0, outscored=(), rare=(), added=(), next=None,
        next_level=None, levels=ANSWER.levels[-1:], title="", warnings=(), start="1. e4",
    )  # fmt: skip
    (table,) = lesson_tables(bare)
    assert table.foot == ()
    told = flat(formats.to_text(table))
    assert told.startswith("italian.pgn - what it answers after 1. e4 ")
    assert "No reply was met that the lesson leaves without an answer." in told
    assert "No taught move clearly scores below another popular one." in told
    assert "Favoured" not in told
    hidden = flat("\n".join(said.summary(replace(bare, unanswered_left_out=1))))
    assert "without an answer" not in hidden
    one = replace(bare, unanswered_left_out=1, unanswered=(RARE,))
    told = text(one)
    assert "One more reply without an answer" in told
    assert "The answer that the numbers favour\n" in told


def test_notes_speak_of_borrowing_once_or_more() -> None:
    assert "2 positions with fewer than 30 games of the level take those" in flat(text())
    one = replace(ANSWER, levels=(replace(ANSWER.whole, borrowed=1),))
    assert "1 position with fewer than 30 games of the level takes those" in flat(text(one))
    none = replace(ANSWER, levels=(replace(ANSWER.whole, borrowed=0),))
    assert "neighbouring levels too" not in flat(text(none))


def test_piece_letters_of_another_language() -> None:
    told = text(letters="de")
    assert "2. Sf3" in told
    assert "3. Lc4" in told
    assert "Nf3" not in told


def test_moves_of_a_black_student_are_numbered_as_his() -> None:
    start = replace(
        SICILIAN, line="", fen="rnbqkbnr/pppppppp/8/8/8/8/PPPPPPPP/RNBQKBNR w KQkq - 0 1",
        san="c4", move=1, answer=Favoured("e5", "e7e5", 50, 30, 0.6, None, "all levels"),
    )  # fmt: skip
    assert said.label(start) == "1. c4"
    assert said.whole_line(start) == "1. c4"
    assert said.answered(start) == "1... e5"
    later = replace(start, line="1. e4 e5", san="Nf3", move=2)
    assert said.whole_line(later) == "1. e4 e5 2. Nf3"
    assert said.favoured("all levels").endswith("among players of all levels")
    black = replace(ANSWER.outscored[0], line="1. e4", fen=AFTER_E4, taught="e5")
    assert said.taught(black) == "1... e5"
    assert said.taught(replace(black, line="", fen="x w")) == "1. e5"


def test_students_of_a_level_are_no_opponents() -> None:
    filters = Filters(levels=(Level(800, 999),), opponents=(Level(1000, None),))
    told = said.opponents(replace(ANSWER, filters=filters), Veil())
    assert told == "Opponents rated 800 to 999, against students rated 1000 and over, any pace."


@pytest.mark.parametrize("ending", ["csv", "markdown"])
def test_the_states_go_to_table_files(ending: str) -> None:
    first = lesson_tables(ANSWER)[0]
    if ending == "csv":
        head, *rows = formats.to_csv(first).removeprefix("\ufeff").splitlines()
        assert head.startswith("At move,Answered,Answered from,Answered to,Has won,No answer,Ended")
        assert "Answered: 800-999,Answered: 800-999 from,Answered: 800-999 to" in head
        assert rows[1].startswith("2,0.8,0.75,0.85,0,0.2,0,0,0.8,0.75,0.85,0.8")
    else:
        assert "| 5 | 34 | 29-39 |" in formats.to_markdown(first)


def test_json_has_the_same_values_under_the_fields_names() -> None:
    found = json.loads(lesson_json(ANSWER))
    assert "source" not in found
    assert found["filters"]["levels"] == ["800-1199"]
    assert found["levels"][-1]["states"][2]["answered"] == 0.34
    assert found["unanswered"][0]["answer"]["san"] == "Nf3"
    assert found["added"][0]["now"] == 20.0
