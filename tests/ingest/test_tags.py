"""Tag values as people write them -> typed values."""

import datetime
import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ingest import tags
from ingest.errors import UsageError
from ingest.headers import table_of
from ingest.tags import Date, Pace, columns, date_of, name_of, pace_of, rating_of, same_name


@pytest.mark.parametrize(
    ("time_control", "pace"),
    [
        # FIDE Laws of Chess 2023, Appendix B.1: blitz is 10 minutes or less for all the moves,
        # or main time + 60 times the increment; A.1: rapid is more than 10 and less than 60.
        ("600", Pace.BLITZ),
        ("601", Pace.RAPID),
        ("3599", Pace.RAPID),
        ("3600", Pace.STANDARD),
        ("180+2", Pace.BLITZ),
        ("300+5", Pace.BLITZ),
        ("301+5", Pace.RAPID),
        ("0+10", Pace.BLITZ),
        ("900+10", Pace.RAPID),
        ("1800+30", Pace.STANDARD),
        # PGN standard 9.6.1: moves/seconds, periods parted by colons.
        ("40/7200:3600", Pace.STANDARD),
        ("40/1200", Pace.RAPID),  # 60 moves take one and a half such periods
        ("40/2400", Pace.STANDARD),
        ("20/300:20/300:300", Pace.RAPID),
        ("60/600:9000", Pace.BLITZ),
        ("40/5400+30:1800+30", Pace.STANDARD),
        ("90/900", Pace.BLITZ),
        ("1/86400", Pace.CORRESPONDENCE),
        ("1/259200", Pace.CORRESPONDENCE),
        ("10/2592000", Pace.CORRESPONDENCE),
        ("1/86399", Pace.STANDARD),
        (" 180 + 2 ", Pace.BLITZ),
        ("*180", Pace.UNKNOWN),
        ("-", Pace.UNKNOWN),
        ("?", Pace.UNKNOWN),
        ("", Pace.UNKNOWN),
        ("0", Pace.UNKNOWN),
        ("0/60", Pace.UNKNOWN),
        ("40/7200:?", Pace.UNKNOWN),
        ("two hours", Pace.UNKNOWN),
    ],
)
def test_the_pace_follows_from_sixty_moves_by_the_laws_limits(time_control, pace):
    assert pace_of(time_control) is pace


@given(st.integers(0, 9000), st.integers(0, 90))
def test_more_time_is_never_a_faster_pace(main, increment):
    if main or increment:
        assert pace_of(f"{main}+{increment}") <= pace_of(f"{main + 1}+{increment}")


def test_a_pace_is_named_in_any_case():
    assert [tags.pace_named(pace.word.upper() + " ") for pace in Pace] == list(Pace)
    with pytest.raises(UsageError, match="unknown, blitz, rapid, standard, correspondence"):
        tags.pace_named("slow")


@pytest.mark.parametrize(
    ("text", "rating"),
    [("1500", 1500), (" 850 ", 850), ("4000", 4000), ("1", 1), ("0900", 900)]
    + [(odd, None) for odd in ("", "-", "?", "0", "4001", "1500?", "-5", "15.5", "１５００")],
)
def test_a_rating_is_a_number_from_1_to_4000(text, rating):
    """PGN standard 9.1.2 has "-" for unrated; the others are common practice, no source."""
    assert rating_of(text) == rating


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        # PGN standard 8.1.1.3
        ("1992.08.31", (1992, 8, 31)),
        ("1993.??.??", (1993, None, None)),
        ("2001.01.??", (2001, 1, None)),
        ("????.??.??", (None, None, None)),
        # as people write them (common practice, no source)
        ("2024-03-05", (2024, 3, 5)),
        ("2024/3/5", (2024, 3, 5)),
        (" 2024. 3. 5 ", (2024, 3, 5)),
        ("2024", (2024, None, None)),
        ("2024.02", (2024, 2, None)),
        ("2024.??.05", (2024, None, None)),
        ("????.03.05", (None, None, None)),
        ("2023.02.29", (2023, 2, None)),
        ("2024.02.29", (2024, 2, 29)),
        ("2024.13.01", (2024, None, None)),
        ("2024.00.01", (2024, None, None)),
        ("0000.01.01", (None, None, None)),
        ("05.03.2024", (None, None, None)),
        ("2024.03.05.1", (None, None, None)),
        ("196?.??.??", (None, None, None)),
        ("last May", (None, None, None)),
        ("", (None, None, None)),
    ],
)
def test_a_date_is_known_as_far_as_it_can_be(text, parts):
    assert date_of(text) == parts


@given(st.dates())
def test_every_calendar_date_is_read(day):
    found = date_of(day.strftime("%Y.%m.%d").zfill(10))
    assert found.played == day


def test_a_vague_date_is_no_calendar_date():
    assert Date(2024, 2, None).played is None
    assert Date(2024, 2, 3).played == datetime.date(2024, 2, 3)


@pytest.mark.parametrize(
    "text", ["", " ", "?", "-", "??", "N.N.", "NN", "n. n.", "N N", "?, ?", ".", ",", "\u0301"]
)
def test_a_tag_that_names_nobody_gives_no_name(text):
    assert name_of(text) is None


def test_a_name_is_shown_without_escapes_and_stray_blanks():
    """Escapes: PGN standard section 7."""
    assert name_of('  Doe,\t Jane  \\"JJ\\" \\\\ ') == 'Doe, Jane "JJ" \\'
    assert name_of("Ann\x07Ash") == "Ann Ash"


@pytest.mark.parametrize(
    "spellings",
    [
        ("Doe, Jane", "Jane Doe", "DOE,JANE", "doe  jane", "Doe, Jane."),
        ("Müller, Jürgen", "Muller, Jurgen", "Mu\u0308ller Ju\u0308rgen"),
        ("Størk, Øyvind", "Stork, Oyvind"),
        ("Łoś, Władysław", "Los, Wladyslaw"),
        ("Weiß, A.", "Weiss, A", "WEISS, A"),
        ("van den Berg, J.", "J. van den Berg"),
    ],
)
def test_spellings_of_one_name_are_the_same(spellings):
    for a, b in itertools.combinations(spellings, 2):
        assert same_name(a) == same_name(b)


def test_different_names_are_not_the_same():
    assert len({same_name(n) for n in ("Doe, Jane", "Doe, J", "Doe, Janet", "王 伟", "王 芳")}) == 5


@given(st.text(max_size=30))
def test_no_text_upsets_the_readers(text):
    """Every value of a tag is either understood or unknown; names stay the same when read again."""
    pace_of(text), rating_of(text), date_of(text), tags.termination_of(text)
    tags.result_of(text, text), tags.variant_of({"Variant": text, "FEN": text})
    if name := name_of(text):
        assert same_name(name)
        assert name.isprintable()


@pytest.mark.parametrize(
    ("tag", "token", "half_points", "remark"),
    [
        ("1-0", "1-0", 2, None),
        ("0-1", "0-1", 0, None),
        ("1/2-1/2", "1/2-1/2", 1, None),
        ("½-½", "1/2-1/2", 1, None),
        ("1/2", "½-½", 1, None),
        ("1-O", "1-0", 2, None),
        ("O-1", "0-1", 0, None),
        ("*", "*", None, None),
        ("", "0-1", 0, None),
        (None, "0-1", 0, None),
        ("?", None, None, None),
        (None, None, None, None),
        (
            "1-0",
            "0-1",
            2,
            "the Result tag says 1-0, the moves end with 0-1; the tag counts",
        ),
        ("1-0", "*", 2, "the Result tag says 1-0, the moves end with *; the tag counts"),
        (
            "0-1",
            None,
            0,
            "the Result tag says 0-1, no result stands after the moves; the tag counts",
        ),
        ("*", "1-0", 2, "the Result tag says *, the moves end with 1-0; that counts"),
        ("won", "1-0", 2, "the Result tag says won, the moves end with 1-0; that counts"),
        ("won", "*", None, "the Result tag says won, which is no result; taken as unknown"),
        (
            "won\x07\u2028" + "!" * 1000,
            "*",
            None,
            f"the Result tag says won {'!' * 36}, which is no result; taken as unknown",
        ),
    ],
)
def test_the_result_tag_wins_and_a_difference_is_said(tag, token, half_points, remark):
    assert tags.result_of(tag, token) == (half_points, remark)


def test_only_the_standards_terminations_are_kept():
    """The eight values of PGN standard 9.8.1; anything else may hold a name."""
    values = [
        "abandoned",
        "adjudication",
        "death",
        "emergency",
        "normal",
        "rules infraction",
        "time forfeit",
        "unterminated",
    ]
    assert [tags.termination_of(value) for value in values] == values
    assert tags.termination_of(" Time  Forfeit ") == "time forfeit"
    assert tags.termination_of("Jane Doe won on time") is None


@pytest.mark.parametrize(
    ("headers", "variant"),
    [
        ({}, None),
        ({"Variant": "Standard"}, None),
        ({"Variant": "From Position"}, None),
        ({"Variant": "?"}, None),
        ({"Variant": "Chess960"}, "Chess960"),
        ({"Variant": "Fischer Random"}, "Chess960"),
        ({"Variant": "Antichess"}, "Antichess"),
        ({"FEN": "rnbqkbnr/pppppppp/8/8/8/8/PPPPPPPP/RNBQKBNR w KQkq - 0 1"}, None),
        ({"FEN": "rnbqkbnr/pppppppp/8/8/8/8/PPPPPPPP/RNBQKBNR w HAha - 0 1"}, None),
        ({"FEN": "nrbbqknr/pppppppp/8/8/8/8/PPPPPPPP/NRBBQKNR w KQkq - 0 1"}, "Chess960"),
        ({"FEN": "4k3/8/8/8/8/8/8/1R2K3 w B - 0 1"}, "Chess960"),
        ({"FEN": "no position"}, None),
    ],
)
def test_games_of_other_rules_are_known_by_tag_or_by_castling(headers, variant):
    assert tags.variant_of(headers) == variant


def test_columns_hold_one_value_a_game_in_order():
    games = [
        {
            "White": "Doe, Jane",
            "Black": "?",
            "WhiteElo": "1500",
            "BlackElo": "-",
            "Date": "2024.02.29",
            "Event": 'The \\"Cup\\"',
            "Site": "?",
            "Round": "3.1",
            "TimeControl": "900+10",
            "Termination": "normal",
        },
        {"Date": "2024.02.??", "TimeControl": "-"},
    ]
    table = columns(table_of(games))
    assert [table.white.name[of] for of in table.white.of] == ["Doe, Jane", None]
    assert [table.white.same[of] for of in table.white.of] == [same_name("Jane Doe"), None]
    assert table.white.given.tolist() == [True, False]
    assert table.black.given.tolist() == [False, False]
    assert table.white_rating.tolist() == [1500, 0]
    assert table.black_rating.tolist() == [0, 0]
    assert table.played[0] == np.datetime64("2024-02-29")
    assert np.isnat(table.played[1])
    assert (table.year.tolist(), table.month.tolist(), table.day.tolist()) == (
        [2024, 2024],
        [2, 2],
        [29, 0],
    )
    assert table.event.to_pylist() == ['The "Cup"', None]
    assert table.site.to_pylist() == [None, None]
    assert table.round.to_pylist() == ["3.1", None]
    assert table.time_control.to_pylist() == ["900+10", None]
    assert table.pace.tolist() == [Pace.RAPID, Pace.UNKNOWN]
    assert table.termination.to_pylist() == ["normal", None]


def test_columns_take_a_stand_in_only_where_the_game_is_silent():
    games = [{"WhiteElo": "1500", "TimeControl": "60"}, {}]
    table = columns(table_of(games), pace=Pace.STANDARD, unrated_as=900)
    assert table.white_rating.tolist() == [1500, 900]
    assert table.black_rating.tolist() == [900, 900]
    assert table.pace.tolist() == [Pace.BLITZ, Pace.STANDARD]


def test_columns_of_no_games_are_empty():
    assert len(columns(table_of([])).played) == 0
