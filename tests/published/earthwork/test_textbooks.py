"""Textbook earthwork sums, each built as a ground and measured by the exact integral.

The printed data are in the units of the book; the sums do not care, so no unit is converted
but where cubic yards are printed.
"""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from make.plans.grounds import earth, everything, gridded, ground_of
from numpy.polynomial import Polynomial

CUBIC_FEET = 27  # in a cubic yard
DATUM = (0.0, 0.0, 0.0)


def strip(stations, heights, width=1.0):
    """A strip of ground whose height is linear between stations and the same across."""
    return gridded(stations, [0.0, width], np.vstack([heights, heights]))


def prismoid(top, bottom, depth):
    """A pit with a level rectangular floor and flat sloping sides; sizes along x and y."""
    (a, b), (c, d) = top, bottom
    rim = [(-a / 2, -b / 2, 0), (a / 2, -b / 2, 0), (a / 2, b / 2, 0), (-a / 2, b / 2, 0)]
    floor = [(-c / 2, -d / 2), (c / 2, -d / 2), (c / 2, d / 2), (-c / 2, d / 2)]
    points = [*rim, *[(x, y, -depth) for x, y in floor]]
    sides = [(i, (i + 1) % 4, 4 + (i + 1) % 4) for i in range(4)]
    sides += [(i, 4 + (i + 1) % 4, 4 + i) for i in range(4)]
    return ground_of(points, [*sides, (4, 5, 6), (4, 6, 7)])


def trench(stations, depths, bottom, side):
    """A trench: level across its floor, `side` along to one up; negative depths make a bank."""
    points, triangles = [], []
    for x, depth in zip(stations, depths, strict=True):
        half = bottom / 2
        reach = half + side * abs(depth)
        points += [(x, -reach, 0), (x, -half, -depth), (x, half, -depth), (x, reach, 0)]
    for i in range(len(stations) - 1):
        for j in range(3):
            a, b = 4 * i + j, 4 * i + j + 1
            triangles += [(a, b, b + 4), (a, b + 4, a + 4)]
    return ground_of(points, triangles)


def whole(ground, plane=DATUM):
    return earth(ground, everything(ground), plane)


def test_four_corner_cut_to_rough_grade():
    """*Estimating in Building Construction*, example 9-8: 3,313 cu ft, 123 cu yd of bank cut."""
    cuts = [[1.4, 1.4], [1.2, 1.3]]
    volumes = [whole(gridded([0, 50], [0, 50], cuts, rising)).cut for rising in (True, False)]
    assert np.mean(volumes) == pytest.approx(3313, abs=0.5 + 1e-9)
    assert np.mean(volumes) == pytest.approx(3312.5, rel=1e-14)
    assert np.mean(volumes) / CUBIC_FEET == pytest.approx(123, abs=0.5)


def test_borrow_to_raise_a_square_to_grade():
    """A posted estimating exercise: 50 ft square, corners 87.6 87.6 87.6 88.6, raised to 90;
    published 199 cu yd of borrow."""
    levels = [[87.6, 87.6], [87.6, 88.6]]
    results = [
        whole(gridded([0, 50], [0, 50], levels, rising), (90.0, 0.0, 0.0))
        for rising in (True, False)
    ]
    assert np.mean([moved.fill for moved in results]) / CUBIC_FEET == pytest.approx(199, abs=0.5)
    assert np.mean([moved.fill for moved in results]) == pytest.approx(50 * 50 * 2.15, rel=1e-13)
    assert all(moved.cut == 0 for moved in results)


@pytest.mark.parametrize("way", [1, -1], ids=["a cutting", "a bank"])
def test_railroad_cutting_by_the_prismoidal_formula(way):
    """Vose, *Handbook of Railroad Construction*, p. 85: base 22 ft, side slopes 1 1/2 to 1, depth
    10 to 20 ft in 100 ft; 100/6 (370 + 2670 + 1040) cu ft."""
    moved = whole(trench([0, 100], [way * 10, way * 20], bottom=22, side=1.5))
    volume = moved.fill if way == 1 else moved.cut
    assert volume == pytest.approx(100 / 6 * (370 + 2670 + 1040), rel=1e-13)
    assert volume == pytest.approx(68_000, abs=0.5)
    # Average end areas give too much and the mid-section too little, as the formula says.
    assert 100 * 667.5 < volume < 100 * (370 + 1040) / 2


def test_pit_with_sloping_sides():
    """A posted exercise: top 30 by 25 m, base 20 by 10 m, 3 m deep; the prismoid is 1,350 m3."""
    moved = whole(prismoid((30, 25), (20, 10), 3))
    assert moved.fill == pytest.approx(1350, rel=1e-13)
    assert moved.fill_area == pytest.approx(30 * 25, rel=1e-13)


def test_pyramid_frustum_is_no_prismoid_where_the_ends_are_not_alike():
    """A posted exercise: a lake 202 by 25 ft at the top, 180 by 20 ft at the bottom, 15 ft deep.

    Published: 64,875 (mean of the ends) and 64,569.0 (frustum of a pyramid). The ends are not
    similar rectangles, so neither is the solid; it holds 64,600.
    """
    volume = whole(prismoid((202, 25), (180, 20), 15)).fill
    top, bottom = 202 * 25, 180 * 20
    frustum = 15 / 3 * (top + bottom + np.sqrt(top * bottom))
    assert frustum == pytest.approx(64_569.0, abs=0.05)
    assert volume == pytest.approx(64_600, rel=1e-13)
    assert abs(volume - frustum) > 30
    assert abs(volume - 15 * (top + bottom) / 2) > 270


def test_embankment_by_stations():
    """A posted exercise: bank 10 m wide at the top, sides 1 1/2 to 1, heights every 40 m;
    5,096.775 m3 by the trapezoidal rule.

    Between stations the height is linear, so each length is a prismoid: the trapezoidal rule is
    over by L s dh^2 / 6 in each.
    """
    heights = np.array([0.90, 1.25, 2.15, 2.50, 1.85, 1.35, 0.85])
    stations = 40.0 * np.arange(7)
    areas = 10 * heights + 1.5 * heights**2
    assert areas == pytest.approx(
        [10.215, 14.84375, 28.43375, 34.375, 23.63375, 16.23375, 9.58375], abs=5e-6
    )
    trapezoidal = np.trapezoid(areas, stations)
    assert trapezoidal == pytest.approx(5096.775, abs=0.0005)
    volume = whole(trench(stations, -heights, bottom=10, side=1.5)).cut
    over = 40 * 1.5 * np.sum(np.diff(heights) ** 2) / 6
    assert volume == pytest.approx(trapezoidal - over, rel=1e-13)
    middle = (heights[:-1] + heights[1:]) / 2
    mid_areas = 10 * middle + 1.5 * middle**2
    prismoidal = np.sum(40 / 6 * (areas[:-1] + 4 * mid_areas + areas[1:]))
    assert volume == pytest.approx(prismoidal, rel=1e-13)


def test_simpson_needs_the_length_of_the_whole_prismoid():
    """A posted exercise: sections of 20 40 60 50 30 m2 every 30 m; published 2,650 m3.

    The published sum takes 30 m for the length of a prismoid that spans two stations, and so
    is half of the true 5,300. A strip one metre wide whose height is the section's area holds
    the same volume: a parabola through each three stations, or straight lines (5,250).
    """
    areas = [20, 40, 60, 50, 30]
    straight = whole(strip(30.0 * np.arange(5), areas)).cut
    assert straight == pytest.approx(5250, rel=1e-13)

    fine = np.linspace(0, 120, 2401)
    first = Polynomial.fit([0, 30, 60], areas[:3], 2)
    second = Polynomial.fit([60, 90, 120], areas[2:], 2)
    heights = np.where(fine <= 60, first(fine), second(fine))
    curved = earth(strip(fine, heights), shapely.box(0, 0, 120, 1), DATUM).cut
    assert curved == pytest.approx(5300, rel=1e-6)
    assert curved / 2650 == pytest.approx(2, rel=1e-6)


def test_average_end_area_along_a_road():
    """An estimating textbook: sections of 114.3 and 232.4 sq ft, 75 ft apart; 481.5 cu yd."""
    volume = whole(strip([0, 75], [114.3, 232.4])).cut
    assert volume == pytest.approx(13_001.25, abs=0.005)
    assert volume / CUBIC_FEET == pytest.approx(481.5, abs=0.05)


def test_cut_and_fill_in_one_square_meet_on_the_zero_line():
    """The rule in an estimating textbook: find the zero line on the edges, then the area on each
    side. On a strip that tilts one way the rule is exact."""
    # 2 ft of cut on one edge of a 40 ft square, 3 ft of fill on the other: zero at 16 ft.
    moved = whole(gridded([0, 40], [0, 40], [[2, -3], [2, -3]]))
    assert (moved.cut_area, moved.fill_area) == pytest.approx((16 * 40, 24 * 40), rel=1e-13)
    assert moved.cut == pytest.approx(16 * 40 * (2 + 0) / 2, rel=1e-13)
    assert moved.fill == pytest.approx(24 * 40 * (0 + 3) / 2, rel=1e-13)


def test_netting_cut_against_fill_hides_the_work():
    """A net of zero is not no earth: 2,600,000 cu ft of cut and 1,875,000 of fill leave
    725,000 (an estimating course's example), yet all 4,475,000 are moved."""
    # Two pads side by side, the cut 2000 x 1300 x 1 ft and the fill 2000 x 625 x 1.5 ft.
    cut = gridded([0, 2000], [0, 1300], [[1, 1], [1, 1]])
    fill = gridded([0, 2000], [0, 625], [[-1.5, -1.5], [-1.5, -1.5]])
    shift = np.array([0, 2000, 0])
    both = ground_of(
        np.vstack([cut.points, fill.points + shift]),
        np.vstack([cut.triangles, fill.triangles + len(cut.points)]),
    )
    moved = whole(both)
    assert isinstance(everything(both), shapely.MultiPolygon)
    assert (moved.cut, moved.fill) == pytest.approx((2_600_000, 1_875_000), rel=1e-13)
    assert moved.cut / CUBIC_FEET == pytest.approx(96_296, abs=0.5)
    assert (moved.cut - moved.fill) / CUBIC_FEET == pytest.approx(26_852, abs=0.5)
