"""Each plain sentence says what the numbers bear, and no more."""

from __future__ import annotations

from dataclasses import replace

import pytest

from explorer.query.model import Ended, Reply
from explorer.report import sentences
from explorer.report.privacy import Veil
from ingest.levels import bands
from tests.support.answers import make_position, make_source, nothing_played, replies_answer

REPLIES = {reply.san: reply for reply in replies_answer().replies}


def said(reply: Reply) -> str:
    return sentences.reply_sentence(reply, bands())


def test_a_mistake_of_beginners_is_told_with_its_level_and_cost() -> None:
    assert said(REPLIES["f6"]) == (
        "About 1 in 9 players under 800 choose this; overall it costs 1.4 pawns on average."
    )


def test_a_level_is_named_only_when_it_stands_out() -> None:
    assert said(REPLIES["Nf6"]) == "About 1 in 8 players choose this; it scores about as expected."


def test_few_games_are_no_claim() -> None:
    assert said(REPLIES["a6"]) == "12 games: too few to say."
    by_one = replace(REPLIES["Nf6"], players=2)
    assert said(by_one) == "245 games by 2 players: too few to say."


def test_a_gain_a_bad_score_and_an_unknown_one_have_their_words() -> None:
    reply = replace(REPLIES["Nf6"], swing=0.8)
    assert said(reply).endswith("it wins 0.8 pawns on average.")
    assert said(REPLIES["Bc5"]).endswith("it scores 20 points in 100 games less than expected.")
    better = replace(REPLIES["Nf6"], over_expected=0.04, over_expected_low=0.01)
    assert said(better).endswith("it scores 4 points in 100 games more than expected.")
    unknown = replace(REPLIES["Nf6"], over_expected_low=None, swing=None)
    assert said(unknown).endswith("too few rated games to set its score against expectation.")


def test_a_gain_in_material_is_not_told_where_results_are_bad() -> None:
    """A pawn that is won and then costs the game is no gain, and the other way round."""
    reply = replace(REPLIES["f6"], swing=0.8)
    assert said(reply).endswith("it scores 12 points in 100 games less than expected.")
    gambit = replace(reply, swing=-0.8, over_expected=0.1, over_expected_low=0.05)
    assert said(gambit).endswith("it scores 10 points in 100 games more than expected.")


def test_half_of_the_players_reads_well() -> None:
    reply = replace(REPLIES["Nf6"], share=0.5)
    assert said(reply).startswith("About half the players choose this")


def test_expectation_needs_an_interval_and_enough_rated_games() -> None:
    reply = REPLIES["d6"]
    assert sentences.against_expectation(reply) == "worse"
    assert sentences.against_expectation(replace(reply, over_expected_games=29)) == "too few to say"
    assert sentences.against_expectation(replace(reply, over_expected_low=None)) == "too few to say"


def test_a_wide_interval_around_nothing_is_not_called_as_expected() -> None:
    reply = replace(REPLIES["Nf6"], over_expected_low=-0.2, over_expected_high=0.1)
    assert sentences.against_expectation(reply) == "no clear difference"
    assert said(reply).endswith("scores neither clearly more nor clearly less than expected.")


def test_one_player_who_made_more_than_a_third_is_told() -> None:
    assert sentences.one_player(REPLIES["Qe7"]) == "one player made 53 of these 60"
    assert sentences.one_player(REPLIES["Nc6"]) is None
    assert sentences.one_player(replace(REPLIES["Nc6"], games=1, top_player_games=1)) is None
    assert sentences.one_player(replace(REPLIES["Qe7"], players=1)) is None


def test_what_was_not_seen_has_its_upper_limit() -> None:
    told = sentences.not_seen_at(REPLIES["h6"])
    assert told is not None
    # Wilson upper limit of 0 in 240 is z^2 / (240 + z^2) = 1.6 in 100 (computed).
    assert "Not seen in 240 games of under 800 (at most 1.6 in 100)" in told
    assert "12 games" not in told
    assert sentences.not_seen_at(REPLIES["Nc6"]) is None


def test_mates_are_counted_beside_their_games() -> None:
    assert sentences.mated(REPLIES["f6"]) == "Mated within eight moves: 4 of 80 games."
    assert sentences.mated(REPLIES["a6"]) is None


def test_the_summary_names_the_commonest_replies() -> None:
    answer = replies_answer()
    assert sentences.summary(answer) == (
        "1,917 games by 443 players reached this position; Black's most common replies are "
        "Nc6 (59 %), d6 (18 %) and Nf6 (13 %)."
    )
    one = replace(answer, replies=answer.replies[:1])
    assert sentences.summary(one, "de").endswith("Black's most common reply is Sc6 (59 %).")
    assert sentences.summary(nothing_played()).endswith("; none of them went on.")
    hidden = replace(answer, replies=())
    assert sentences.summary(hidden).endswith("; no reply of Black to show.")


def test_the_summary_of_few_games_only_counts() -> None:
    answer = replies_answer()
    rare = tuple(
        replace(reply, games=games)
        for reply, games in zip(answer.replies, (29, 4, 1), strict=False)
    )
    assert sentences.summary(replace(answer, games=34, replies=rare)).endswith(
        "; Black played Nc6 in 29 of them, d6 in 4 and Nf6 in 1."
    )
    mixed = (answer.replies[0], *rare[1:])
    assert sentences.summary(replace(answer, replies=mixed)).endswith(
        "; Black's most common reply is Nc6 (59 %)."
    )


def test_the_end_of_a_game_is_called_by_its_name() -> None:
    mate = replace(nothing_played(), position=make_position(("f3", "e5", "g4", "Qh4")))
    assert sentences.summary(mate).endswith("reached this position; White is mated.")
    assert next(sentences.records(mate)) == "Both games stop here: 2 by mate."
    # Black's king on a8 has no move and is not attacked.
    draw = replace(mate.position, fen="k7/2Q5/1K6/8/8/8/8/8 b - - 0 1", to_move="black")
    assert sentences.to_move(draw) == "Black is stalemated"
    one = replace(mate, games=1, ended_here=1, ended=Ended(1, 0, 0))
    assert next(sentences.records(one)) == "The one game stops here: 1 by mate."


def test_records_that_stop_are_told_by_kind() -> None:
    told = list(sentences.records(replies_answer()))
    assert told == [
        "5 of 1,917 games stop here: 3 with a result given and 2 cut short. "
        "Shares are of the 1,912 that went on.",
        "4 games without a known result: counted in shares, not in scores.",
        "2 rarer replies are counted but not shown.",
        "3 move orders lead to this position.",
    ]
    one = replies_answer(ended_here=1, ended=Ended(0, 1, 0))
    assert next(sentences.records(one)).startswith("1 of 1,917 games stops here: 1 with a result")
    quiet = replies_answer(
        ended_here=0, ended=Ended(0, 0, 0), unknown_results=0, replies_left_out=1, move_orders=1
    )
    assert list(sentences.records(quiet)) == ["1 rarer reply is counted but not shown."]


def test_transposing_moves_are_told_with_name_and_count() -> None:
    plain, named = sentences.transpositions(replies_answer(), "de")
    assert plain == (
        "Sa6 was not played here; it leads to a position that 31 games reached another way."
    )
    assert "a position, the Modern Defence, that 12 games" in named


def test_vague_dates_and_mixed_scales_are_told() -> None:
    source = make_source(vague_dates=7, rating_scales=("FIDE", "club of Ada Marsh"))
    vague, mixed = sentences.origin(source, Veil("initials", "Ada Marsh"))
    assert vague.startswith("7 games left out: the date is too vague")
    assert "(FIDE and club of A. M.)" in mixed
    assert list(sentences.origin(make_source(rating_scales=("FIDE",)), Veil())) == []


@pytest.mark.parametrize(("kind", "text"), [("fide", "table 8.1.2"), ("library", "this library")])
def test_the_source_of_expected_scores_is_told(kind: str, text: str) -> None:
    assert text in sentences.expectation(make_source(expectation=kind))


def test_a_reply_of_one_player_is_no_statement_about_a_level() -> None:
    assert (
        said(REPLIES["Qe7"]) == "Played in about 1 in 32 games, but one player made 53 of these 60."
    )
