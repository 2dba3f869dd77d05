"""A borrow pit levelled on a grid.

Ghilani and Wolf, *Elementary Surveying*, plate B.2: field notes of a borrow pit, 20 ft squares,
benchmark "BM Road" 360.48, backsight 4.22, grade elevation 358.0; printed result 337 cu yd.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import product

import numpy as np
import pytest
import shapely
from make.plans.grounds import earth, everything, gridded
from measure.exact import as_floats, best_fit, exact_volumes

from grading.finish.cutting import clip
from grading.units import CUBIC_YARD, FOOT

BENCHMARK, BACKSIGHT, GRADE = Fraction("360.48"), Fraction("4.22"), Fraction(358)
# As printed: rod readings, then elevations. Columns A to E along x, rows 0 to 4 along y.
RODS = [
    ["5.2", "5.4", "5.7", "5.9", "6.2"],
    ["4.7", "4.8", "5.2", "5.5", "5.8"],
    ["4.2", "4.7", "4.8", "5.0"],
    ["3.8", "4.0", "4.6", "4.6"],
    ["3.4", "3.7", "4.2"],
]
ELEVATIONS = [
    ["359.5", "359.3", "359.0", "358.8", "358.5"],
    ["360.0", "359.9", "359.5", "359.2", "358.9"],
    ["360.5", "360.0", "359.9", "359.7"],
    ["360.9", "360.7", "360.1", "360.1"],
    ["361.3", "361.0", "360.5"],
]
# Cut times the number of squares that meet at the corner, as printed.
PRODUCTS = [
    ["1.5", "2.6", "2.0", "1.6", "0.5"],
    ["4.0", "7.6", "6.0", "3.6", "0.9"],
    ["5.0", "8.0", "7.6", "3.4"],
    ["5.8", "10.8", "6.3", "2.1"],
    ["3.3", "6.0", "2.5"],
]
SQUARE = 20 * FOOT
LEVEL = (float(GRADE) * FOOT, 0.0, 0.0)


def pit(rising: bool):
    heights = np.full((5, 5), np.nan)
    for row, levels in enumerate(ELEVATIONS):
        heights[row, : len(levels)] = [float(level) * FOOT for level in levels]
    return gridded(SQUARE * np.arange(5), SQUARE * np.arange(5), heights, rising)


def spots() -> list[tuple[Fraction, Fraction, Fraction]]:
    return [
        (Fraction(20 * column), Fraction(20 * row), Fraction(level))
        for row, levels in enumerate(ELEVATIONS)
        for column, level in enumerate(levels)
    ]


def test_the_rods_give_the_printed_elevations():
    height_of_instrument = BENCHMARK + BACKSIGHT
    assert height_of_instrument == Fraction("364.70")
    for rods, levels in zip(RODS, ELEVATIONS, strict=True):
        for rod, level in zip(rods, levels, strict=True):
            assert height_of_instrument - Fraction(rod) == Fraction(level)


def test_the_ground_has_the_printed_squares_at_each_corner():
    ground = pit(rising=True)
    assert len(ground.triangles) == 2 * 12
    for row, column in product(range(5), range(5)):
        if column >= len(ELEVATIONS[row]):
            continue
        corner = np.array([column, row]) * SQUARE
        squares = everything(ground).buffer(0)
        quarter = SQUARE / 2
        offsets = quarter * np.array([[1, 1], [1, -1], [-1, 1], [-1, -1]])
        meeting = sum(squares.contains(shapely.points(corner + offset)) for offset in offsets)
        cut = Fraction(ELEVATIONS[row][column]) - GRADE
        assert meeting * cut == Fraction(PRODUCTS[row][column])


@pytest.mark.parametrize(
    ("rising", "volume"),
    [(True, 337.284), (False, 337.531)],  # computed by hand from the printed elevations
    ids=["rising", "falling"],
)
def test_volume_by_triangular_prisms(rising, volume):
    ground = pit(rising)
    moved = earth(ground, everything(ground), LEVEL)
    assert moved.cut / CUBIC_YARD == pytest.approx(volume, abs=0.0005)
    assert moved.fill == 0
    assert moved.fill_area == 0
    assert moved.cut_area == pytest.approx(12 * SQUARE**2, rel=1e-14)


def test_the_two_diagonals_average_to_the_printed_volume():
    four_corner = SQUARE**2 / 4 * float(sum(Fraction(p) for row in PRODUCTS for p in row)) * FOOT
    assert four_corner / CUBIC_YARD == pytest.approx(400 * 91.1 / (4 * 27), rel=1e-14)
    cuts = [earth(pit(rising), everything(pit(rising)), LEVEL).cut for rising in (True, False)]
    assert sum(cuts) / 2 == pytest.approx(four_corner, rel=1e-14)
    assert sum(cuts) / 2 / CUBIC_YARD == pytest.approx(337, abs=0.5)


def test_best_fit_plane_is_the_exact_one():
    z0, dzdx, dzdy = best_fit(spots())
    assert (dzdx, dzdy) == (Fraction(-7501, 540380), Fraction(13891, 675475))
    assert float(z0) == pytest.approx(359.6094637107, abs=5e-11)
    residuals = [z - z0 - dzdx * x - dzdy * y for x, y, z in spots()]
    assert float(sum(r**2 for r in residuals)) == pytest.approx(0.18911063, abs=5e-9)


@pytest.mark.parametrize("rising", [True, False], ids=["rising", "falling"])
def test_cut_and_fill_on_the_best_fit_plane_agree_with_rational_arithmetic(rising):
    z0, dzdx, dzdy = as_floats(best_fit(spots()))
    plane = (z0 * FOOT, dzdx, dzdy)
    ground = pit(rising)
    # A convex outline across the steps of the pit's edge, off the grid lines.
    outline = [(1.0, 0.5), (17.5, 1.25), (17.0, 11.5), (11.0, 23.0), (0.75, 22.5)]
    cut, fill = exact_volumes(ground, outline, plane)
    moved = earth(ground, shapely.Polygon(outline), plane)
    assert moved.cut == pytest.approx(float(cut), rel=1e-12)
    assert moved.fill == pytest.approx(float(fill), rel=1e-12)
    assert min(cut, fill) > 1  # both happen, or the check is idle


def test_least_squares_does_not_move_the_least_earth():
    """Common practice, no source: the best-fit plane is not the plane of least earthwork."""
    z0, dzdx, dzdy = as_floats(best_fit(spots()))
    ground = pit(rising=True)
    piece = clip(ground, everything(ground))
    level = z0 * FOOT + dzdx * piece.centre[0] + dzdy * piece.centre[1]
    moments = piece.moments(np.array([level, dzdx, dzdy]))
    size = np.linalg.norm(moments.gradient / [piece.area, *([piece.area * SQUARE] * 2)])
    assert size > 1e-3  # it still has somewhere to go downhill
    step = -1e-4 * moments.gradient / np.linalg.norm(moments.gradient)
    assert piece.moments(np.array([level, dzdx, dzdy]) + step).moved < moments.moved
