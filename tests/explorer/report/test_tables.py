"""What stands in the tables of the three questions."""

from __future__ import annotations

import csv
import io
from dataclasses import replace

from explorer.query.filters import Filters
from explorer.query.model import LevelCount
from explorer.report.formats import to_csv, to_markdown, to_text
from explorer.report.games_table import games_table
from explorer.report.grouped import WORDINGS
from explorer.report.tables import (
    orders_table,
    parting,
    position_title,
    replies_table,
)
from ingest.levels import UNRATED, Level, bands
from tests.support.answers import (
    games_answer,
    make_game,
    make_source,
    nothing_played,
    orders_answer,
    replies_answer,
)

EXPECTED = """\
1. e4 e5 2. Nf3 - King's Knight Opening
Black to move. 1,917 games by 443 players reached this position.
Players of every level, any pace.

                  Share                             Against  Rated
Reply  Share    between  Games  Players  Score  expectation  games
-----  -----  ---------  -----  -------  -----  -----------  -----
Nc6     59 %    56-61 %  1,121      841   0.48        +0.01  1,008
"""


def test_the_replies_begin_with_the_main_columns() -> None:
    assert to_text(replies_table(replies_answer())).startswith(EXPECTED)


def test_every_line_of_the_replies_fits_80_columns() -> None:
    for columns in ("main", "all"):
        lines = to_text(replies_table(replies_answer(), columns)).splitlines()
        assert max(map(len, lines)) <= 80


def test_the_levels_stand_side_by_side_with_their_games_below() -> None:
    lines = to_text(replies_table(replies_answer())).splitlines()
    assert "f6        11   8.1    3.8    1.6    0.4   <2.7   <6.0  <24*      5.6" in lines
    assert "games    240   310    420    380    260    140     60    12       90" in lines


def test_few_games_are_marked_and_explained() -> None:
    text = to_text(replies_table(replies_answer()))
    assert "\na6*" in text
    assert "* fewer than 30 games or 5 players: too few to say." in text
    assert 'Among the levels "<" means: not seen there' in text


def test_signs_that_do_not_occur_are_not_explained() -> None:
    answer = replies_answer()
    levels = answer.replies[0].levels
    common = replace(answer.replies[0], levels=(*levels[:7], levels[0], levels[8]))
    text = to_text(replies_table(replace(answer, replies=(common,))))
    assert "too few to say" not in text
    assert "not seen" not in text


def test_one_player_is_named_in_a_note_and_odd_sources_too() -> None:
    source = make_source(vague_dates=3, expectation="library")
    text = to_text(replies_table(replies_answer(source=source)))
    assert "Qe7: one player made 53 of these 60." in text
    assert "3 games left out" in text
    assert "Expected scores come from this library" in text


def test_all_columns_add_the_rest() -> None:
    main = to_text(replies_table(replies_answer()))
    rest = to_text(replies_table(replies_answer(), "all"))
    for head in ("Wins", "Performance", "Swing", "Leads to"):
        assert head not in main
        assert head in rest
    assert "Damiano Defence" in rest


def test_the_csv_has_every_value_in_either_choice_of_columns() -> None:
    answer = replies_answer()
    assert to_csv(replies_table(answer)) == to_csv(replies_table(answer, "all"))
    rows = list(csv.DictReader(io.StringIO(to_csv(replies_table(answer))[1:])))
    assert [row["Reply"] for row in rows] == [reply.san for reply in answer.replies]
    for row, reply in zip(rows, answer.replies, strict=True):
        assert int(row["Games"]) == reply.games
        assert float(row["Share"]) == round(reply.share or 0.0, 4)
        assert float(row["Share to"]) == round(reply.share_high or 0.0, 4)
        for level in reply.levels:
            assert int(row[f"{level.label}: games"]) == level.games
            assert int(row[f"{level.label}: of"]) == level.of


def test_other_bands_make_other_columns() -> None:
    cuts = (900, 1500)
    common = replies_answer().replies[0]
    answer = replies_answer(
        Filters(cuts=cuts), replies=(replace(common, levels=common.levels[:4]),)
    )
    heads = [column.head for column in replies_table(answer).columns]
    assert [level.label for level in bands(cuts)] == heads[8:12]


def test_a_level_filter_hides_the_levels_without_games_but_not_from_files() -> None:
    cuts, common = (900, 1500), replies_answer().replies[0]
    counts = tuple(
        LevelCount(level.label, level.low, level.high, games)
        for level, games in zip(bands(cuts), (0, 7, 0, 3), strict=True)
    )
    parts = {"levels": counts, "replies": (replace(common, levels=common.levels[:4]),)}
    chosen = Filters(levels=(Level(900, None), UNRATED), cuts=cuts)
    table = replies_table(replies_answer(chosen, **parts), "all")
    assert [
        c.head for c in table.columns if c.group == WORDINGS["level"].title and not c.data_only
    ] == [
        "900-1499",
        "unrated",
    ]
    assert "under 900" not in to_text(table) + to_markdown(table)
    assert "under 900: share" in to_csv(table)
    everybody = to_text(replies_table(replies_answer(Filters(cuts=cuts), **parts)))
    assert "under" in everybody


def test_nobody_went_on() -> None:
    text = to_text(replies_table(nothing_played()))
    assert "Both games stop here: 2 by mate or stalemate." in text
    assert "Expected scores" not in text
    assert "| Reply |" in to_markdown(replies_table(nothing_played()))


def test_titles() -> None:
    assert position_title("", None) == "The starting position"
    assert position_title(None, None) == "The position"
    assert position_title("1. Nf3", "Réti\x1b[2J", "de") == "1. Sf3 - Réti"


def test_the_only_game_is_called_so() -> None:
    one = replace(orders_answer(), games=1)
    assert "Move orders of the only game that reached this position." in orders_table(one).lead


def test_move_orders_say_where_they_part() -> None:
    text = to_text(orders_table(orders_answer()))
    assert "1. Nf3 e5 2. e4        70  3.7 %  1 (White)" in text
    assert "1 (Black)" in text
    assert "4 rarer move orders are counted but not shown." in text
    one = to_text(orders_table(replace(orders_answer(), orders_left_out=1)))
    assert "1 rarer move order is counted but not shown." in one
    all_shown = replace(orders_answer(), orders_left_out=0)
    assert "rarer" not in to_text(orders_table(all_shown))


def test_move_orders_part_at_the_move_of_their_own_start() -> None:
    """A game that begins with Black's seventh move parts there, not at White's first."""
    assert parting(0, "8/5k2/8/8/8/8/5K2/8 b - - 0 7") == "7 (Black)"
    assert parting(1, "8/5k2/8/8/8/8/5K2/8 b - - 0 7") == "8 (White)"
    assert (parting(3), parting(None)) == ("2 (Black)", "")


def test_games_have_results_as_words_and_no_names() -> None:
    table = games_table(games_answer())
    for text in (to_text(table), to_csv(table), to_markdown(table)):
        assert "White won" in text
        assert "Black won by" in text
        assert "Quill" not in text
    assert "2025.??.??" in to_csv(table)


def test_a_column_without_a_value_is_for_files_only() -> None:
    """Names that are not shown leave their room to the rest, so that a row stays one line."""
    table = games_table(games_answer())
    assert "White rating" in to_csv(table).splitlines()[0]
    assert ",White," in to_csv(table).splitlines()[0]
    assert to_text(table).count("2025.09.14") == 1
    assert "Quill, Ben" in to_text(games_table(games_answer(), names="full"))


def test_games_of_a_student_show_initials_and_full_names_on_request() -> None:
    answer = games_answer(make_game(), filters=Filters(player="ada marsh"))
    assert "A. M." in to_text(games_table(answer))
    assert "Quill, Ben" in to_csv(games_table(answer, names="full"))
    assert "\nNothing" not in to_text(games_table(answer))


def test_a_game_that_stops_at_the_position_has_no_reply() -> None:
    row = make_game(reply=None, result="*")
    assert "unknown" in to_text(games_table(games_answer(row)))
