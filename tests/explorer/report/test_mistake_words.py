"""What is said of a mistake claims no more than the numbers show."""

from __future__ import annotations

from dataclasses import replace

import pytest

from explorer.positions.engine import Evaluation, Opinion
from explorer.positions.facts import line_facts
from explorer.positions.typed import parse_position
from explorer.query.filters import Filters
from explorer.query.mistake_model import NO_DIFFERENCE, MistakeAnswer
from explorer.query.model import TrendOver
from explorer.report import case_words as beside
from explorer.report import mistake_words as said
from explorer.report import punishment_words as punished
from explorer.report.mistake_case import Case
from explorer.report.mistake_tables import lead
from ingest.levels import parse_level
from tests.support.answers import make_position
from tests.support.mistake_answers import (
    make_difference,
    make_helped,
    make_punishment,
    make_rate,
    mistake_answer,
    never_made,
)


def with_whole(**changes: object) -> MistakeAnswer:
    """An answer whose row for all levels is changed."""
    answer = mistake_answer()
    *levels, whole = answer.levels
    return replace(answer, levels=(*levels, replace(whole, **changes)))  # type: ignore[arg-type]


def test_the_first_sentence_has_both_numbers_apart() -> None:
    assert said.headline(mistake_answer()) == (
        "In 100 games that players of every level have with Black, it happens in 0.6; "
        "when headed for, in 1.4."
    )


def test_the_players_of_the_first_sentence_are_those_of_the_filters() -> None:
    filters = Filters(levels=(parse_level("800-999"),))
    assert "that players rated 800 to 999 have with Black" in said.headline(mistake_answer(filters))


def test_without_a_line_from_the_start_nothing_is_headed_for() -> None:
    answer = with_whole(headed_for=None)
    assert said.headline(answer).endswith("it happens in 0.6.")


def test_too_few_games_or_players_are_counted_and_not_claimed() -> None:
    few = with_whole(rate=make_rate(3, 12, 9))
    assert said.headline(few) == (
        "12 games by 9 players went on from here: too few to say how often it happens."
    )
    assert said.most_often(few) is None


def test_what_was_not_seen_has_a_most() -> None:
    assert said.headline(never_made()) == "Not seen in 240 games: at most 1.6 in 100."
    assert len(list(said.summary(never_made()))) == 1


def test_the_habit_of_one_player_is_named_as_such() -> None:
    answer = with_whole(rate=make_rate(84, 240, 60, top=53))
    assert said.headline(answer) == "One player made 53 of these 84: that says little of others."
    assert said.one_player(make_rate(84, 240, 60, top=28)) is None


def test_the_level_that_errs_most_is_told_only_if_it_is_sure() -> None:
    assert said.most_often(mistake_answer()) == (
        "Most often among players under 800: in 1.5; when headed for, in 3.8."
    )
    alike = mistake_answer(levels=mistake_answer().levels[2:])
    assert said.most_often(alike) is None


@pytest.mark.parametrize(
    ("trend", "words"),
    [
        (TrendOver("fades", 0.0002, 7), "It fades with strength"),
        (TrendOver("grows", 0.01, 7), "It grows with strength"),
        (TrendOver("none", 0.4, 7), "neither clearly fades nor clearly grows"),
        (TrendOver("none", None, 1), "too few levels with enough games"),
    ],
)
def test_the_trend_is_told_in_one_plain_sentence(trend: TrendOver, words: str) -> None:
    answer = mistake_answer(trend=trend)
    assert words in said.trend(answer)
    assert (said.trend_note(answer) is None) == (trend.p is None)


def test_the_test_stands_in_the_footnote() -> None:
    assert said.trend_note(mistake_answer()) == (
        "Fading: Cochran-Armitage test for a trend over 7 levels with their mean ratings as "
        "scores, two-sided p < 0.001."
    )
    assert said.p_value(0.032) == "p = 0.032"
    assert said.p_value(0.4) == "p = 0.40"


@pytest.mark.parametrize(
    ("cost", "words"),
    [
        (make_difference(-0.12, 0.06, 80, 900), "It scores 12 points in 100 games less"),
        (make_difference(0.12, 0.06, 80, 900), "By results it is no mistake: it scores 12 points"),
        (make_difference(-0.02, 0.06, 80, 900), "In results it is not clearly worse"),
        (make_difference(-0.3, 0.06, 20, 900), "Too few rated games to say"),
        (NO_DIFFERENCE, "Too few rated games to say"),
    ],
)
def test_a_cost_in_results_is_claimed_only_when_it_is_sure(cost: object, words: str) -> None:
    whole = with_whole(cost=cost).levels[-1]
    assert words in " ".join(said.cost(whole))


@pytest.mark.parametrize(
    ("swing", "words"),
    [
        (make_difference(-1.4, 0.5, 80, 900), "it loses 1.4 pawns more than they do."),
        (make_difference(1.4, 0.5, 80, 900), "it comes out 1.4 pawns ahead of them."),
        (make_difference(0.1, 0.5, 80, 900), None),
        (make_difference(-3.0, 0.5, 12, 900), None),
    ],
)
def test_material_is_told_only_when_it_is_sure(swing: object, words: str | None) -> None:
    told = " ".join(said.cost(with_whole(swing=swing).levels[-1]))
    assert ("In material" in told) == (words is not None)
    assert words is None or words in told


def test_mates_are_counted_apart() -> None:
    whole = with_whole(mated=0).levels[-1]
    assert "Mated within eight moves: 8 of 80 games." in list(
        said.cost(mistake_answer().levels[-1])
    )
    assert not any("Mated" in line for line in said.cost(whole))


def test_chances_and_finds_are_told_step_by_step() -> None:
    assert list(punished.finds(make_punishment(), "White", None)) == [
        "White had the chance 80 times and found 3. Nxe5 40 times (50 %).",
        "After 3... fxe5 there was the chance of 4. Qh5+ 28 times, found 19 times.",
    ]
    assert "3. Sxe5" in next(punished.finds(make_punishment(), "White", "de"))


def test_the_whole_line_is_summed_only_over_steps_with_enough_games() -> None:
    whole = make_punishment().levels[-1]
    assert punished.would_know(whole) is None
    enough = replace(
        whole, steps=(whole.steps[0], replace(whole.steps[1], found=make_rate(19, 34, 30)))
    )
    assert punished.would_know(enough) == (
        "The whole line would be found in 34 of 100 chances (19 to 50)."
    )
    assert punished.would_know(replace(enough, steps=enough.steps[:1])) is None


def test_a_punishment_that_scores_worse_is_told_plainly() -> None:
    worse = make_punishment(worse_than_alternatives=True)
    assert punished.gain(worse, "White", None) == (
        "As played here, 3. Nxe5 scores worse than the other moves of White: "
        "choose or teach another answer."
    )


@pytest.mark.parametrize(
    ("gain", "words"),
    [
        (make_difference(0.14, 0.1, 40, 40), "3. Nxe5 scores 14 points in 100 games more"),
        (make_difference(0.04, 0.1, 40, 40), "In results 3. Nxe5 is not clearly better"),
        (make_difference(0.14, 0.1, 12, 40), None),
    ],
)
def test_the_gain_is_claimed_only_when_it_is_sure(gain: object, words: str | None) -> None:
    punishment = make_punishment()
    *levels, whole = punishment.levels
    told = punished.gain(
        replace(punishment, levels=(*levels, replace(whole, gain=gain))), "White", None
    )
    assert (told is None) if words is None else words in str(told)


@pytest.mark.parametrize(
    ("chosen_by", "words"), [("rules", "it mates"), ("numbers", "by the numbers")]
)
def test_it_is_said_how_the_punishment_was_chosen(chosen_by: str, words: str) -> None:
    assert words in str(punished.chosen(make_punishment(chosen_by=chosen_by)))
    assert punished.chosen(make_punishment()) is None


def test_without_a_punishment_one_is_asked_for() -> None:
    assert "name a punishment with --punish" in list(lead(never_made()))[-1]
    assert not any("--punish" in line for line in lead(mistake_answer()))


def test_the_escape_to_prepare_for_is_the_commonest() -> None:
    whole = make_punishment().levels[-1]
    assert list(punished.prepare_for(whole, "Black", None)) == [
        "Prepare for 3... Qe7: Black escaped so in 12 of 40 games (30 %)."
    ]
    first = replace(whole.steps[1], between=whole.steps[1].between[:1])
    assert not list(
        punished.prepare_for(replace(whole, steps=(whole.steps[0], first)), "Black", None)
    )


def test_answers_are_numbered_from_either_side() -> None:
    white, black = make_punishment().levels[-1].steps[1], make_punishment().levels[-1].steps[0]
    assert punished.answer_number(white) == "3..."
    assert punished.answer_number(replace(black, number="4...")) == "4."


def test_other_ways_to_the_position_are_told_apart() -> None:
    assert "2 games reached the position" in str(punished.other_ways(make_punishment()))
    assert punished.other_ways(make_punishment(other_ways=0)) is None


@pytest.mark.parametrize(
    ("helped", "words"),
    [
        (make_helped(), "what one would see if the lesson helped; it is no proof that it did"),
        (make_helped(change=0.12), "no sign that the lesson helped"),
        (make_helped("punishing", change=0.12), "punishes it more often since then"),
        (make_helped("punishing"), "no sign that the lesson helped"),
        (make_helped(change=-0.02), "nothing is shown either way"),
        (make_helped(class_after=make_rate(1, 9, 4)), "Too few games of the class to say: 60"),
        (make_helped(beyond=NO_DIFFERENCE), "Too few games of the class to say"),
    ],
)
def test_a_lesson_is_not_said_to_have_helped(helped: object, words: str) -> None:
    told = beside.helped(helped)  # type: ignore[arg-type]
    assert words in told
    assert "because" not in told


def test_who_is_compared_and_who_is_left_out() -> None:
    notes = list(beside.helped_notes(make_helped(undated=3, not_found=("Ada Marsh", "B. Quill"))))
    assert "3 games left out" in notes[1]
    assert notes[2] == "2 members of the class: no game of theirs under that name."
    assert len(list(beside.helped_notes(make_helped()))) == 1


@pytest.mark.parametrize(
    ("seen", "words"),
    [
        (Evaluation(1.48, None, "Nxe5", 14), "White is ahead by 1.5 pawns"),
        (Evaluation(-0.3, None, "Nc6", 14), "Black is ahead by 0.3 pawns"),
        (Evaluation(0.01, None, "Nc6", None), "the sides are level"),
        (Evaluation(None, 1, "Qxf7#", 2), "White mates in 1"),
        (Evaluation(None, -3, "Qh4+", 9), "Black mates in 3"),
        (Evaluation(None, 0, None, None), "it is mate"),
        (Evaluation(None, None, "Nc6", None), "it gives no score"),
    ],
)
def test_an_engines_opinion_is_marked_as_one(seen: Evaluation, words: str) -> None:
    line = parse_position("e4 e5 Nf3 f6")
    case = Case(mistake_answer(), line, opinion=Opinion("Toy", (seen, seen)))
    told = str(beside.opinion(case))
    assert told.startswith("An engine's opinion, not a count of games (Toy")
    assert f"before 2... f6 {words}" in told
    assert beside.opinion(Case(mistake_answer(), line)) is None


@pytest.mark.parametrize(
    ("line", "words"),
    [
        # Facts of the rules, computed with python-chess.
        (
            "e4 e5 Nf3 f6 Nxe5 fxe5 Qh5+",
            "Check, 2 replies: Ke7 and g6. Attacks e5 and Ke8 at once.",
        ),
        ("e4 e5 Nf3", "Attacks e5. Material even."),
        ("e4 e5 Nf3 f6 Nxe5", "White is ahead by 1 pawn."),
        ("f3 e5 g4 Qh4#", "Mate."),
        ("7k/8/6K1/8/8/8/5Q2/8 w - - 0 1 Qf7", "Stalemate."),
        ("e4 e5 Nf3 f6 Nxe5 fxe5 Qh5+ Ke7 Qxe5+", "Check, 1 reply: Kf7."),
    ],
)
def test_facts_of_a_move_are_told_in_words(line: str, words: str) -> None:
    assert words in beside.fact(line_facts(parse_position(line))[-1])


def test_a_mistake_has_its_number_where_a_line_is_known() -> None:
    assert said.mistake_move(mistake_answer()) == "2... f6"
    white = mistake_answer(position=make_position(("e4", "e5")), line="1. e4 e5 2. Ke2", san="Ke2")
    assert said.mistake_move(white, "de") == "2. Ke2"
    assert said.mistake_move(mistake_answer(line="")) == "f6"
    assert punished.times(0) == "never"
    assert punished.times(1) == "once"
