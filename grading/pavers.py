"""The pavers of an area: the soldier course along its edges, and the field within it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray

from grading.laying import TURN, Laid, Region, frame_of, framed, lay
from grading.outline import Edge, edge_lines
from grading.pavertable import Pavers
from grading.units import INCH

NARROW = 3 / 8 * INCH
"""A cut piece is at least this wide. [m]

Paver industry construction tolerances guide: no piece smaller than 3/8 in under foot traffic.
"""


@dataclass(frozen=True)
class PaverLayout:
    """Pavers laid over an area.

    Attributes
    ----------
    pavers : Pavers
    area : float
        Plan area of the paving. [m2]
    field : Laid
        The pattern inside the soldier course.
    soldier_length : float
        Length of the soldier course along its middle; it is charged once at a corner. [m]
    soldier_pieces : int
    """

    pavers: Pavers
    area: float
    field: Laid
    soldier_length: float
    soldier_pieces: int

    @property
    def units(self) -> int:
        """Units that it takes, cut waste included."""
        return self.field.units + self.soldier_pieces

    @property
    def unit_area(self) -> float:
        """Plan area of a unit with its joint. [m2]"""
        return (self.pavers.length + self.pavers.joint) * (self.pavers.width + self.pavers.joint)

    @property
    def waste(self) -> float:
        """Units taken over units that the plan area alone would take, less one. [ratio]"""
        return self.units * self.unit_area / self.area - 1 if self.area else 0.0

    @property
    def joint_share(self) -> float:
        """Share of the surface that is joint. [ratio]"""
        return 1 - self.pavers.length * self.pavers.width / self.unit_area


def lay_pavers(polygon: shapely.Polygon, edges: Sequence[Edge], pavers: Pavers) -> PaverLayout:
    """Lay the pavers of an area, along its longest straight edge.

    Parameters
    ----------
    polygon : shapely polygon
        The paving, its holes left out. [m]
    edges : sequence
        Its outline as written, which numbers the edges. [m]
    pavers : Pavers
    """
    size = (pavers.length, pavers.width)
    inside: Region = polygon
    total, pieces = 0.0, 0
    for strip, length in _strips(polygon, edges, pavers):
        total += strip.area / (pavers.length + pavers.joint)
        pieces += math.ceil(length / (pavers.width + pavers.joint) - 1e-9)
        inside = shapely.difference(inside, strip)  # type: ignore[assignment]
    origin, turn = frame_of(polygon)
    turn += TURN.get(pavers.pattern, 0.0)
    field = framed(inside, origin, turn)
    laid = replace(lay(field, pavers.pattern, size, pavers.joint, NARROW), origin=origin, turn=turn)
    return PaverLayout(pavers, float(polygon.area), laid, total, pieces)


def paver_faces(
    polygon: shapely.Polygon, edges: Sequence[Edge], layout: PaverLayout
) -> tuple[NDArray[np.object_], int]:
    """Return the face of every paver that is seen, cut along the edges: the field's, then soldiers.

    Parameters
    ----------
    polygon, edges : as for `lay_pavers`
    layout : PaverLayout
        As they are laid.

    Returns
    -------
    ((k,) shapely polygons, int)
        On the site's axes [m], and how many of them belong to the field.
    """
    pavers = layout.pavers
    inside: Region = polygon
    soldiers: list[NDArray[np.object_]] = []
    for line, (strip, _) in zip(
        _soldier_lines(edges, pavers), _strips(polygon, edges, pavers), strict=True
    ):
        inside = shapely.difference(inside, strip)  # type: ignore[assignment]
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
    along /= np.maximum(np.hypot(*along.T), 1e-12)[:, None]
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


def _strips(
    polygon: shapely.Polygon, edges: Sequence[Edge], pavers: Pavers
) -> list[tuple[Region, float]]:
    """Return the strip of each soldier course, and the length that its pieces fill. [m]

    A course butts against the one before it. Round a bend the longer side sets the number of
    pieces, which are cut to a taper.
    """
    depth = pavers.length + pavers.joint
    free: Region = polygon
    strips = []
    for line in _soldier_lines(edges, pavers):
        strip = shapely.intersection(line.buffer(depth, cap_style="flat", join_style="mitre"), free)
        free = shapely.difference(free, strip)  # type: ignore[assignment]
        along = strip.area / depth
        if len(line.coords) > 2:
            along = max(float(line.length), 2 * along - float(line.length))
        strips.append((strip, along))
    return strips  # type: ignore[return-value]
