"""Numbers and filters read as people say them."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from explorer.query.filters import Filters
from explorer.report import words
from explorer.report.privacy import Veil
from ingest.levels import UNRATED, Level
from tests.support.answers import replies_answer


@pytest.mark.parametrize(
    ("share", "text"),
    [
        (None, "-"),
        (0.0, "0 %"),
        (0.0004, "<0.1 %"),
        (0.016, "1.6 %"),
        (0.0994, "9.9 %"),
        (0.0996, "10 %"),
        (0.531, "53 %"),
        (0.9962, "99.6 %"),
        (0.9995, ">99.9 %"),
        (1.0, "100 %"),
    ],
)
def test_a_share_keeps_one_decimal_near_its_ends(share: float | None, text: str) -> None:
    assert words.percent(share) == text


@given(st.floats(0, 1, exclude_min=True, exclude_max=True))
def test_what_is_not_none_and_not_all_never_reads_so(share: float) -> None:
    assert words.hundredths(share) not in ("0", "0.0", "100", "100.0")


def test_intervals_scores_and_differences_are_short() -> None:
    assert words.percents(0.5, 0.56) == "50-56 %"
    assert words.percents(None, 0.5) == "-"
    assert words.score(0.476) == "0.48"
    assert words.score(None) == "-"
    assert [words.signed(x) for x in (0.061, -0.061, -0.001, None)] == [
        "+0.06",
        "-0.06",
        "0.00",
        "-",
    ]


def test_pawns_and_counts_have_their_plurals() -> None:
    assert words.pawns(-1.4) == "1.4 pawns"
    assert words.pawns(1.02) == "1 pawn"
    assert words.count(1, "game") == "1 game"
    assert words.count(1234, "game") == "1,234 games"
    assert words.listed(["a", "b", "c"]) == "a, b and c"
    assert words.listed([]) == ""


@pytest.mark.parametrize(
    ("share", "text"),
    [
        (0.0, "none"),
        (0.001, "fewer than 1 in 200"),
        (0.11, "about 1 in 9"),
        (0.3, "about 1 in 3"),
        (0.36, "about 1 in 3"),
        (0.37, "about 2 in 5"),
        (0.4, "about 2 in 5"),
        (0.5, "about half the"),
        (0.68, "about 7 in 10"),
        (0.97, "nearly all"),
        (0.999, "nearly all"),
        (1.0, "all"),
    ],
)
def test_a_share_is_said_as_people_say_it(share: float, text: str) -> None:
    assert words.one_in(share) == text


def test_control_and_terminal_sequences_are_taken_out() -> None:
    assert words.clean("\x1b[31mred\x1b[0m \x1b]0;title\x07name\r\nnext\x00") == "red name next"
    assert words.clean("abc\u202edef\u200b") == "abcdef"
    assert words.clean("\x9b2Jx \x1bcy") == "x y"


@given(st.text())
def test_clean_text_is_one_line_that_a_terminal_only_prints(text: str) -> None:
    shown = words.clean(text)
    assert "\x1b" not in shown
    assert all(char.isprintable() or char.isspace() for char in shown if char.isascii())
    assert len(shown.splitlines()) <= 1


def test_no_filter_reads_as_every_player() -> None:
    assert words.filter_sentence(Filters(), Veil()) == "Players of every level, any pace."


def test_the_filter_sentence_of_the_design() -> None:
    filters = Filters(
        levels=(Level(1000, 1199), Level(800, 999)), pace=("rapid",), since=date(2025, 9, 1)
    )
    said = words.filter_sentence(filters, Veil())
    assert said == "Players rated 800 to 1199, rapid, since September 2025."


@pytest.mark.parametrize(
    ("levels", "said"),
    [
        ((Level(None, 799), Level(800, None)), "Players with a rating, any pace."),
        ((Level(None, 799), UNRATED, Level(800, None)), "Players with a rating or unrated, any"),
        ((Level(800, 1199), Level(1000, 1099)), "Players rated 800 to 1199, any pace."),
        ((Level(1500, None), Level(1000, 1099)), "Players rated 1000 to 1099 or rated 1500 and"),
    ],
)
def test_levels_that_touch_or_overlap_are_one(levels: tuple[Level, ...], said: str) -> None:
    """Bands that cover every rating are not the band of the unrated."""
    assert words.filter_sentence(Filters(levels=levels), Veil()).startswith(said)


def test_every_filter_is_in_the_sentence() -> None:
    filters = Filters(
        levels=(UNRATED, Level(None, 799), Level(2000, None)),
        opponents=(Level(800, 999),),
        pace=("blitz", "unknown"),
        since=date(2025, 9, 14),
        until=date(2026, 2, 28),
        collections=("club", "cup"),
        player="Ada Marsh",
        side="white",
    )
    assert words.filter_sentence(filters, Veil.over(replies_answer(filters), "initials")) == (
        "Players under 800, rated 2000 and over or unrated, against opponents rated 800 to 999, "
        "in games of A. M. as White, blitz or pace unknown, since 14 September 2025 "
        'until February 2026, from "club" or "cup".'
    )


def test_a_student_without_initials_is_one_student() -> None:
    filters = Filters(player="???", until=date(2026, 2, 27))
    said = words.filter_sentence(filters, Veil.over(replies_answer(filters), "initials"))
    assert (
        said == "Players of every level, in games of one student, any pace, until 27 February 2026."
    )


def test_levels_in_words() -> None:
    assert words.players_of(Level(800, 999)) == "players rated 800 to 999"
    assert words.players_of(UNRATED) == "unrated players"


def test_moves_take_the_letters_of_a_language() -> None:
    # PGN standard 8.2.3.2: German letters of knight and queen are S and D (from memory).
    assert words.spelled("1. e4 e5 2. Nf3 Qe7", "de") == "1. e4 e5 2. Sf3 De7"
    assert words.spelled("Nf3", None) == "Nf3"
