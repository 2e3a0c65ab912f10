"""FIDE's tables against the Handbook's values.

Source of every value without another one: FIDE Handbook B.02, chapter B022024
(applied from 1 March 2024), tables 8.1.1 and 8.1.2.
"""

from __future__ import annotations

import pytest

from explorer.numbers.fide import DIFFERENCE_SHOWN, HIGHEST_DIFFERENCE, dp, expected, performance

# Table 8.1.1 as printed: p and dp.
TABLE_811 = """
1.00 800 .99 677 .98 589 .97 538 .96 501 .95 470 .94 444 .93 422 .92 401 .91 383 .90 366 .89 351
.88 336 .87 322 .86 309 .85 296 .84 284 .83 273 .82 262 .81 251 .80 240 .79 230 .78 220 .77 211
.76 202 .75 193 .74 184 .73 175 .72 166 .71 158 .70 149 .69 141 .68 133 .67 125 .66 117 .65 110
.64 102 .63 95 .62 87 .61 80 .60 72 .59 65 .58 57 .57 50 .56 43 .55 36 .54 29 .53 21 .52 14 .51 7
.50 0
"""
# Table 8.1.2 as printed: the upper end of each band of differences, from .50 to .99.
TABLE_812 = """
3 10 17 25 32 39 46 53 61 68 76 83 91 98 106 113 121 129 137 145 153 162 170 179 188 197 206 215
225 235 245 256 267 278 290 302 315 328 344 357 374 391 411 432 456 484 517 559 619 735
"""


def test_every_row_of_table_811_is_kept_both_ways():
    words = TABLE_811.split()
    assert len(words) == 2 * len(DIFFERENCE_SHOWN)
    for p, difference in zip(words[::2], words[1::2], strict=True):
        assert dp(float(p)) == int(difference)
        assert dp(1 - float(p)) == -int(difference)


def test_every_band_of_table_812_is_kept_on_both_sides():
    ends = [int(word) for word in TABLE_812.split()]
    assert len(ends) == len(HIGHEST_DIFFERENCE)
    for percent, end in enumerate(ends, start=50):
        assert expected(end, cap=None) == percent / 100
        assert expected(end + 1, cap=None) == (percent + 1) / 100
        assert expected(-end, cap=None) == (100 - percent) / 100
        assert expected(-end - 1, cap=None) == (99 - percent) / 100


@pytest.mark.parametrize(
    ("p", "difference"),
    [
        (0.50, 0), (0.51, 7), (0.49, -7), (0.53, 21), (0.58, 57), (0.70, 149), (0.75, 193),
        (0.90, 366), (0.99, 677), (1.0, 800), (0.0, -800),
    ],
)  # fmt: skip
def test_dp_is_the_table_and_not_a_curve(p, difference):
    # The normal curve would give 22 for .53, 58 for .58, 150 for .70 and 665 for .99.
    assert dp(p) == difference


@pytest.mark.parametrize(
    ("difference", "score"),
    [
        (0, 0.50), (3, 0.50), (4, 0.51), (10, 0.51), (100, 0.64), (200, 0.76), (344, 0.88),
        (345, 0.89), (391, 0.91), (392, 0.92), (411, 0.92), (412, 0.93), (735, 0.99), (736, 1.0),
    ],
)  # fmt: skip
def test_expected_scores_change_at_the_ends_of_the_bands(difference, score):
    assert expected(difference, cap=None) == score
    assert expected(-difference, cap=None) == pytest.approx(1 - score)


def test_differences_beyond_400_count_as_400():
    # Regulation 8.3.1, effective from 1 October 2025, for players below 2650.
    assert expected(400) == expected(401) == expected(2000) == 0.92
    assert expected(-400) == expected(-2000) == 0.08


def test_the_two_tables_agree_with_each_other():
    for percent in range(50, 101):
        assert expected(dp(percent / 100), cap=None) == percent / 100


@pytest.mark.parametrize(
    ("p", "difference"),
    [(0.505, 7), (0.495, 0), (0.285, -158), (0.5049, 0), (0.995, 800), (0.715, 166)],
)
def test_half_a_per_cent_rounds_up(p, difference):
    # Title Regulations B.01, 1.4.9; differences from table 8.1.1.
    assert dp(p) == difference


@pytest.mark.parametrize(
    ("mean", "score", "games", "rating"),
    [
        # Rp = Ra + dp (Title Regulations B.01, 1.4.8), worked by hand from table 8.1.1.
        (1500, 7, 10, 1649),
        (1500, 5, 5, 2300),
        (1500, 0, 5, 700),
        (1423, 6.5, 9, 1589),
        (1612, 2.5, 7, 1510),
        # 62.5 % counts as 63: half a per cent up.
        (1500, 5, 8, 1595),
        # Ra rounds .5 up (B.01, 1.4.7b).
        (1499.5, 1, 2, 1500),
        (1499.49, 1, 2, 1499),
    ],
)
def test_a_performance_is_the_mean_opponent_plus_dp(mean, score, games, rating):
    assert performance(mean, score, games) == rating


def test_no_games_show_no_performance():
    assert performance(1500, 0, 0) is None
