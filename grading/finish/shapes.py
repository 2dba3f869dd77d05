"""The shapes that a finish can take: one plane, planes folded along a line, a fan, a warp.

A shape parts the plan into domains, and gives each domain's plane as linear in a few unknowns:
the level at a centre and two slopes, and for each fold the change of slope across it. A plane
that changes slope by k across a line through q with unit normal n goes on as itself plus
k (x - q) n, so the two sides meet along the line whatever k is.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
import shapely
from msgspec import Struct

from grading.geometry.arrays import Floats

FRAME = 3.0
"""How far beyond the outline the domains go on, for the over-dug hole. [m]"""

STRIPS = 8
"""Strips that a warped surface is laid out in, each of two planes."""


class Shape(Struct, frozen=True):
    """Domains and how the plane of each hangs on the unknowns.

    Attributes
    ----------
    domains : tuple of shapely polygon
        They part a frame around the outline. [m]
    maps : tuple of (3, p) float
        Level at the centre, dzdx and dzdy of each domain's plane from the p unknowns.
    bends : (s, p) float
        Rows that are at least 0: a ridge sheds, a valley gathers.
    levels : int
        How many unknowns are levels: the first ones.
    sheds : tuple of (int, (2,) float)
        Facets that must fall along a unit vector: away from a ridge, out from a corner.
    span : float
        Length times width between the edges of a warp; 0 where there is none. [m2]
    """

    domains: tuple[shapely.Polygon, ...]
    maps: tuple[Floats, ...]
    bends: Floats
    levels: int = 1
    sheds: tuple[tuple[int, Floats], ...] = ()
    span: float = 0.0

    @property
    def unknowns(self) -> int:
        """How many unknowns there are."""
        return int(self.maps[0].shape[1])

    def scale(self, length: float) -> Floats:
        """Return what one unit of each unknown is worth over an area's length [m], (p,)."""
        slopes = self.unknowns - self.levels
        return np.concatenate([np.ones(self.levels), np.full(slopes, 1 / length)])


def _frame(outline: shapely.Polygon) -> shapely.Polygon:
    return shapely.box(*outline.buffer(FRAME).bounds)


def _parted(frame: shapely.Polygon, lines: Sequence[Floats]) -> list[shapely.Polygon]:
    """Part a frame along lines that end on or beyond it."""
    edges = shapely.union_all(
        [frame.boundary, *(shapely.intersection(shapely.LineString(line), frame) for line in lines)]
    )
    cells = shapely.get_parts(shapely.polygonize([edges]))
    return [cell for cell in cells if isinstance(cell, shapely.Polygon)]


def plane_shape(outline: shapely.Polygon) -> Shape:
    """Return one plane over the whole area."""
    return Shape((_frame(outline),), (np.eye(3),), np.zeros((0, 3)))


def _fold_column(point: Floats, normal: Floats, centre: Floats) -> Floats:
    """Return what a unit of slope across a fold adds to level at the centre and slopes, (3,)."""
    return np.array([(centre - point) @ normal, *normal])


def folded_shape(outline: shapely.Polygon, centre: Floats, fold: Floats, bend: int) -> Shape:
    """Return two planes that meet along a line.

    Parameters
    ----------
    outline : shapely polygon
        The paving. [m]
    centre : (2,) float
        What levels are taken at. [m]
    fold : (2, 2) float
        Two points of the fold; it goes on through the whole area. [m]
    bend : -1, 0 or 1
        A ridge, either, or a valley.
    """
    frame = _frame(outline)
    start, end = fold
    along = (end - start) / np.hypot(*(end - start))
    normal = np.array([-along[1], along[0]])
    reach = 2 * frame.length
    line = np.array([start - reach * along, end + reach * along])
    near: list[shapely.Polygon] = []
    far: list[shapely.Polygon] = []
    for cell in _parted(frame, [line]):
        side = (shapely.get_coordinates(cell.representative_point())[0] - start) @ normal
        (far if side > 0 else near).append(cell)
    if not near or not far:
        return plane_shape(outline)
    first = np.column_stack([np.eye(3), np.zeros(3)])
    second = np.column_stack([np.eye(3), _fold_column(start, normal, centre)])
    bends = np.array([[0.0, 0, 0, bend]]) if bend else np.zeros((0, 4))
    sheds = ((0, -normal), (1, normal)) if bend < 0 else ()
    return Shape((near[0], far[0]), (first, second), bends, sheds=sheds)


def fan_shape(
    outline: shapely.Polygon, centre: Floats, corner: Floats, rays: Sequence[Floats]
) -> Shape:
    """Return planes around an outside corner of the house, meeting along rays from it.

    Parameters
    ----------
    outline : shapely polygon
    centre, corner : (2,) float
        What levels are taken at, and where the rays begin. [m]
    rays : sequence of (2,) float
        Unit vectors from the corner into the yard, in turn. Water sheds across each.
    """
    frame = _frame(outline)
    reach = 2 * frame.length
    back = -np.sum(rays, axis=0)
    back = back / np.hypot(*back)
    ends = [*rays, back]
    cells = _parted(frame, [np.array([corner, corner + reach * ray]) for ray in ends])
    turn = [np.arctan2(*ray[::-1]) for ray in rays]
    zero = np.arctan2(*back[::-1])
    order = np.argsort([(angle - zero) % (2 * np.pi) for angle in turn])
    sorted_rays = [rays[number] for number in order]
    limits = [(turn[number] - zero) % (2 * np.pi) for number in order]
    count = 3 + len(rays)
    maps = []
    current = np.column_stack([np.eye(3), np.zeros((3, len(rays)))])
    maps.append(current)
    for number, ray in enumerate(sorted_rays):
        current = current.copy()
        normal = np.array([-ray[1], ray[0]])
        current[:, 3 + number] = _fold_column(corner, normal, centre)
        maps.append(current)
    domains: list[shapely.Polygon | None] = [None] * len(maps)
    for cell in cells:
        place = shapely.get_coordinates(cell.representative_point())[0] - corner
        angle = (np.arctan2(place[1], place[0]) - zero) % (2 * np.pi)
        domains[int(np.searchsorted(limits, angle))] = cell
    bends = np.zeros((len(rays), count))
    bends[np.arange(len(rays)), 3 + np.arange(len(rays))] = -1.0
    cells_found = [cell for cell in domains if cell is not None]
    # Between two rays no wall says which way water leaves: out from the corner.
    sheds = tuple(
        (number, _between(sorted_rays[number - 1], sorted_rays[number]))
        for number in range(1, len(rays))
    )
    return Shape(tuple(cells_found), tuple(maps), bends, sheds=sheds)


def _between(first: Floats, second: Floats) -> Floats:
    middle = first + second
    return np.asarray(middle / np.hypot(*middle))


def warped_shape(outline: shapely.Polygon, centre: Floats, first: Floats, second: Floats) -> Shape:
    """Return a ruled surface between two edges, laid out in strips of two planes each.

    Parameters
    ----------
    outline : shapely polygon
    centre : (2,) float
        What levels are taken at. [m]
    first, second : (2, 2) float
        Start and end of the two edges, running the same way. [m] The four unknowns are the
        levels of their ends.

    Notes
    -----
    Between two rulings the surface is a hyperbolic paraboloid; two triangles that share its four
    corners miss it by at most the twist over the strip, over 4.
    """
    reach = 2 * _frame(outline).length
    past = FRAME / min(float(np.hypot(*(edge[1] - edge[0]))) for edge in (first, second))
    shares = np.concatenate([[-past], np.linspace(0, 1, STRIPS + 1), [1 + past]])
    domains, maps = [], []
    for low, high in pairwise(shares.tolist()):
        near_low, near_high, far_low, far_high = corners = [
            edge[0] + share * (edge[1] - edge[0])
            for edge in (first, second)
            for share in (low, high)
        ]
        weights = np.zeros((4, 4))
        weights[[0, 1], 0], weights[[0, 1], 1] = (1 - low, 1 - high), (low, high)
        weights[[2, 3], 2], weights[[2, 3], 3] = (1 - low, 1 - high), (low, high)
        out_low, out_high = near_low - far_low, near_high - far_high
        out_low, out_high = out_low / np.hypot(*out_low), out_high / np.hypot(*out_high)
        # Past the edges the strip goes on along its rulings.
        near = [near_low + reach * out_low, near_high + reach * out_high, near_high, far_low]
        far = [near_high, far_high - reach * out_high, far_low - reach * out_low, far_low]
        for which, region in (((0, 1, 2), near), ((1, 3, 2), far)):
            rows = np.column_stack([np.ones(3), np.array([corners[n] for n in which]) - centre])
            maps.append(np.linalg.inv(rows) @ weights[list(which)])
            domains.append(shapely.Polygon(region))
    frame = _frame(outline)
    clipped = [shapely.intersection(shapely.make_valid(domain), frame) for domain in domains]
    kept = [
        (cell, each)
        for cell, each in zip(clipped, maps, strict=True)
        if isinstance(cell, shapely.Polygon) and not cell.is_empty
    ]
    cells = tuple(cell for cell, _ in kept)
    long = np.mean([np.hypot(*(edge[1] - edge[0])) for edge in (first, second)])
    wide = np.hypot(*(second.mean(axis=0) - first.mean(axis=0)))
    span = float(long * wide)
    return Shape(cells, tuple(each for _, each in kept), np.zeros((0, 4)), levels=4, span=span)
