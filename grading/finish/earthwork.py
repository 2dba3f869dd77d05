"""Exact earthwork: an outline cut out of the ground once, then any plane against it.

The ground is linear on each triangle and so is a plane, so the depth between them is linear
too, and its positive part is integrated in closed form. The cutting is done once; every
further plane is an array expression over the pieces.
"""

from __future__ import annotations

from functools import cached_property
from typing import Any

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from grading.geometry.arrays import Floats

_SLIVER = 1e-14  # own: of the whole area, what cutting leaves
PART = 8192  # own: pieces that are summed at once, so that what is made of them stays near by


class Volumes(Struct, frozen=True):
    """Volumes between the ground and a plane, each positive, and the plan areas they stand on.

    cut is ground above the plane, fill ground below it [m3]; their areas [m2].
    """

    cut: float
    fill: float
    cut_area: float
    fill_area: float


class Moments(Struct, frozen=True):
    """What the earth moved by a plane is made of, with its slope and curvature.

    Attributes
    ----------
    moved : float
        Integral of abs(depth). [m3]
    gradient : (3,) float
        Its derivative by the plane's z0, dzdx, dzdy, about the clip's own centre.
    curvature : (3, 3) float
        Its second derivative.
    """

    moved: float
    gradient: Floats
    curvature: Floats


class Clip(Struct, frozen=True, dict=True):
    """The pieces of the ground's triangles inside an outline.

    Attributes
    ----------
    xy : (k, 3, 2) float
        Corners in plan, counter-clockwise. [m]
    ground : (k, 3) float
        Existing ground at the corners. [m]
    organics : (k, 3) float
        Depth of organics at the corners. [m]
    facet : (k,) int
        The facet of the finish that each piece lies under; all 0 where there is one.
    origin : (2,) float or None
        What moments are taken about, where that is not the centroid. [m]
    """

    xy: Floats
    ground: Floats
    organics: Floats
    facet: NDArray[np.intp]
    origin: Floats | None = None

    @cached_property
    def areas(self) -> Floats:
        """Plan area of each piece, (k,). [m2]"""
        return _areas(self.xy)

    @cached_property
    def area(self) -> float:
        """Plan area of the whole. [m2]"""
        return float(self.areas.sum())

    @cached_property
    def centre(self) -> Floats:
        """What moments are taken about, (2,): the centroid, unless an origin is given. [m]"""
        if self.origin is not None:
            return self.origin
        one, two, three = self.xy.transpose(1, 0, 2)
        return np.asarray(np.average((one + two + three) / 3, axis=0, weights=self.areas))

    @cached_property
    def integral_of_rows(self) -> Floats:
        """Integral of (1, x, y) about the centre over the plan, (3,)."""
        x, y, _ = self._columns
        return np.asarray(self.areas @ _means((x, y)))

    @cached_property
    def integral_of_squares(self) -> Floats:
        """Integral of (1, x, y)'(1, x, y) about the centre over the plan, (3, 3).

        Exact from the corners: over a triangle the integral of a product of two linear
        functions is its area over 12 times the sum of both products of sums and of corners.
        """
        x, y, _ = self._columns
        rows = (np.ones_like(x), x, y)
        squares = np.empty((3, 3))
        for i in range(3):
            for j in range(i, 3):
                one, other = rows[i], rows[j]
                whole = one.sum(axis=0) * other.sum(axis=0) + (one * other).sum(axis=0)
                squares[i, j] = squares[j, i] = self.areas @ whole / 12
        return squares

    @cached_property
    def ground_volume(self) -> float:
        """Integral of the ground's level over the plan. [m3]"""
        return float(self.areas @ self.ground.mean(axis=1))

    @cached_property
    def _columns(self) -> tuple[Floats, Floats, Floats]:
        """x and y about the centre and the ground, corner by corner, (3, k) each.

        A column that lies in one piece in memory is read several times faster.
        """
        x, y = (
            np.ascontiguousarray((self.xy[:, :, axis] - self.centre[axis]).T) for axis in (0, 1)
        )
        return x, y, np.ascontiguousarray(self.ground.T)

    @cached_property
    def stripped(self) -> Clip:
        """The same pieces with the ground at the bottom of the topsoil."""
        x, y, ground = self._columns
        level = ground - self.organics.T
        other = replace(self, ground=level.T)
        # What does not hang on the ground is not worked out again.
        vars(other).update(areas=self.areas, centre=self.centre, _columns=(x, y, level))
        return other

    def depth(self, z0: float, dzdx: float, dzdy: float) -> Floats:
        """Return ground less the plane z0 + dzdx x + dzdy y at the corners, (k, 3). [m]"""
        level = z0 + dzdx * self.centre[0] + dzdy * self.centre[1]
        x, y, ground = self._columns
        return np.asarray((ground - level - dzdx * x - dzdy * y).T)

    def depth_below(self, planes: Floats) -> Floats:
        """Return ground less the plane of each piece's facet at the corners, (k, 3). [m]

        Parameters
        ----------
        planes : (f, 3) float
            z0 [m], dzdx and dzdy [ratio] of each facet.
        """
        if len(planes) == 1:
            return self.depth(*planes[0])
        level = planes[:, 0] + planes[:, 1:] @ self.centre
        x, y, ground = self._columns
        dzdx, dzdy = planes[self.facet, 1:].T
        return np.asarray((ground - level[self.facet] - dzdx * x - dzdy * y).T)

    def part(self, facet: int, origin: Floats) -> Clip:
        """Return the pieces under one facet, with moments about an origin (2,). [m]

        What was asked of a facet last is kept: every solve over the same pieces asks the same.
        """
        known = self._parts.get(facet)
        if known is not None and np.array_equal(known.centre, origin):
            return known
        own = self.facet == facet
        if own.all():
            found = replace(self, origin=origin)
            vars(found)["areas"] = self.areas
        else:
            columns = self.xy[own], self.ground[own], self.organics[own], self.facet[own]
            found = Clip(*columns, origin)
        self._parts[facet] = found
        return found

    @cached_property
    def _parts(self) -> dict[int, Clip]:
        return {}

    def volumes(self, z0: float, dzdx: float, dzdy: float) -> Volumes:
        """Return cut and fill between the ground and the plane z0 + dzdx x + dzdy y."""
        return positive_and_negative(self.depth(z0, dzdx, dzdy), self.areas)

    def moments(self, coefficients: Floats) -> Moments:
        """Return the earth moved by a plane about `centre`, with its exact derivatives.

        Parameters
        ----------
        coefficients : (3,) float
            Level at the centre [m] and the two slopes [ratio].
        """
        level, dzdx, dzdy = coefficients
        x, y, ground = self._columns
        moved, gradient, curvature = 0.0, np.zeros(3), np.zeros((3, 3))
        for start in range(0, len(self.xy), PART):
            own = slice(start, start + PART)
            plan = x[:, own], y[:, own]
            depth = ground[:, own] - (level + dzdx * plan[0] + dzdy * plan[1])
            part = _moments(depth, self.areas[own], plan)
            moved += part.moved
            gradient += part.gradient
            curvature += part.curvature
        return Moments(moved, gradient, curvature)


def _areas(xy: Floats) -> Floats:
    (x, y), (x1, y1), (x2, y2) = xy.transpose(1, 2, 0)
    return np.asarray(0.5 * ((x1 - x) * (y2 - y) - (y1 - y) * (x2 - x)))


def _alone(depth: Floats) -> NDArray[np.intp]:
    """Return for each triangle that crosses zero the corner alone on its side of it, (k,)."""
    below = depth < 0
    # One corner below: the lowest. Two below: the highest.
    return np.asarray(
        np.where(below.sum(axis=1) == 1, depth.argmin(axis=1), depth.argmax(axis=1)), dtype=np.intp
    )


def _turned(corners: NDArray[Any], first: NDArray[np.intp]) -> tuple[NDArray[Any], ...]:
    """Return each triangle's corner values from the given corner on, in turn."""
    number = np.arange(len(corners))
    return tuple(corners[number, (first + turn) % 3] for turn in range(3))


def positive_and_negative(depth: Floats, areas: Floats) -> Volumes:
    """Integrate the positive and the negative part of a depth that is linear on triangles.

    Parameters
    ----------
    depth : (k, 3) float
        Depth at the corners. [m]
    areas : (k,) float
        Plan areas. [m2]

    Notes
    -----
    Over a triangle wholly on one side the volume is its area times the mean depth. Where it
    crosses zero, the corner alone on its side cuts off a triangle of area A s t, s and t the
    shares of its two edges, and the tetrahedron over that has volume A s t d / 3; the rest
    follows by difference from the whole.
    """
    first, second, third = depth.T
    low = np.minimum(np.minimum(first, second), third)
    high = np.maximum(np.maximum(first, second), third)
    whole = areas * ((first + second + third) / 3)
    up, down = low >= 0, high <= 0
    cut, fill = float(whole @ up), -float(whole @ down)
    cut_area = float(areas @ (up & (high > 0)))
    fill_area = float(areas @ (down & (low < 0)))
    mixed = np.flatnonzero(~(up | down))
    if len(mixed):
        parts, share = depth[mixed], areas[mixed]
        lone, second, third = _turned(parts, _alone(parts))
        corner_area = share * (lone / (lone - second)) * (lone / (lone - third))
        corner = corner_area * lone / 3
        rest = whole[mixed] - corner
        is_up = lone > 0
        rest_area = share - corner_area
        cut += float(corner @ is_up + rest @ ~is_up)
        fill -= float(corner @ ~is_up + rest @ is_up)
        cut_area += float(corner_area @ is_up + rest_area @ ~is_up)
        fill_area += float(corner_area @ ~is_up + rest_area @ is_up)
    # What is left by difference may fall short of nothing by its rounding.
    return Volumes(max(cut, 0.0) + 0.0, max(fill, 0.0) + 0.0, cut_area, fill_area)


def _means(plan: tuple[Floats, Floats]) -> Floats:
    """Return the mean of (1, x, y) over each piece, (k, 3), of x and y at its corners, (3, k)."""
    means = [(first + second + third) / 3 for first, second, third in plan]
    return np.column_stack([np.ones_like(means[0]), *means])


def _moments(depth: Floats, areas: Floats, plan: tuple[Floats, Floats]) -> Moments:
    """Integrate abs(depth) and its derivatives by the plane's three coefficients.

    Parameters
    ----------
    depth : (3, k) float
        At the corners of each piece. [m]
    areas : (k,) float
        [m2]
    plan : (3, k) float, (3, k) float
        x and y of the corners. [m]

    Notes
    -----
    The derivative of abs(depth) is the sign of depth times the row (1, x, y), so the gradient
    is made of areas and first moments of the two sides. The second derivative lives on the
    zero line: 2 row row' / |slope of depth|, a quadratic along each straight piece of the
    line, which Simpson's rule integrates exactly. Most pieces lie on one side, and are summed as
    they are; the line is looked for in the few that it crosses.
    """
    one, two, three = depth
    means = _means(plan)
    whole = areas * ((one + two + three) / 3)
    sign = np.sign(whole)
    moved = float(np.abs(whole).sum())
    gradient = -((sign * areas) @ means)
    curvature = np.zeros((3, 3))
    low, high = np.minimum(np.minimum(one, two), three), np.maximum(np.maximum(one, two), three)
    mixed = np.flatnonzero((low < 0) & (high > 0))
    if not len(mixed):
        return Moments(moved, gradient, curvature)

    parts, share = depth[:, mixed].T, areas[mixed]
    corner_rows = np.ones((len(mixed), 3, 3))
    for axis, column in enumerate(plan, start=1):
        corner_rows[:, :, axis] = column[:, mixed].T
    alone = _alone(parts)
    lone, left_depth, right_depth = _turned(parts, alone)
    first, second, third = _turned(corner_rows, alone)
    left, right = lone / (lone - left_depth), lone / (lone - right_depth)
    start = first + left[:, None] * (second - first)
    end = first + right[:, None] * (third - first)
    corner_area = share * left * right
    corner = corner_area * lone / 3
    whole = whole[mixed]
    # abs over the triangle: the lone corner's side one way, the rest the other way.
    moved += float((np.abs(corner) + np.abs(whole - corner) - np.abs(whole)).sum())
    way = np.sign(lone)
    corner_first = corner_area[:, None] * (first + start + end) / 3
    whole_first = share[:, None] * means[mixed]
    exact = way[:, None] * (2 * corner_first - whole_first)
    gradient -= (exact - sign[mixed][:, None] * whole_first).sum(axis=0)

    # On the triangle with corners first, start, end (depth lone, 0, 0) the zero line is its
    # base and lone over its height is the slope: length / slope = 2 area / lone.
    weight = 2 * 2 * corner_area / np.abs(lone)
    middle = (start + end) / 2
    for part, simpson in ((start, 1 / 6), (middle, 4 / 6), (end, 1 / 6)):
        curvature += np.einsum("k,ki,kj->ij", simpson * weight, part, part)
    return Moments(moved, gradient, curvature)


def counter_clockwise(columns: Floats) -> Clip:
    """Return pieces, turned one way.

    Parameters
    ----------
    columns : (4, 3, k) float
        x, y, ground and organics at each corner: a column that lies in one piece in memory is read
        several times faster. Written to. [m]
    """
    areas = _areas(columns[:2].T)
    turned = np.flatnonzero(areas < 0)
    columns[:, 1, turned], columns[:, 2, turned] = columns[:, 2, turned], columns[:, 1, turned]
    # An outline that runs along an edge leaves slivers that are rounding alone.
    np.abs(areas, out=areas)
    kept = areas > _SLIVER * areas.sum()
    if not kept.all():
        columns = columns[:, :, kept]
    one = np.zeros(columns.shape[2], dtype=np.intp)
    return Clip(columns[:2].T, columns[2].T, columns[3].T, one)
