"""The tables of costly replies, and of the step between two levels."""

from __future__ import annotations

import csv
import io
from dataclasses import replace

import pytest

from explorer.report import costly_words as said
from explorer.report import mistake_words
from explorer.report.costly_tables import compare_table, costly_table
from explorer.report.formats import to_csv, to_markdown, to_text
from explorer.report.tables import Table
from tests.support.answers import make_position
from tests.support.mistake_answers import (
    compare_answer,
    costly_answer,
    make_costly,
    make_difference,
)


def rows_of(table: Table) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(to_csv(table)[1:])))


TABLES = [costly_table(costly_answer()), compare_table(compare_answer())]


@pytest.mark.parametrize("table", TABLES)
def test_every_line_fits_80_columns(table: Table) -> None:
    assert max(map(len, to_text(table).splitlines())) <= 80
    assert to_markdown(table)


@pytest.mark.parametrize("table", TABLES)
def test_a_table_file_has_every_number_once(table: Table) -> None:
    heads = next(csv.reader(to_csv(table)[1:].splitlines()))
    assert len(set(heads)) == len(heads)
    first = rows_of(table)[0]
    for head, value in {
        "Reply": "2... f6",
        "Line": "1. e4 e5 2. Nf3 f6",
        "Opening": "Damiano Defence",
        "Points lost in 100": "0.066",
        "Lost to": "0.1",
        "Share": "0.0418",
        "Times": "80",
        "Share of all games": "0.0055",
        "Beside the others": "-0.12",
        "Found by": "both",
        "Instead": "2... Nc6",
        "Punished by": "3. Nxe5",
        "Chances to punish": "78",
    }.items():
        assert first[head] == value, head


def test_what_cannot_be_said_is_left_empty() -> None:
    second = rows_of(TABLES[0])[1]
    assert second["Lost from"] == second["Instead"] == second["Punished by"] == ""
    assert second["Chances to punish"] == ""


def test_the_step_has_the_share_at_both_levels() -> None:
    first = rows_of(TABLES[1])[0]
    assert (first["800-999: share"], first["1200-1399: share"]) == ("0.0418", "0.0158")
    assert first["Change"] == "-0.03"
    text = to_text(TABLES[1])
    assert "From 800-999 to 1200-1399: what to practise" in text
    assert "Of 5 costly replies of players rated 800-999, those below are clearly rarer" in text


def test_a_cost_on_few_games_is_marked_and_explained() -> None:
    few = make_costly(cost=make_difference(-0.2, 0.3, 12, 900))
    text = to_text(costly_table(costly_answer(found=(few,))))
    assert "0.07*" in text
    assert "-0.20*" in text
    assert "* fewer than 30 games or 5 players: too few to say." in text
    assert "too few to say" not in to_text(TABLES[0])


def test_piece_letters_are_those_asked_for() -> None:
    text = to_text(costly_table(costly_answer(), letters="de"))
    assert "2... Sc6" in text
    assert "Nc6" not in text


def test_nothing_found_is_a_table_without_rows() -> None:
    nothing = costly_answer(found=(), found_left_out=0, candidates=1, could_show=None)
    text = to_text(costly_table(nothing))
    assert "1 reply up to move 8 had enough games; none of them costs more" in text
    none = costly_answer(found=(), found_left_out=0, candidates=0, could_show=None)
    assert "No reply up to move 8 had enough games to be looked at." in to_text(costly_table(none))
    one = costly_answer(found=(make_costly(),), found_left_out=0)
    assert "one of them costs more" in to_text(costly_table(one))
    assert said.left_out(one) is None


@pytest.mark.parametrize(
    ("changes", "title"),
    [
        ({}, "What Black can practise in the opening"),
        ({"side": None}, "What either side can practise in the opening"),
        (
            {"position": make_position(("e4", "e5"))},
            "What Black can practise after 1. e4 e5",
        ),
        (
            {"position": replace(make_position(), line=None)},
            "What Black can practise from this position",
        ),
    ],
)
def test_the_title_says_whose_replies_and_from_where(changes, title: str) -> None:
    assert said.title(costly_answer(**changes)) == title


def test_moves_are_numbered_from_either_side_and_bare_without_a_line() -> None:
    black = make_costly()
    assert (said.label(black), said.answered(black)) == ("2... f6", "3. Nxe5")
    white = make_costly(
        position=make_position(("e4", "e5")), line="1. e4 e5 2. Qh5", san="Qh5", punisher="Nc6"
    )
    assert (said.label(white), said.answered(white)) == ("2. Qh5", "2... Nc6")
    bare = make_costly(line="")
    assert (said.label(bare), said.answered(bare)) == ("f6", "Nxe5")


def test_points_that_round_to_nothing_are_told_so() -> None:
    assert said.points(0.004) == "less than 0.01 points"
    assert said.points(0.066) == "0.07 points"


@pytest.mark.parametrize(
    ("label", "words"),
    [
        ("under 800", "players under 800"),
        ("2000 and over", "players rated 2000 and over"),
        ("unrated", "unrated players"),
    ],
)
def test_a_level_is_named_by_its_players(label: str, words: str) -> None:
    answer = compare_answer(higher=label)
    assert f"and in 1.6 by {words}." in said.outgrown(answer.outgrown[0], answer)


@pytest.mark.parametrize(
    ("cost", "words"),
    [
        (make_difference(-0.12, 0.06, 72, 900), "it happens in 0.6 and costs 0.07 points."),
        (make_difference(-0.05, 0.06, 72, 900), "in results its cost is not sure"),
        (make_difference(-0.3, 0.1, 12, 900), "too few rated games say what it costs"),
    ],
)
def test_a_cost_in_points_is_claimed_only_when_it_is_sure(cost, words: str) -> None:
    assert words in said.says(make_costly(cost=cost), "players of every level")


LOSS = "the results do not show a loss of points."


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        (
            {},
            "it costs material: 1.4 pawns more than the other replies, by about four moves later; "
            f"{LOSS}",
        ),
        (
            {"swing": make_difference(3.2, 0.5, 76, 900)},
            f"in 8 of 80 games with it mate followed within eight moves; {LOSS}",
        ),
        (
            {"swing": make_difference(-0.2, 0.5, 76, 900), "mated": 0},
            f"it costs more material than such players usually lose; {LOSS}",
        ),
    ],
)  # fmt: skip
def test_what_only_material_shows_is_told_as_material(changes, words: str) -> None:
    costly = make_costly(found_by="material", **changes)
    assert said.says(costly, "players of every level").endswith(words)


@pytest.mark.parametrize(
    ("found", "words"),
    [
        (("both", "material"), "1 of those listed was found by material alone."),
        (("both", "material", "material"), "2 of those listed were found by material alone."),
        (("material", "material"), "All of those listed were found by material alone."),
        (("material",), "It was found by material alone."),
        (("results", "both"), None),
    ],
)
def test_material_given_up_on_purpose_is_warned_of(found, words: str | None) -> None:
    answer = costly_answer(found=tuple(make_costly(found_by=by) for by in found))
    told = [line for line in said.summary(answer) if "on purpose, as in a gambit" in line]
    assert [line[: len(words or "")] for line in told] == ([words] if words else [])


def test_a_better_reply_is_advised_only_where_results_show_the_cost() -> None:
    assert said.practise(make_costly()) == "To practise: 2... Nc6."
    unsure = make_costly(cost=make_difference(-0.05, 0.06, 72, 900))
    assert said.practise(unsure) is None
    assert said.practise(make_costly(found_by="material")) is None
    assert said.practise(make_costly(instead=None)) is None


def test_two_levels_without_findings_are_said_to_have_nothing_to_compare() -> None:
    nothing = costly_answer(found=(), found_left_out=0, too_small=2)
    lines = list(said.compare_summary(compare_answer(answer=nothing, outgrown=())))
    assert lines[0].endswith("more than the others played there, all too little to list.")
    assert lines[1].startswith("So there is nothing that players rated 1200-1399 can be seen")
    assert "4 times in 5" in lines[2]
    notes = compare_table(compare_answer(answer=nothing, outgrown=())).notes
    assert any("2 more were found" in note for note in notes)
    assert said.LOST_NOTE not in notes


@pytest.mark.parametrize(
    ("too_small", "left_out", "summary"),
    [
        (0, 3, "; 5 of them cost more than the others played there."),
        (
            1,
            3,
            "; 6 of them cost more than the others played there, 1 of these too little to list.",
        ),
        (31, 0, "; 31 of them cost more than the others played there, all too little to list."),
        (1, 0, "; one of them costs more than the others played there, but too little to list."),
    ],
)
def test_how_many_are_too_small_is_said(too_small: int, left_out: int, summary: str) -> None:
    found = costly_answer().found if left_out else ()
    answer = costly_answer(found=found, found_left_out=left_out, too_small=too_small)
    assert next(iter(said.summary(answer))).endswith(summary)


def test_the_size_of_what_is_listed_is_said_to_be_a_choice() -> None:
    note = said.size_note(costly_answer(too_small=31))
    assert "at least 2 points in 100 games with the reply" in note
    assert "at least 0.5 pawns" in note
    assert "31 more were found that cost less; --at-least 0 lists everything." in note
    assert "it changes neither them nor their correction" in note
    one = said.size_note(costly_answer(at_least=1.0, too_small=1))
    assert "at least 1 point in 100" in one
    assert "1 more was found" in one
    assert "more were found" not in said.size_note(costly_answer())
    assert said.size_note(costly_answer(at_least=0.0)).startswith("Everything that was found")


def test_that_costs_allow_for_the_level_is_said_on_both_pages() -> None:
    assert "allow for what players of each level score" in " ".join(TABLES[0].notes)
    assert "costly replies allows for the level" in mistake_words.COST_NOTE
