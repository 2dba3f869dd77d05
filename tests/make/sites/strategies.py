"""Hypothesis strategies: grounds, outlines, planes and lines that a yard could have [m], and
surveys of spots on a millimetre grid, as a tape and a level give them.
"""

from __future__ import annotations

import numpy as np
import shapely
from hypothesis import strategies as st
from make.plans.grounds import Plane, ground_of

from grading.ground.model import Ground

SIZE = 12.0  # side of the square that every ground covers

MILLIMETRE = 1e-3

_part = st.floats(0, 1, allow_nan=False, width=32)


@st.composite
def grounds(draw: st.DrawFn, least: int = 0, most: int = 14) -> Ground:
    """Grounds over a square of 12 m: corners, spots anywhere within, heights within 1.5 m.

    Spots are set on a grid of 1 cm, so that none is all but another.
    """
    cell = st.tuples(st.integers(1, 1199), st.integers(1, 1199))
    inner = draw(st.lists(cell, min_size=least, max_size=most, unique=True))
    xy = [(0, 0), (1200, 0), (1200, 1200), (0, 1200), *inner]
    millimetres = draw(st.lists(st.integers(-750, 750), min_size=len(xy), max_size=len(xy)))
    points = np.column_stack([np.array(xy) / 100, np.array(millimetres) / 1000])
    organics = draw(st.sampled_from([0.0, 0.05, 0.178]))
    return ground_of(points, organics=organics)


@st.composite
def outlines(draw: st.DrawFn, holes: bool = True) -> shapely.Polygon:
    """Star-shaped outlines of 3 to 9 corners within the square, some with a planting pocket."""
    count = draw(st.integers(3, 9))
    radii = draw(st.lists(st.floats(1.0, 5.0), min_size=count, max_size=count))
    start = draw(st.floats(0, 2 * np.pi))
    turns = start + 2 * np.pi * np.arange(count) / count
    ring = 6 + np.array(radii)[:, None] * np.column_stack([np.cos(turns), np.sin(turns)])
    outline = shapely.Polygon(ring)
    if holes and draw(st.booleans()):
        pocket = shapely.Point(draw(st.floats(3, 9)), draw(st.floats(3, 9))).buffer(
            draw(st.floats(0.2, 1.0)), quad_segs=draw(st.integers(1, 6))
        )
        left = outline - pocket
        if isinstance(left, shapely.Polygon) and left.area > 0.1:
            outline = left
    return outline


@st.composite
def planes(draw: st.DrawFn) -> Plane:
    """Planes that fall at most 8 % and pass within 0.6 m of the datum at the square's middle."""
    fall, turn = draw(st.floats(0, 0.08)), draw(st.floats(0, 2 * np.pi))
    level = draw(st.floats(-0.6, 0.6))
    dzdx, dzdy = float(fall * np.cos(turn)), float(fall * np.sin(turn))
    return level - 6 * dzdx - 6 * dzdy, dzdx, dzdy


@st.composite
def lines(draw: st.DrawFn) -> tuple[np.ndarray, np.ndarray]:
    """Lines through the middle of the square: a point and a unit vector along."""
    at = np.array([draw(st.floats(3, 9)), draw(st.floats(3, 9))])
    turn = draw(st.floats(0, np.pi))
    return at, np.array([np.cos(turn), np.sin(turn)])


def sides(line: tuple[np.ndarray, np.ndarray], reach: float = 100.0) -> list[shapely.Polygon]:
    """Return the two half-planes of a line, as far as they matter."""
    at, along = line
    across = np.array([-along[1], along[0]])
    near, far = at - reach * along, at + reach * along
    return [
        shapely.Polygon([near, far, far + way * reach * across, near + way * reach * across])
        for way in (1, -1)
    ]


def lengths(most: float = 1000.0) -> st.SearchStrategy[float]:
    """Lengths and elevations to either side of zero. [m]"""
    return st.floats(-most, most, allow_nan=False)


@st.composite
def edges(draw: st.DrawFn) -> list[list[float] | dict[str, list[list[float]]]]:
    """Edges of star-shaped outlines, straight and round, in either direction.

    Round edges bulge out a good deal or in a little, so that none crosses another at a corner.
    """
    count = draw(st.integers(3, 8))
    radii = draw(st.lists(st.floats(3.0, 5.0), min_size=count, max_size=count))
    turns = 2 * np.pi * (np.arange(count) + draw(st.floats(0, 1))) / count
    centre = complex(draw(st.floats(-1000, 1000)), draw(st.floats(-1000, 1000)))
    corners = centre + np.array(radii) * np.exp(1j * turns)
    if draw(st.booleans()):
        corners = corners[::-1]
    written: list[list[float] | dict[str, list[list[float]]]] = []
    for before, corner in zip(np.roll(corners, 1), corners, strict=True):
        end = [float(corner.real), float(corner.imag)]
        bulge = draw(st.one_of(st.none(), st.floats(0.01, 0.3), st.floats(-0.08, -0.01)))
        if bulge is None:
            written.append(end)
            continue
        middle = (before + corner) / 2
        through = middle + bulge * abs(corner - before) * (middle - centre) / abs(middle - centre)
        written.append({"arc": [[float(through.real), float(through.imag)], end]})
    return written


@st.composite
def plan_points(draw, fewest=3, most=40, width=20_000):
    """Distinct points (n, 2), not all on one line. [m]"""
    coordinate = st.integers(-width // 2, width // 2)
    # a coarse step now and then gives rows and columns, where rounding and ties live
    step = draw(st.sampled_from([2, 500, 2000]))
    count = {"min_size": fewest, "max_size": most}
    cells = draw(st.lists(st.tuples(coordinate, coordinate), unique=True, **count))
    points = np.unique(np.array(cells) // step * step, axis=0) * MILLIMETRE
    corners = np.array([[-12.0, -11.0], [12.5, -10.5], [1.5, 13.0]])
    return np.concatenate((points, corners))


@st.composite
def surveys(draw, fewest=3, most=40):
    """Spots (n, 3) with elevations within a metre of each other. [m]"""
    points = draw(plan_points(fewest, most))
    level = st.integers(-500, 500)
    z = draw(st.lists(level, min_size=len(points), max_size=len(points)))
    return np.column_stack((points, 100 + np.array(z) * MILLIMETRE))


@st.composite
def slopes(draw):
    """A plane z = c + a x + b y as (a, b, c). [ratio, ratio, m]"""
    ratio = st.floats(-0.3, 0.3)
    return np.array([draw(ratio), draw(ratio), draw(st.floats(-50, 150))])


@st.composite
def bent_lines(draw, most=4):
    """A straight or bent line (k, 2) over or past the surveys. [m]"""
    coordinate = st.integers(-16_000, 16_000)
    corners = draw(
        st.lists(st.tuples(coordinate, coordinate), min_size=2, max_size=most, unique=True)
    )
    return np.array(corners) * MILLIMETRE
