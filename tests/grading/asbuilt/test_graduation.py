"""Readings are told to a graduation: what that leaves open fails nothing, and what is clear fails.

By another route: planes whose fall is written down, put on a rod in exact fractions, so that how
far each reading is rounded is known. That a reading told to a graduation lies anywhere within half
of it, with a standard deviation of a graduation over the root of 12, is JCGM 100:2008 (GUM), 4.3.7.
"""

from fractions import Fraction
from math import floor

import numpy as np
import pytest
import shapely

from grading.asbuilt.graduation import graduation_of, spread_of
from grading.asbuilt.walls import wall_as_built
from grading.site.walls import Wall

INCH = Fraction("0.0254")
SIXTEENTH = INCH / 16
MILLIMETRE = Fraction("0.001")
LIMIT = Fraction("0.02")


def rounded(level, step):
    """Return a level to the nearest step, in exact fractions."""
    return floor(Fraction(level) / step + Fraction(1, 2)) * step


def laid(lot, fall, step):
    """Return what was found of paving that is a plane before a wall, of any size, slope along it
    and zero point, shot in rows or anywhere, each level told to a step. [m]"""
    depth, width = lot.uniform(1.5, 6), lot.uniform(1.5, 9)
    if lot.random() < 0.6:
        rows, columns = lot.integers(2, 6), lot.integers(3, 8)
        x, y = np.meshgrid(np.linspace(0, width, columns), np.linspace(0, depth, rows))
    else:
        x, y = lot.uniform((0, 0), (width, depth), (lot.integers(8, 30), 2)).T
    xy = np.column_stack([x.ravel(), y.ravel()])
    zero, along = Fraction(lot.uniform(-1, 1)), Fraction(lot.choice([0, lot.uniform(-0.01, 0.01)]))
    z = [float(rounded(zero + along * Fraction(a) - fall * Fraction(b), step)) for a, b in xy]
    wall = Wall("wall 1", np.zeros(2), np.array([width, 0.0]), np.array([0.0, 1.0]),
                shapely.box(0, 0, width, depth), depth)  # fmt: skip
    xyz = np.column_stack([xy, z])
    names = tuple(str(k) for k in range(len(xyz)))
    return wall_as_built(wall, names, xyz, float(LIMIT), 0.02, graduation_of(xyz[:, 2]))


@pytest.mark.parametrize("step", [SIXTEENTH, MILLIMETRE, INCH / 4], ids=["1/16 in", "mm", "1/4 in"])
def test_a_plane_that_falls_the_limit_is_never_shown_to_fail_and_its_bounds_hold_it(step):
    lot = np.random.default_rng(16)
    for _ in range(150):
        found = laid(lot, LIMIT, step)
        assert found.verdict != "shown to fail"
        assert found.low - 1e-9 <= 0.02 <= found.high + 1e-9
        assert found.odd == ()  # no shot is out of line by its rounding


@pytest.mark.parametrize("step", [SIXTEENTH, MILLIMETRE], ids=["1/16 in", "mm"])
def test_a_plane_that_falls_clearly_less_is_shown_to_fail(step):
    lot = np.random.default_rng(17)
    for _ in range(150):
        assert laid(lot, Fraction("0.015"), step).verdict == "shown to fail"


def test_rows_of_rods_to_a_sixteenth_in_closed_form():
    """Three rows 5 ft apart on 2 %, 1.2 in from row to row: the fall of three rows is that of the
    outer ones, and rods to 1/16 in leave 1/16 in of it in 10 ft, 1/1920."""
    x, y = np.meshgrid(np.arange(5) * 1.524, np.array([0.0, 1.524, 3.048]))
    z = np.repeat([float(rounded(-inches * INCH, SIXTEENTH)) for inches in
                   (Fraction(0), Fraction("1.2"), Fraction("2.4"))], 5)  # fmt: skip
    wall = Wall("wall 1", np.zeros(2), np.array([6.1, 0.0]), np.array([0.0, 1.0]),
                shapely.box(0, 0, 6.1, 3.05), 3.05)  # fmt: skip
    xyz = np.column_stack([x.ravel(), y.ravel(), z])
    found = wall_as_built(wall, ("",) * 15, xyz, 0.02, 0.02, graduation_of(xyz[:, 2]))
    # 2.4 in stand on the rod as 2 3/8 in.
    assert found.fall == pytest.approx(2.375 / 120, abs=1e-5)
    assert found.high - found.fall == pytest.approx(1 / 1920, rel=0.01)
    assert (found.verdict, found.more) == ("not shown", None)
    # Told as if it were read to nothing, it would be shown to fail.
    assert wall_as_built(wall, ("",) * 15, xyz, 0.02, 0.02).verdict == "shown to fail"


@pytest.mark.parametrize(
    ("readings", "graduation"),
    [
        (["46 7/8", "44 1/2", "45 11/16"], 0.0254 / 16), (["46 1/4", "44 1/2"], 0.0254 / 4),
        (["46", "44"], 0.0254 / 2), (["46 1/32", "44"], 0.0254 / 32),
    ],
)  # fmt: skip
def test_rods_in_inches_are_read_to_their_finest_fraction(readings, graduation):
    metres = [float(sum(map(Fraction, each.split())) * INCH) for each in readings]
    assert graduation_of(np.array(metres)) == pytest.approx(graduation)


@pytest.mark.parametrize(
    ("levels", "unit", "graduation"),
    [
        ([30.08, 29.97], 0.3048, 0.003048), ([30.085, 29.97], 0.3048, 0.001524),
        ([30.083, 29.97], 0.3048, 0.0003048), ([1.203, 1.19], 1.0, 0.001),
        ([1.2034, 1.19], 1.0, 0.0001), ([1.21, 1.19], 1.0, 0.01), ([2.0, 1.0], 1.0, 0.01),
        ([1.20347, 1.19], 1.0, 0.0),
    ],
)  # fmt: skip
def test_levels_are_told_to_their_last_digit(levels, unit, graduation):
    assert graduation_of(np.array(levels) * unit) == pytest.approx(graduation)


def test_rounding_spreads_as_what_lies_anywhere_between_two_graduations():
    """The standard deviation of what is even between two bounds, by midpoints of 10 000 parts."""
    even = (np.arange(10_000) + 0.5) / 10_000 - 0.5
    assert spread_of(0.001) == pytest.approx(0.001 * np.sqrt((even**2).mean()), rel=1e-6)
