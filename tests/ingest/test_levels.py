"""Rating bands, and how people write them."""

import pytest

from ingest.errors import UsageError
from ingest.levels import (
    DEFAULT_CUTS,
    HIGHEST_RATING,
    MOST_CUTS,
    UNRATED,
    Level,
    bands,
    parse_bands,
    parse_level,
)


@pytest.mark.parametrize("cuts", [DEFAULT_CUTS, (900,)])
def test_every_player_is_in_exactly_one_band(cuts):
    for rating in [None, *range(1, HIGHEST_RATING + 1)]:
        assert sum(level.holds(rating) for level in bands(cuts)) == 1


def test_the_default_bands_are_eight_and_unrated():
    assert [level.label for level in bands()] == [
        "under 800",
        "800-999",
        "1000-1199",
        "1200-1399",
        "1400-1599",
        "1600-1799",
        "1800-1999",
        "2000 and over",
        "unrated",
    ]


@pytest.mark.parametrize("level", bands())
def test_a_level_is_read_back_as_typed_and_as_labelled(level):
    assert parse_level(level.typed) == level
    assert parse_level(level.label) == level


def test_a_band_holds_both_its_ends():
    level = parse_level("800-1199")
    assert [level.holds(rating) for rating in (799, 800, 1199, 1200, None)] == [
        False,
        True,
        True,
        False,
        False,
    ]


def test_only_players_without_a_rating_are_unrated():
    assert UNRATED.holds(None)
    assert not UNRATED.holds(1500)
    assert not Level(None, 799).holds(None)


@pytest.mark.parametrize(
    ("text", "level"),
    [
        (" Under 800 ", Level(None, 799)),
        ("below-800", Level(None, 799)),
        ("under800", Level(None, 799)),
        ("800 to 1199", Level(800, 1199)),
        ("800–1199", Level(800, 1199)),
        ("2000+", Level(2000, None)),
        ("2000 and over", Level(2000, None)),
        ("UNRATED", UNRATED),
        ("1500-1500", Level(1500, 1500)),
    ],
)
def test_levels_are_read_as_people_write_them(text, level):
    assert parse_level(text) == level


@pytest.mark.parametrize(
    "text", ["", "strong", "1199-800", "under-0", "5000+", "800-", "800-12000", "under-5000", "1,2"]
)
def test_what_is_no_level_is_refused_with_the_ways_to_write_one(text):
    with pytest.raises(UsageError, match=r"write 800-1199, under-800, 2000\+ or unrated"):
        parse_level(text)


def test_cuts_are_read_from_a_list():
    assert parse_bands("900, 1300,1700") == (900, 1300, 1700)


@pytest.mark.parametrize("text", ["", "a", "900,", "1300,900", "900,900", "0,900", "900,4000"])
def test_cuts_that_do_not_rise_or_are_no_ratings_are_refused(text):
    with pytest.raises(UsageError, match="write for example 900,1300,1700"):
        parse_bands(text)


def test_more_bands_than_a_table_can_show_are_refused():
    cuts = range(100, 100 + MOST_CUTS + 1)
    with pytest.raises(UsageError, match="41 ratings are too many; write at most 40"):
        parse_bands(",".join(map(str, cuts)))
    assert len(parse_bands(",".join(map(str, cuts[:-1])))) == MOST_CUTS
