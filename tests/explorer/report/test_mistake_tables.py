"""The tables of a mistake: whose levels, which numbers, what is marked, within 80 columns."""

from __future__ import annotations

import csv
import io
from dataclasses import replace

import pytest

from explorer.positions.engine import Evaluation, Opinion
from explorer.positions.typed import parse_position
from explorer.query.filters import Filters
from explorer.report.formats import to_csv, to_markdown, to_text
from explorer.report.mistake_case import Case
from explorer.report.mistake_tables import levels_table, mistake_tables
from explorer.report.tables import Table
from ingest.levels import parse_level
from tests.support.answers import games_answer, make_source
from tests.support.mistake_answers import (
    make_helped,
    make_mistake_level,
    make_punishment,
    mistake_answer,
    never_made,
)

LINE = parse_position("e4 e5 Nf3 f6 Nxe5 fxe5 Qh5+")
OPINION = Opinion("Toy", (Evaluation(0.3, None, "Nc6", 14), Evaluation(1.5, None, "Nxe5", 14)))


def whole() -> tuple[Table, ...]:
    answer = mistake_answer(helped=(make_helped(), make_helped("punishing")))
    return mistake_tables(Case(answer, LINE, "d4", OPINION, games_answer()))


def lines_of(table: Table) -> list[str]:
    """The lines of a table, with single blanks."""
    return [" ".join(line.split()) for line in to_text(table).splitlines()]


def rows_of(table: Table) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(to_csv(table)[1:])))


def test_every_line_fits_80_columns() -> None:
    for table in whole():
        assert max(map(len, to_text(table).splitlines())) <= 80


def test_the_tables_follow_one_another() -> None:
    assert [table.title for table in whole()] == [
        "1. e4 e5 2. Nf3 f6 - Damiano Defence",
        "Is it punished? 3. Nxe5 fxe5 4. Qh5+",
        "How Black answers: what to prepare for",
        "The line by the rules alone",
        "Making the mistake: before and after 1 March 2026",
        "Punishing it: before and after 1 March 2026",
        "Example games, the shortest",
    ]


def test_the_two_numbers_in_100_games_have_their_games_beside_them() -> None:
    lines = lines_of(whole()[0])
    assert "In 100 games that such players have with Black" in lines
    assert "under 800 1.5 1.0-2.2 1,800 3.8 2.6-5.3 240" in lines


def test_numbers_on_too_little_are_marked_and_explained() -> None:
    text = "\n".join(map(to_text, whole()))
    assert "0 %*" in text
    assert "-0.12*" in text
    assert "* fewer than 30 games or 5 players, or mostly one player: too few to say." in text


def test_nothing_is_explained_that_does_not_occur() -> None:
    level = make_mistake_level("all levels", None, None, (80, 1912, 14500, 453))
    answer = mistake_answer(levels=(level,), punishment=None)
    text = to_text(mistake_tables(Case(answer, parse_position("e4 e5 Nf3 f6")))[-1])
    assert "too few to say" not in text
    assert "A chance is a game" not in text


def test_the_habit_of_one_player_stands_in_a_note() -> None:
    level = make_mistake_level("all levels", None, None, (84, 240, 1800, 60))
    level = replace(level, rate=replace(level.rate, top_player_cases=53))
    text = to_text(levels_table(mistake_answer(levels=(level,))))
    assert "all levels: one player made 53 of these 84." in text
    assert "all levels  35 %*" in text


def test_a_table_file_has_every_number_of_a_level_and_whose_finds_they_are() -> None:
    answer = mistake_answer()
    rows = rows_of(levels_table(answer))
    by_label = {level.label: level for level in answer.levels}
    for row in rows:
        level = by_label[row["Level"]]
        assert int(row["Times"]) == level.rate.cases
        assert float(row["Share of all games"]) == round(level.in_all_games.share or 0, 4)
        assert float(row["Share when headed for to"]) == round(level.headed_for_high or 0, 4)
    assert rows[-1]["White: 3. Nxe5: chances"] == "80"
    assert rows[-1]["White: 4. Qh5+: escaped before"] == "12"
    assert (rows[-1]["White: Gain"], rows[-1]["White: Score gain"]) == ("0.14", "0.11")
    heads = next(csv.reader(to_csv(levels_table(answer))[1:].splitlines()))
    assert len(set(heads)) == len(heads)


def test_levels_that_nobody_is_in_are_left_out() -> None:
    levels = mistake_answer().levels
    empty = make_mistake_level("1800-1999", 1800, 1999, (0, 0, 0, 0))
    answer = mistake_answer(
        Filters(levels=(parse_level("800-1199"),)), levels=(*levels[:6], empty, *levels[7:])
    )
    assert "1800-1999" in [row["Level"] for row in rows_of(levels_table(answer))]
    without = replace(answer, punishment=None)
    assert "1800-1999" not in [row["Level"] for row in rows_of(levels_table(without))]


def test_the_levels_of_chances_are_said_to_be_the_punishers() -> None:
    text = to_text(whole()[1])
    assert "Levels here are those of White, who may punish." in text
    assert "2000 and over" not in text
    assert "all levels 50 % 39-61 % 40 80 80" in lines_of(whole()[1])


def test_a_single_step_has_no_whole_line() -> None:
    punishment = make_punishment()
    levels = tuple(replace(level, steps=level.steps[:1]) for level in punishment.levels)
    one = mistake_answer(punishment=replace(punishment, levels=levels, sans=("Nxe5",)))
    titles = [table.title for table in mistake_tables(Case(one, LINE))]
    assert not any("How Black answers" in title for title in titles)
    text = to_text(mistake_tables(Case(one, LINE))[1])
    assert "Who would know" not in text
    assert "What its first move gains" in text
    assert "What it gains in plain score" in text


def test_the_facts_of_the_line_and_of_a_square_stand_move_by_move() -> None:
    lines = lines_of(whole()[3])
    assert "4. Qh5+ check 2 Ke7 g6 -2 e5 Ke8 e5 Ke8" in lines
    assert "Who bears on d4" in lines
    assert "2. Nf3 Nf3 e5" in lines
    without = mistake_tables(Case(mistake_answer(), LINE))[2]
    assert "Who bears on" not in to_text(without)
    assert "An engine's opinion" not in to_text(without)


def test_a_class_stands_beside_others_with_differences_in_100() -> None:
    rows = rows_of(whole()[4])
    assert [row["Who"] for row in rows] == [
        "the class",
        "others of its levels",
        "the class beyond them",
    ]
    assert any("-10.0 -18.0 to -2.0" in line for line in lines_of(whole()[4]))


def test_piece_letters_are_those_asked_for() -> None:
    tables = mistake_tables(Case(mistake_answer(), LINE, "d4"), letters="de")
    text = "\n".join(map(to_text, tables))
    assert "3. Sxe5" in text
    assert "Nxe5" not in text


def test_names_are_hidden_in_the_example_games_and_the_filters() -> None:
    filters = Filters(player="Ada Marsh")
    answer = mistake_answer(filters, source=make_source(people=("Quill, Ben",)))
    case = Case(answer, LINE, games=games_answer(filters=filters))
    hidden = "\n".join(map(to_text, mistake_tables(case)))
    assert "Marsh" not in hidden.replace("Marsh, Ada against all", "")
    assert "Quill" not in hidden
    assert "Marsh" in "\n".join(map(to_text, mistake_tables(case, names="full")))


@pytest.mark.parametrize("write", [to_text, to_markdown, to_csv])
def test_a_mistake_that_was_not_made_has_its_tables_too(write) -> None:
    tables = mistake_tables(Case(never_made(), parse_position("e4 e5 Nf3 f6")))
    assert all(write(table) for table in tables)
