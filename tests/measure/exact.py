"""Cut and fill in exact rational arithmetic: slow, and by another road than the code under test.

Each triangle is cut by the outline's half-planes and then by the zero line of its depth, and
every polygon that is left is summed as a fan of triangles. Fractions carry no rounding.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Sequence
from fractions import Fraction

import numpy as np
from make.plans.grounds import Plane

from grading.ground.model import Ground

Corner = tuple[Fraction, Fraction, Fraction]  # x, y, depth


def exact_volumes(
    ground: Ground, outline: Sequence[Sequence[float]], plane: Plane
) -> tuple[Fraction, Fraction]:
    """Return cut and fill inside a convex, counter-clockwise outline. [m3]"""
    z0, dzdx, dzdy = (Fraction(float(value)) for value in plane)
    ring = [(Fraction(float(x)), Fraction(float(y))) for x, y in outline]
    cut = fill = Fraction(0)
    for triangle in ground.points[ground.triangles]:
        corners = [
            (x, y, z - z0 - dzdx * x - dzdy * y)
            for x, y, z in (map(Fraction, map(float, corner)) for corner in triangle)
        ]
        for start, end in zip(ring, ring[1:] + ring[:1], strict=True):
            corners = _kept(corners, [_side(start, end, corner) for corner in corners])
        cut += _volume(_kept(corners, [corner[2] for corner in corners]))
        fill -= _volume(_kept(corners, [-corner[2] for corner in corners]))
    return cut, fill


def best_fit(points: Iterable[Sequence[Fraction]]) -> tuple[Fraction, Fraction, Fraction]:
    """Return the least-squares plane z0 + dzdx x + dzdy y of points, exactly."""
    rows = [(Fraction(1), x, y, z) for x, y, z in points]
    matrix = [[sum(row[i] * row[j] for row in rows) for j in range(4)] for i in range(3)]
    for i in range(3):
        matrix[i] = [value / matrix[i][i] for value in matrix[i]]
        for j in range(3):
            if j != i:
                share = matrix[j][i]
                matrix[j] = [a - share * b for a, b in zip(matrix[j], matrix[i], strict=True)]
    return matrix[0][3], matrix[1][3], matrix[2][3]


def as_floats(values: Iterable[Fraction]) -> np.ndarray:
    """Return exact numbers rounded to the nearest float64."""
    return np.array([float(value) for value in values])


def _side(start: Sequence[Fraction], end: Sequence[Fraction], corner: Corner) -> Fraction:
    along_x, along_y = end[0] - start[0], end[1] - start[1]
    return along_x * (corner[1] - start[1]) - along_y * (corner[0] - start[0])


def _kept(corners: list[Corner], sides: list[Fraction]) -> list[Corner]:
    """Return the part of a convex polygon where a linear function is not negative."""
    kept: list[Corner] = []
    for i, corner in enumerate(corners):
        before, here = sides[i - 1], sides[i]
        if (before < 0 < here) or (here < 0 < before):
            share = before / (before - here)
            last = corners[i - 1]
            x, y, depth = (a + share * (b - a) for a, b in zip(last, corner, strict=True))
            kept.append((x, y, depth))
        if here >= 0:
            kept.append(corner)
    return kept


def _volume(corners: list[Corner]) -> Fraction:
    total = Fraction(0)
    for second, third in itertools.pairwise(corners):
        first = corners[0]
        along, across = ((corner[0] - first[0], corner[1] - first[1]) for corner in (second, third))
        area = (along[0] * across[1] - along[1] * across[0]) / 2
        total += area * (first[2] + second[2] + third[2]) / 3
    return total
