"""A draft on the screen and in its file: what is said, and that the file is good PGN."""

from __future__ import annotations

import io
import json
from dataclasses import replace

import chess.pgn
import pytest

from explorer.query.draft_model import DraftAnswer, DraftMove, DraftStep, Skipped
from explorer.query.filters import Filters
from explorer.query.lesson_model import States
from explorer.query.model import Source
from explorer.report import draft_words as said
from explorer.report.draft_tables import draft_file, draft_json, draft_tables
from explorer.report.formats import to_csv, to_text
from explorer.report.lesson_pgn import draft_pgn
from ingest.levels import Level

START = chess.STARTING_FEN
OPEN = "rnbqkbnr/pppp1ppp/8/4p3/4P3/8/PPPP1PPP/RNBQKBNR w KQkq - 0 1"
STEP = DraftStep(
    line="",
    fen=START,
    san="e4",
    uci="e2e4",
    chosen_by="teacher",
    level="1200-1399",
    games=60,
    players=50,
    of=100,
    share=0.6,
    rather_than=None,
    reached=1.0,
    adds=1.0,
    answered=(1.0, 0.0),
)
NEXT = replace(
    STEP,
    line="1. e4 e5",
    fen=OPEN,
    san="Nf3",
    uci="g1f3",
    chosen_by="numbers",
    level="1200-1599",
    rather_than="Qh5",
    reached=0.57,
    adds=0.57,
    answered=(1.0, 0.57),
)
LINES = (
    DraftMove(0, "e4", "e2e4", 1),
    DraftMove(1, "e5", "e7e5", None, 570, 1000, 57.0),
    DraftMove(2, "Nf3", "g1f3", 2),
    DraftMove(1, "c5", "c7c5", None, 45, 1000, 4.5, True, "1. e4 e5"),
)
STATES = (
    States(1, 1.0, 0, 0, 0, 0, 1.0, None, None),
    States(2, 0.57, 0, 0, 0.43, 0, 0.57, 0.5, 0.64),
)
SOURCE = Source(
    collections=("club",),
    expectation="fide",
    vague_dates=0,
    rating_scales=(),
    plies=40,
    people=("Vane, Amber",),
)
ANSWER = DraftAnswer(
    side="white",
    start="",
    filters=Filters(levels=(Level(800, 1199),), collections=("Vane, Amber",)),
    source=SOURCE,
    games=1000,
    to_move=2,
    positions=25,
    worth=0.5,
    model_level="1200-1399",
    allow_fading=False,
    moves=(1, 2),
    steps=(STEP, NEXT),
    states=STATES,
    objective=1.57,
    skipped=(Skipped("1. e4 c5", OPEN, 4.5, "few"), Skipped("1. e4 f6", OPEN, 2, "refused", "Qh5")),
    stopped="worth",
    next_in_100=0.3,
    lines=LINES,
)


def text(answer: DraftAnswer, letters: str | None = None) -> str:
    whole = "\n".join(to_text(table) for table in draft_tables(answer, letters))
    return " ".join(whole.split())


def test_the_first_sentence_tells_half_the_positions_and_all_of_them() -> None:
    own = replace(STEP, chosen_by="numbers")
    two = replace(ANSWER, steps=(own, NEXT))
    assert "2 positions answer 57 % (50 to 64) up to move 2; 1 position answers 0 %." in text(two)
    one = replace(ANSWER, steps=(own,), states=STATES[:1], moves=(1,), objective=1.0)
    assert "1 position answers 100 % up to move 1." in text(one)


def test_half_of_the_positions_is_half_of_those_beyond_the_given_line() -> None:
    assert "2 positions answer 57 % (50 to 64) up to move 2." in text(ANSWER)
    assert said.milestones(ANSWER) == [2]
    nine = replace(ANSWER, steps=(STEP, *[NEXT] * 8))
    assert said.milestones(nine) == [3, 5, 7, 9]
    assert "9 positions answer 57 % (50 to 64) up to move 2; 5 positions answer" in text(nine)


def test_it_is_told_up_to_the_last_move_at_which_half_of_the_games_are_answered() -> None:
    later = replace(STATES[1], move=3, answered=0.4)
    assert said.told_at(replace(ANSWER, states=(*STATES, later))) == 1
    assert said.told_at(replace(ANSWER, states=(later,))) == 0


def test_the_sum_of_the_answered_share_is_told_as_turns_with_an_answer() -> None:
    assert said.on_average(ANSWER) == (
        "At moves 1 to 2 a student has an answer 1.6 times on average, of 2."
    )
    assert said.on_average(replace(ANSWER, moves=(3,))).startswith("At move 3 a student")


@pytest.mark.parametrize(
    ("stopped", "words"),
    [
        ("worth", "the next position is met in 0.3 of 100 games, which is less than --worth 0.5."),
        ("positions", "Stopped at --positions 25; the next one to look at is met in 0.3 of 100"),
        ("nothing left", "there is no other position up to this move"),
    ],
)
def test_it_says_why_it_stopped(stopped: str, words: str) -> None:
    assert words in said.stopped(replace(ANSWER, stopped=stopped))


def test_each_number_stands_beside_its_games_and_moves_have_numbers() -> None:
    told = text(ANSWER)
    assert "2 2. Nf3 1. e4 e5 57" in told
    assert "2 60 % 60 100 50 1200-1599" in told
    assert "1 60 % 60 100 50 you" in told
    black = replace(STEP, line="1. e4", fen="x b", san="c5")
    assert said.answered(black) == "1... c5"


def test_positions_without_an_answer_are_told_with_the_reason() -> None:
    told = text(ANSWER)
    assert "1. e4 c5 4.5 no move has enough games" in told
    assert "1. e4 f6 2.0 Qh5 is not to be taught" in told
    assert "yours to choose" not in text(replace(ANSWER, skipped=()))
    many = replace(ANSWER, skipped=ANSWER.skipped * 6)
    assert "2 more positions, met less often." in text(many)


def test_footnotes_tell_what_fades_what_is_borrowed_and_how_far_greed_is_good() -> None:
    told = text(ANSWER)
    assert "More common, but fading with strength: Qh5 (2. Nf3 instead)." in told
    assert "1 answer of players of other levels too: too few games of 1200-1399." in told
    assert "neighbouring levels count too" in told
    assert "where lines merge, others may" in told
    assert "--allow-fading" in told
    own = replace(NEXT, level="1200-1399", rather_than=None)
    plain = replace(ANSWER, allow_fading=True, lines=LINES[:3], steps=(STEP, own))
    assert "--allow-fading" not in text(plain)
    assert "neighbouring" not in text(plain)


def test_a_move_of_too_few_is_marked_with_a_footnote() -> None:
    few = replace(ANSWER, steps=(STEP, replace(NEXT, of=20, games=10, share=0.5)))
    assert "50 %*" in text(few)
    assert "fewer than 30 games or 5 players" in text(few)


def test_piece_letters_of_another_language_are_for_the_screen_not_for_the_file() -> None:
    assert "2. Sf3" in text(ANSWER, "de")
    assert "Nf3" in draft_pgn(ANSWER)


def test_a_spreadsheet_gets_every_position_with_the_whole_curve() -> None:
    head, first, second = to_csv(draft_file(ANSWER)).splitlines()
    assert head.endswith("Answered at move 1,Answered at move 2")
    assert first.startswith("1,1. e4,,1,0.6,60,100,50,you,1,0")
    assert second.startswith("2,2. Nf3,1. e4 e5,0.57,")


def test_json_has_the_fields_and_hides_names() -> None:
    fields = json.loads(draft_json(ANSWER))
    assert fields["steps"][1]["answered"] == [1.0, 0.57]
    assert fields["filters"]["levels"] == ["800-1199"]
    assert "Amber" not in draft_json(ANSWER)
    assert "Amber" in draft_json(ANSWER, "full")


def test_the_file_reads_back_with_its_variations_and_comments() -> None:
    game = chess.pgn.read_game(io.StringIO(draft_pgn(ANSWER)))
    assert game
    assert not game.errors
    assert [node.san() for node in game.mainline()] == ["e4", "e5", "Nf3"]
    after = game.next()
    assert after
    assert [node.san() for node in after.variations] == ["e5", "c5"]
    comments = [" ".join(node.comment.split()) for node in (after, *after.variations)]
    assert comments == [
        "The line to start with. 60% of 100 games of level 1200-1399.",
        "57% of 1,000 games; met in 57 of 100 games.",
        "4.5% of 1,000 games, neighbouring levels included; met in 4.5 of 100 games. "
        "The same position as after 1. e4 e5.",
    ]
    last = game.end().comment
    assert "Qh5 is more common, but fades with strength." in " ".join(last.split())


def test_the_file_is_of_export_format_and_names_nobody() -> None:
    """Section 8 of the PGN standard: lines under 80; none begins with %, which section 6 hides."""
    written = draft_pgn(replace(ANSWER, start="1. e4", lines=LINES))
    assert written.startswith('[Event "Lesson for White: 1. e4, opponents rated 800 to 1199"]\n')
    for line in written.splitlines():
        assert len(line) < 80
        assert not line.startswith("%")
    for tag in ("Site", "Round", "White", "Black"):
        assert f'[{tag} "?"]' in written
    assert "Amber" not in written


def test_a_preferred_move_without_games_says_where_it_is_from_and_no_share() -> None:
    step = replace(STEP, chosen_by="preferred", games=0, of=0, share=None, level="all levels")
    assert said.comment(LINES[0], step) == "From the preferred file."
    step = replace(step, games=3, of=30, share=0.1)
    assert said.comment(LINES[0], step) == "From the preferred file. 10% of 30 games of all levels."
    assert said.chosen_by(step) == "your file"
    assert said.comment(DraftMove(0, "e4", "e2e4"), None) == ""
