"""The exact integral against SciPy's adaptive quadrature, and against closed forms.

Sources: SciPy `integrate.quad` for the reference values; the closed forms are elementary
(volumes of a pyramid, a wedge, a cap of a paraboloid).
"""

from __future__ import annotations

import itertools

import numpy as np
import pytest
import shapely
from make.plans.grounds import earth, gridded, ground_of
from scipy.integrate import quad

REL = 1e-8


def pyramid(height, slope):
    """Ground height - slope max(|x|, |y|) over the square |x|, |y| <= 6: four flat faces."""
    rim = height - slope * 6
    corners = [(-6, -6, rim), (6, -6, rim), (6, 6, rim), (-6, 6, rim), (0, 0, height)]
    return ground_of(corners, [(0, 1, 4), (1, 2, 4), (2, 3, 4), (3, 0, 4)])


def ridge(height, left, right):
    """A ridge along y at x = 1, falling `left` and `right` for each metre away from it."""
    xs = [-6.0, 1.0, 6.0]
    levels = [height - 7 * left, height, height - 5 * right]
    return gridded(xs, [-6.0, 6.0], [levels, levels])


def by_quadrature(depth, x_range, y_range, kinks):
    """Integrate max(depth, 0) and max(-depth, 0) over y between two functions of x, then x.

    depth : function of (x, y), linear in y between kinks(x).
    """

    def inner(sign, x):
        low, high = (end(x) for end in y_range)
        if high <= low:
            return 0.0
        stops = sorted({low, high, *(y for y in kinks(x) if low < y < high)})
        total = 0.0
        for start, end in itertools.pairwise(stops):
            ends = sign * depth(x, start), sign * depth(x, end)
            points = None
            if ends[0] * ends[1] < 0:
                points = [start + (end - start) * ends[0] / (ends[0] - ends[1])]
            total += quad(
                lambda y: max(sign * depth(x, y), 0.0), start, end, points=points, epsabs=1e-12
            )[0]
        return total

    return [
        quad(lambda x, s=s: inner(s, x), *x_range, epsabs=1e-10, epsrel=1e-10, limit=400)[0]
        for s in (1, -1)
    ]


@pytest.mark.parametrize(
    "plane", [(1.0, 0.0, 0.0), (0.9, 0.05, -0.11), (2.5, 0.0, 0.0), (1.2, 0.31, 0.27)]
)
def test_pyramid_in_a_circle_of_chords(plane):
    ground = pyramid(2.0, 0.4)
    outline = shapely.Polygon([(-4, -3), (3.5, -4), (5, 1), (2, 4.5), (-3, 4)])
    moved = earth(ground, outline, plane)

    def depth(x, y):
        return 2 - 0.4 * max(abs(x), abs(y)) - (plane[0] + plane[1] * x + plane[2] * y)

    ring = np.array(outline.exterior.coords)
    low, high = _span(ring)
    stops = np.unique(np.concatenate([ring[:, 0], [0.0]]))
    parts = [
        by_quadrature(depth, (start, end), (low, high), lambda x: (abs(x), -abs(x)))
        for start, end in itertools.pairwise(stops)
    ]
    cut, fill = np.sum(parts, axis=0)
    assert moved.cut == pytest.approx(cut, rel=REL, abs=1e-9)
    assert moved.fill == pytest.approx(fill, rel=REL, abs=1e-9)


def _span(ring):
    """Lower and upper edge of a convex ring as functions of x."""
    start, end = ring[:-1], ring[1:]
    lower = [np.array(pair) for pair in zip(start, end, strict=True) if pair[0][0] < pair[1][0]]
    upper = [np.array(pair) for pair in zip(end, start, strict=True) if pair[0][0] < pair[1][0]]
    knots = []
    for pieces in (lower, upper):
        points = np.unique(np.concatenate(pieces), axis=0)
        knots.append(points[np.argsort(points[:, 0])])
    return [lambda x, k=k: float(np.interp(x, k[:, 0], k[:, 1])) for k in knots]


@pytest.mark.parametrize("plane", [(1.4, 0.0, 0.0), (1.3, -0.04, 0.09), (0.2, 0.1, 0.02)])
def test_ridge_under_a_slanting_outline(plane):
    ground = ridge(1.8, 0.12, 0.25)
    outline = shapely.Polygon([(-5, -2.5), (4, -4.5), (5.5, 3), (-2, 5)])
    moved = earth(ground, outline, plane)

    def depth(x, y):
        level = 1.8 - (0.12 * (1 - x) if x < 1 else 0.25 * (x - 1))
        return level - (plane[0] + plane[1] * x + plane[2] * y)

    ring = np.array(outline.exterior.coords)
    low, high = _span(ring)
    stops = np.unique(np.concatenate([ring[:, 0], [1.0]]))
    parts = [
        by_quadrature(depth, (start, end), (low, high), lambda x: ())
        for start, end in itertools.pairwise(stops)
    ]
    cut, fill = np.sum(parts, axis=0)
    assert moved.cut == pytest.approx(cut, rel=REL, abs=1e-9)
    assert moved.fill == pytest.approx(fill, rel=REL, abs=1e-9)


def test_pyramid_above_a_level_plane_in_closed_form():
    # Base half-width (2 - 1.2) / 0.4 = 2 m, height 0.8 m: a third of base area times height.
    square = shapely.box(-6, -6, 6, 6)
    moved = earth(pyramid(2.0, 0.4), square, (1.2, 0.0, 0.0))
    assert moved.cut == pytest.approx(4**2 * 0.8 / 3, rel=1e-14)
    assert moved.cut_area == pytest.approx(4**2, rel=1e-14)
    # The rest of the frustum below 1.2: whole prism less what the pyramid fills of it.
    whole = 12**2 * 2.4 / 3
    assert moved.fill == pytest.approx(12**2 * 1.6 - (whole - moved.cut), rel=1e-13)


def test_planar_ground_and_plane_leave_a_wedge():
    # Ground level, plane falling 2 % along x over 5 m from 0: fill 0, cut 1/2 b h L.
    ground = gridded([0, 1, 2.3, 5], [0, 2, 3], lambda x, y: 0 * x)
    moved = earth(ground, shapely.box(0, 0, 5, 3), (0.0, -0.02, 0.0))
    assert moved.cut == pytest.approx(5 * 0.1 / 2 * 3, rel=1e-14)
    assert (moved.fill, moved.fill_area) == (0, 0)


def test_a_curved_ground_converges_as_the_square_of_the_spacing():
    """The TIN of a paraboloid cap above a level plane nears pi r^2 h / 2: halve the spacing and
    the error falls to a quarter."""
    height, radius = 0.5, 4.0
    exact = np.pi * radius**2 * height / 2

    def cap(x, y):
        return height * (1 - (x**2 + y**2) / radius**2)

    errors = []
    for count in (20, 40, 80, 160):
        side = np.linspace(-5, 5, count + 1)
        moved = earth(gridded(side, side, cap), shapely.box(-5, -5, 5, 5), (0.0, 0.0, 0.0))
        errors.append(abs(moved.cut - exact) / exact)
    rates = np.array(errors[:-1]) / np.array(errors[1:])
    assert rates == pytest.approx(4, rel=0.12)
    assert errors[-1] < 2e-3


def test_a_wavy_ground_under_a_tilted_plane_converges_to_quadrature():
    def depth(x, y):
        return 0.12 * np.sin(0.9 * x) * np.cos(0.7 * y) - 0.02 * x + 0.015 * y

    nodes, weights = np.polynomial.legendre.leggauss(500)
    x, y = np.meshgrid(3 * nodes, 3 * nodes)
    values = depth(x, y)
    # The kink at the zero line limits Gauss-Legendre to about 1e-5 here.
    cut, fill = (9 * weights @ np.maximum(part, 0) @ weights for part in (values, -values))
    side = np.linspace(-3, 3, 201)
    ground = gridded(side, side, lambda x, y: depth(x, y) + 0.02 * x - 0.015 * y)
    moved = earth(ground, shapely.box(-3, -3, 3, 3), (0.0, 0.02, -0.015))
    assert moved.cut == pytest.approx(cut, rel=1e-4)
    assert moved.fill == pytest.approx(fill, rel=1e-4)
