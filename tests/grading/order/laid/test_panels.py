"""Panels laid over the hole: counted row by row, and by hand."""

from __future__ import annotations

import math

import pytest
import shapely

from grading.order.laid.panels import lay_panels
from grading.units import FOOT, INCH

SIZE = (36 * INCH, 24 * INCH)


def cuts(length, start):
    """Return the parts [of a board] of a row that begins with a board at `start` of one."""
    parts, at = [], -start
    while at < length - 1e-9:
        low, high = max(at, 0.0), min(at + 1, length)
        parts.append(high - low)
        at += 1
    return parts


def boards(long, wide, begins):
    """Count the boards of a rectangle [boards long, boards wide], rows staggered by half; the first
    begins with a whole one, or with a half of one."""
    whole = halves = large = 0
    row = 0
    while row < wide - 1e-9:
        deep = min(1.0, wide - row)
        for part in cuts(long, 0.5 if (row + begins) % 2 else 0.0):
            if part > 1 - 1e-9 and deep > 1 - 1e-9:
                whole += 1
            elif min(part, deep) <= 0.5 + 1e-9:
                halves += 1
            else:
                large += 1
        row += 1
    return whole, halves, large


@pytest.mark.parametrize("long", [1.0, 2.3, 4.5, 6.9])
@pytest.mark.parametrize("wide", [1.0, 2.4, 3.0, 4.8])
def test_brute_force_on_rectangles(long, wide):
    size = (0.9, 0.6)
    tried = []
    for a, b, begins in ((0, 1, 0), (1, 0, 0), (0, 1, 1), (1, 0, 1)):
        sides = (long * 0.9, wide * 0.6)
        whole, halves, large = boards(sides[a] / 0.9, sides[b] / 0.6, begins)
        tried.append(whole + large + math.ceil(halves / 2))
    hole = shapely.box(0, 0, long * 0.9, wide * 0.6)
    assert lay_panels(hole, hole, size).units == min(tried)


def test_a_hole_of_whole_boards_has_no_waste():
    hole = shapely.box(0, 0, 4 * SIZE[0], SIZE[1])
    laid = lay_panels(hole, hole, SIZE)
    assert (laid.whole, laid.cut, laid.units) == (4, 0, 4)


def test_an_offcut_of_half_a_board_is_used_again():
    """Two rows of two and a half boards: whole ones 2 + 2, a half at one end of each row."""
    hole = shapely.box(0, 0, 2.5 * SIZE[0], 2 * SIZE[1])
    laid = lay_panels(hole, shapely.box(0, 0, 9, 1), SIZE)
    assert (laid.whole, laid.halves, laid.large) == (4, 2, 0)
    assert laid.units == 5
    assert laid.units * laid.face == pytest.approx(laid.covered), "nothing is cut off for good"


def test_less_than_half_left_is_waste():
    hole = shapely.box(0, 0, 0.6 * SIZE[0], 0.7 * SIZE[1])
    laid = lay_panels(hole, hole, SIZE)
    assert (laid.large, laid.units) == (1, 1)


def test_a_hole_in_two_pieces_shares_the_offcuts():
    half = shapely.box(0, 0, 0.5 * SIZE[0], SIZE[1])
    apart = shapely.box(10 * SIZE[0], 0, 10.5 * SIZE[0], SIZE[1])
    laid = lay_panels(shapely.union_all([half, apart]), shapely.box(0, 0, 9, 1), SIZE)
    assert (laid.halves, laid.units) == (2, 1)


def test_along_or_across_whichever_takes_fewer():
    """Across, a row of one board and a staggered one of two halves; along it would take three."""
    hole = shapely.box(0, 0, 2 * SIZE[1], SIZE[0])
    laid = lay_panels(hole, hole, SIZE)
    assert (laid.whole, laid.halves, laid.units) == (1, 2, 2)


def test_round_hole_never_takes_fewer_boards_than_its_area():
    hole = shapely.Point(0, 0).buffer(8 * FOOT)
    laid = lay_panels(hole, hole, SIZE)
    assert laid.units * laid.face > hole.area
    assert laid.units * laid.face < 1.25 * laid.covered
