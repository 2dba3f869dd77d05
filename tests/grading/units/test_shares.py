"""Shares in whole per cent: they add up, and what is not nothing is never said as 0 %."""

from __future__ import annotations

import re
from itertools import combinations_with_replacement

import pytest
from hypothesis import given
from hypothesis import strategies as st

from grading.units.shares import each_words, part_words, share_words, shares_words


@pytest.mark.parametrize(
    ("share", "said"),
    [
        (0.0, "0 %"),
        (1e-4, "less than 1 %"),
        (0.0099, "less than 1 %"),
        (0.01, "1 %"),
        (0.014, "1 %"),
        (0.5, "50 %"),
        (0.99, "99 %"),
        (0.996, "more than 99 %"),
        (1.0, "100 %"),
    ],
)
def test_one_share_is_nothing_or_all_only_where_it_is(share, said):
    assert share_words(share) == said


@pytest.mark.parametrize(
    ("shares", "said"),
    [
        ([0.994, 0.006], ["99 %", "less than 1 %"]),
        # Rounded one by one these are 99 + 1 + 1.
        ([0.988, 0.006, 0.006], ["99 %", "less than 1 %", "less than 1 %"]),
        ([0.335, 0.335, 0.33], ["34 %", "33 %", "33 %"]),
        ([1 / 3, 1 / 3, 1 / 3], ["34 %", "33 %", "33 %"]),
        ([0.9999, 0.0001], ["99 %", "less than 1 %"]),
        ([1.0, 0.0], ["100 %", "0 %"]),
        ([2.0, 6.0], ["25 %", "75 %"]),
        ([0.0, 0.0], ["0 %", "0 %"]),
        ([], []),
    ],
)
def test_shares_of_one_whole_add_up(shares, said):
    assert list(shares_words(shares)) == said


def _sum(words):
    """Add up what was written; those below 1 % are 1 % together, or as much as they come to."""
    return sum(int(found[1]) for each in words if (found := re.fullmatch(r"(\d+) %", each)))


@given(st.lists(st.floats(0, 1), min_size=1, max_size=12).filter(lambda parts: sum(parts) > 1e-3))
def test_any_shares_add_up_and_none_is_lost(parts):
    words, whole = shares_words(parts), sum(parts)
    part = [100 * each / whole for each in parts]
    tiny = sum(value for value, each in zip(part, words, strict=True) if each == "less than 1 %")
    assert _sum(words) == 100 - (max(1, round(tiny)) if tiny else 0)
    for value, each in zip(part, words, strict=True):
        if value > 1e-6:
            assert each != "0 %"
        if each == "less than 1 %":
            assert value < 1


def test_it_is_the_nearest_of_all_ways_of_rounding_that_add_up():
    """By trying them all: no other whole numbers that add up to 100 are nearer to the shares."""
    for shares in ([0.335, 0.335, 0.33], [0.124, 0.376, 0.5], [0.2049, 0.3049, 0.4902]):
        ours = [int(each.split()[0]) for each in shares_words(shares)]
        exact = [100 * share for share in shares]
        near = [
            sum(abs(one - other) for one, other in zip(sorted(tried), sorted(exact), strict=True))
            for tried in combinations_with_replacement(range(1, 99), 3)
            if sum(tried) == 100
        ]
        own = sum(abs(one - other) for one, other in zip(ours, exact, strict=True))
        assert own == pytest.approx(min(near), abs=1e-9)


def test_all_of_a_whole_is_said_so_and_not_in_per_cent():
    assert part_words(1.0, "the hole") == "all of the hole"
    assert part_words(0.0, "the hole") == "none of the hole"
    assert part_words(0.995, "the hole") == "more than 99 % of the hole"
    assert each_words(1.0, "spot") == "every spot"
    assert each_words(0.0, "spot") == "no spot"
    # Not every one: it is not rounded up to that.
    assert each_words(0.996, "spot") == "more than 99 % of the spots"
    assert each_words(0.93, "spot") == "93 % of the spots"
