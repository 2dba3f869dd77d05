"""The pavers of an area: the soldier course along its edges, and the field within it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np
import shapely
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from grading.geometry.arrays import Region
from grading.geometry.outline import Edge, edge_lines
from grading.geometry.tolerances import NOTHING, TOUCH, whole_up
from grading.order.laid.units import TURN, Laid, best, framed, frames_of, lay
from grading.site.paver_table import Pavers
from grading.units import INCH

NARROW = 3 / 8 * INCH
"""A cut piece is at least this wide. [m]

Paver industry construction tolerances guide: no piece smaller than 3/8 in under foot traffic.
"""


_GRID = 1e-8  # own: m, overlays lie on it, and pieces of a hair are not lost


class PaverLayout(Struct, frozen=True):
    """Pavers laid over an area.

    Attributes
    ----------
    pavers : Pavers
    paved : shapely polygon or multipolygon
        The paving, less what stands on a base of its own. [m]
    field : Laid
        The pattern inside the soldier course.
    soldier_length : float
        Length of the soldier course along its middle; it is charged once at a corner. [m]
    soldier_pieces : int
    """

    pavers: Pavers
    paved: Region
    field: Laid
    soldier_length: float
    soldier_pieces: int

    @property
    def area(self) -> float:
        """Plan area that is paved. [m2]"""
        return float(self.paved.area)

    @property
    def unit_area(self) -> float:
        """Plan area of a unit with its joint. [m2]"""
        return (self.pavers.length + self.pavers.joint) * (self.pavers.width + self.pavers.joint)

    @property
    def joint_share(self) -> float:
        """Share of the surface that is joint. [ratio]"""
        return 1 - self.pavers.length * self.pavers.width / self.unit_area


def lay_pavers(
    polygon: shapely.Polygon,
    edges: Sequence[Edge],
    pavers: Pavers,
    left_out: shapely.Geometry | None = None,
) -> PaverLayout:
    """Lay the pavers of an area, along its longest straight edge and from an end of it.

    Parameters
    ----------
    polygon : shapely polygon
        The paving, its holes left out. [m]
    edges : sequence
        Its outline as written, which numbers the edges. [m]
    pavers : Pavers
    left_out : shapely geometry, optional
        What stands on a base of its own: no paver lies there. [m]

    Notes
    -----
    Of the ends of the longest edges, the one that takes fewest units.
    """
    paved: Region = polygon
    if left_out is not None and not shapely.is_empty(left_out):
        paved = shapely.difference(polygon, left_out)  # type: ignore[assignment]
    total, pieces = 0.0, 0
    strips = _strips(paved, edges, pavers)
    for strip, length in strips:
        total += strip.area / (pavers.length + pavers.joint)
        pieces += whole_up(length / (pavers.width + pavers.joint))
    laid = best(_fields(_inside(paved, strips), polygon, pavers))
    return PaverLayout(pavers, paved, laid, total, pieces)


def _inside(paved: Region, strips: Sequence[tuple[Region, float]]) -> Region:
    """Return the paving within its soldier courses.

    On a grid: left to doubles, an overlay of sides that lie on each other may lose a whole strip.
    """
    if not strips:
        return paved
    courses = shapely.union_all([strip for strip, _ in strips], grid_size=_GRID)
    return shapely.difference(paved, courses, grid_size=_GRID)  # type: ignore[return-value]


def _fields(inside: Region, polygon: shapely.Polygon, pavers: Pavers) -> Iterator[Laid]:
    """Yield the field laid from either end of each of the longest edges."""
    size = (pavers.length, pavers.width)
    spin = TURN.get(pavers.pattern, 0.0)
    for start, end, turn in frames_of(polygon):
        along = (end - start) / np.hypot(*(end - start))
        for origin in (start, end - along * pavers.length):
            field = framed(inside, origin, turn + spin)
            laid = lay(field, pavers.pattern, size, pavers.joint, NARROW)
            yield replace(laid, origin=origin, turn=turn + spin)


def paver_faces(edges: Sequence[Edge], layout: PaverLayout) -> tuple[NDArray[np.object_], int]:
    """Return the face of every paver that is seen, cut along the edges: the field's, then soldiers.

    Parameters
    ----------
    edges : as for `lay_pavers`
    layout : PaverLayout
        As they are laid.

    Returns
    -------
    ((k,) shapely polygons, int)
        On the site's axes [m], and how many of them belong to the field.
    """
    pavers = layout.pavers
    soldiers: list[NDArray[np.object_]] = []
    strips = _strips(layout.paved, edges, pavers)
    inside = _inside(layout.paved, strips)
    for line, (strip, _) in zip(_soldier_lines(edges, pavers), strips, strict=True):
        soldiers.append(_soldier_faces(line, strip, pavers))
    field = np.asarray(shapely.intersection(layout.field.rectangles, inside))
    field = field[shapely.area(field) > 0]
    return np.concatenate([field, *soldiers]), len(field)


def _soldier_faces(line: shapely.LineString, strip: Region, pavers: Pavers) -> NDArray[np.object_]:
    """Return the pieces of a soldier course, each square to the edge it stands along. [m]"""
    step = pavers.width + pavers.joint
    starts = np.arange(0.0, float(line.length), step)
    ends = np.minimum(starts + pavers.width, line.length)
    heads, tails = (
        shapely.get_coordinates(shapely.line_interpolate_point(np.full(len(d), line), d))
        for d in (starts, ends)
    )
    along = tails - heads
    along /= np.maximum(np.hypot(*along.T), NOTHING)[:, None]
    across = np.column_stack([-along[:, 1], along[:, 0]])
    inner = shapely.points((heads + tails) / 2 + across * pavers.length / 2)
    side = np.where(shapely.intersects(strip, inner), 1.0, -1.0)[:, None]
    # From a little outside the edge, so that the chord of a round one is covered.
    out, deep = across * side * -pavers.width, across * side * pavers.length
    corners = np.stack([heads + out, tails + out, tails + deep, heads + deep], axis=1)
    faces = np.asarray(shapely.intersection(shapely.polygons(corners), strip))
    return faces[shapely.area(faces) > 0]


def _soldier_lines(edges: Sequence[Edge], pavers: Pavers) -> list[shapely.LineString]:
    """Return the edges that carry a soldier course, in the order of `_strips`. [m]"""
    lines = edge_lines(edges)
    numbers = range(1, len(lines) + 1) if pavers.soldier == "all" else pavers.soldier
    return [shapely.LineString(lines[number - 1]) for number in dict.fromkeys(numbers)]


def _strips(polygon: Region, edges: Sequence[Edge], pavers: Pavers) -> list[tuple[Region, float]]:
    """Return the strip of each soldier course, and the length that its pieces fill. [m]

    Going round counter-clockwise a course begins in the corner and ends at the next one, which
    begins in its own: which edge was drawn first says nothing. Round a bend the longer side sets
    the number of pieces, which are cut to a taper.
    """
    depth = pavers.length + pavers.joint
    lines = _soldier_lines(edges, pavers)
    if not lines:
        return []
    wide = [line.buffer(depth, cap_style="flat", join_style="mitre") for line in lines]
    around = shapely.LinearRing(np.vstack([line[:-1] for line in edge_lines(edges)])).is_ccw
    strips: list[tuple[Region, float]] = []
    for k, line in enumerate(lines):
        # The next course, counter-clockwise, has the corner; any other that was there before it.
        near, far = line.coords[:: len(line.coords) - 1][:: 1 if around else -1]
        taken: list[shapely.Geometry] = []
        for j, other in enumerate(lines):
            if j != k and _at(other, far, around):
                both = _at(other, near, not around)
                taken.append(shapely.intersection(wide[j], _half(far, near)) if both else wide[j])
            elif j < k and line.distance(other) >= TOUCH:
                taken.append(wide[j])
        strip = shapely.difference(shapely.intersection(wide[k], polygon), shapely.union_all(taken))
        along = strip.area / depth
        if len(line.coords) > 2:
            along = max(float(line.length), 2 * along - float(line.length))
        strips.append((strip, along))  # type: ignore[arg-type]
    return strips


def _at(line: shapely.LineString, point: tuple[float, ...], start: bool) -> bool:
    """Say whether a line starts, or ends, at a point."""
    return math.dist(line.coords[0 if start else -1], point) < TOUCH


def _half(one: tuple[float, ...], other: tuple[float, ...]) -> shapely.Geometry:
    """Return what is nearer to one of two points than to the other, as far as it may matter."""
    a, b = np.array(one), np.array(other)
    along = (a - b) / 2
    across = np.array([-along[1], along[0]])
    middle = (a + b) / 2
    wide = 1e3 * across
    return shapely.Polygon([middle - wide, middle + wide, a + 1e3 * along + wide,
                            a + 1e3 * along - wide])  # fmt: skip
