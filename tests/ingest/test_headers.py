"""Tags as columns: by array operations where each fills a line, else game by game."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ingest.headers import TAGS, read_heads, table_of, tag_name
from ingest.reference import read_game

MOVES = "\n\n1. e4 e5 1-0"
WHOLE = '[Event "Cup"]\n[White "Ash, Ann"]\n[WhiteElo "1500"]\n[ECO "C20"]\n[Result "1-0"]'


def heads(*games: str, gap: str = "\n\n"):
    """The tags read of some texts, by text: None for one that is not read here."""
    parts = [game.encode() for game in games]
    between = len(gap.encode())
    starts = np.cumsum([0, *(len(part) + between for part in parts[:-1])])
    ends = starts + [len(part) for part in parts]
    found = read_heads(gap.encode().join(parts), starts, ends)
    rows = dict(zip(found.rows.tolist(), found.table.to_pylist(), strict=True))
    return [
        {tag: value for tag, value in rows[i].items() if value is not None} if i in rows else None
        for i in range(len(games))
    ]


def test_tags_that_each_fill_a_line_are_read_and_others_are_passed_over():
    expected = {"Event": "Cup", "White": "Ash, Ann", "WhiteElo": "1500", "Result": "1-0"}
    assert heads(WHOLE + MOVES) == [expected]


@pytest.mark.parametrize(
    "head",
    [
        '[Event "Cup"] [White "Ash, Ann"]',
        '[Event "Cup"]  \n[White "Ash, Ann"]',
        '[Event "Cup"]\n\n[White "Ash, Ann"]',
        '[Event "Cup"]\n  [White "Ash, Ann"]',
    ],
)
def test_tags_that_share_a_line_or_have_blanks_around_them_are_read_too(head):
    assert heads(head + MOVES) == [{"Event": "Cup", "White": "Ash, Ann"}]


@pytest.mark.parametrize(
    "head",
    [
        '[Event "The "Cup""]',
        '[Event "The \\"Cup\\""]',
        '[Event  "Cup"]',
        '[Event "Cup]',
        '[Event "]',
        '[Event "Cup"',
        "[Event Cup]",
        '[Evént "Cup"]',
        '[ "Cup"]',
        '[fen "8/8/8/8/8/8/8/8 w - - 0 1"]',
        '[SETUP "1"]',
        '[A "1"] [VARIANT "Atomic"]',
        '[Event "Cup"]\n(1. e4)',
    ],
)
def test_tags_that_can_be_read_in_more_than_one_way_are_not_read_here(head):
    assert heads(WHOLE + MOVES, head + MOVES, WHOLE + MOVES)[1] is None


def test_of_two_tags_of_one_name_the_latest_counts():
    assert heads('[Event "A"]\n[Event "B"]' + MOVES) == [{"Event": "B"}]


def test_a_long_name_is_another_name():
    assert heads('[EventDate "2024"]\n[WhiteEl "1"]\n[TimeControls "60"]' + MOVES) == [{}]


def test_bracketed_lines_among_the_moves_are_no_tags():
    text = WHOLE + '\n\n1. e4 {\n[White "Somebody"]\n} e5 1-0'
    assert heads(text)[0]["White"] == "Ash, Ann"


def test_a_game_that_begins_in_the_middle_of_a_line_keeps_its_first_tag():
    found = heads(WHOLE + MOVES, WHOLE + MOVES, gap="")
    assert found[0] == found[1]


def test_games_without_tags_have_none_and_are_told_apart():
    assert heads("1. e4 e5 1-0", '[Event "Cup"]', "*") == [{}, {"Event": "Cup"}, {}]
    text = b'1. e4 1-0\n\n[ECO "C20"]\n\n1. e4 1-0'
    found = read_heads(text, np.array([0, 11]), np.array([9, len(text)]))
    assert found.tagged.tolist() == [False, True]


def test_no_games_give_an_empty_table():
    found = read_heads(b"", np.zeros(0, np.int64), np.zeros(0, np.int64))
    assert found.table.equals(table_of([]))


names = st.sampled_from([*TAGS, "ECO", "EventDate", "SetUp", "Fen", "A" * 30, "A b", ""])
values = st.text('aZ 19?*.-/"\\[]{}é½', max_size=12)
tag_lines = st.builds(
    lambda name, gap, value, end: f'[{name}{gap}"{value}"]{end}',
    names,
    st.sampled_from([" ", " ", " ", "  ", ""]),
    values,
    st.sampled_from(["\n", "\n", "\n", " \n", "\n\n", " ", ""]),
)
texts = st.builds(
    lambda lines, moves: "".join(lines).strip() + moves,
    st.lists(tag_lines, min_size=1, max_size=6),
    st.sampled_from([MOVES, " 1. e4", "\n*", "\n{a}", '\n\n1. e4 {\n[Site "x"]\n} 1-0']),
)


@given(st.lists(texts, min_size=1, max_size=4), st.sampled_from(["\n\n", "\n", ""]))
def test_whatever_is_read_here_the_reference_reader_reads_alike(games, gap):
    for text, found in zip(games, heads(*games, gap=gap), strict=True):
        if found is not None:
            headers = read_game(text).headers
            assert found == {tag: headers[tag] for tag in TAGS if tag in headers}


def test_names_that_change_how_a_game_is_read_are_known_in_any_case():
    assert [tag_name(name) for name in ("fen", "SETUP", "variant", "event")] == [
        "FEN",
        "SetUp",
        "Variant",
        "event",
    ]
