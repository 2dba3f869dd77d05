"""The frame a picture is taken in, and the corner of the paving that is opened step by step."""

from __future__ import annotations

import numpy as np
import shapely
from msgspec import Struct

from grading.design.area import AreaPlan
from grading.design.steps import shared_edges
from grading.dig.drainage import WallFall
from grading.geometry.arrays import Floats
from grading.geometry.roots import least_that
from grading.pipeline import Plan
from viz.scene.shell import Shape

OPENED = 0.36
"""Share of the paving that is lifted away."""

LONG = 2.8
"""Paving so many times longer than wide is long."""

BESIDE = 1.0
"""An edge of the paving nearer than this to a wall lies along it. [m]"""


class Frame(Struct, frozen=True):
    """Axes in plan for one picture: `right` and `near` are unit vectors (2,), near to the eye."""

    right: Floats
    near: Floats

    def local(self, xy: Floats) -> Floats:
        """Return site points (n, 2) in the frame: right, near. [m]"""
        return np.column_stack([xy @ self.right, xy @ self.near])

    def site(self, local: Floats) -> Floats:
        """Return points (n, 2) of the frame on the site's axes. [m]"""
        return local[:, :1] * self.right + local[:, 1:] * self.near

    def bounds(self, polygon: Shape) -> tuple[float, float, float, float]:
        """Return least and greatest right and near of a polygon: (r0, n0, r1, n1). [m]"""
        local = self.local(shapely.get_coordinates(polygon))
        (r0, n0), (r1, n1) = local.min(axis=0), local.max(axis=0)
        return float(r0), float(n0), float(r1), float(n1)

    def towards(self, right: float, near: float, degrees: float) -> Floats:
        """Return the unit vector (3,) that points so far right and near, and so steeply up."""
        flat, up = right * self.right + near * self.near, np.radians(degrees)
        return np.append(flat / np.hypot(*flat) * np.cos(up), np.sin(up))

    def box(self, r0: float, n0: float, r1: float, n1: float) -> shapely.Polygon:
        """Return a rectangle of the frame on the site's axes. [m]"""
        corners = np.array([[r0, n0], [r1, n0], [r1, n1], [r0, n1]])
        return shapely.Polygon(self.site(corners))


def aside_of(frame: Frame, outline: Shape) -> float:
    """Return how far to the right of straight ahead the eye stands, for one step ahead.

    Long paving is looked at along its length, so that its opened end is near and large.
    """
    r0, n0, r1, n1 = frame.bounds(outline)
    return 0.62 * float(np.clip((r1 - r0) / (n1 - n0) / 1.7, 1.0, 3.2))


def frame_of(plan: Plan, area: AreaPlan) -> Frame:
    """Look at the wall that the paving lies along, so that nothing higher stands in front.

    Without a wall look at the higher paving that it steps down from, or towards the house; where
    there is neither, from where the water goes.
    """
    near = _seen_from(plan, area)
    near = near / np.hypot(*near)
    # The right hand of someone who looks towards the wall.
    return Frame(np.array([-near[1], near[0]]), near)


def _seen_from(plan: Plan, area: AreaPlan) -> Floats:
    """Return a vector in plan (2,) from what is looked at to the eye."""

    def along(fall: WallFall) -> float:
        beside = shapely.LineString([fall.wall.start, fall.wall.end]).buffer(BESIDE)
        return float(area.outline.boundary.intersection(beside).length)

    if area.walls:
        return np.asarray(max(area.walls, key=along).wall.outward, float)
    middle = np.asarray(area.outline.centroid.coords[0])
    higher = [edge for edge in shared_edges(plan) if edge.lower == area.area.name and edge.risers]
    if higher:
        line = max(higher[0].lines, key=lambda each: shapely.LineString(each).length)
        start, end = np.asarray(line[0], float), np.asarray(line[-1], float)
        square: Floats = np.array([start[1] - end[1], end[0] - start[0]])
        facing = float(square @ (middle - start))
        return square if facing > 0 else -square
    if plan.site.house is not None:
        walls = shapely.LineString(plan.site.house.walls)
        foot = walls.interpolate(walls.project(shapely.Point(middle)))
        away: Floats = middle - np.asarray(foot.coords[0], float)
        if np.hypot(*away) > BESIDE:
            return away
    if area.finish.plane.fall > 0:
        return np.asarray(area.finish.plane.downhill, float)
    return np.array([0.0, -1.0])


class Opening(Struct, frozen=True):
    """A corner of the paving opened like stairs: every layer is cut back from the one below.

    Attributes
    ----------
    frame : Frame
    corners : (k, 2) float
        Where the cut through each layer starts, right and near; the paver's first. [m]
    reach : float
        A length that leaves every shape. [m]
    along : (2,) float
        1 for each of right and near that the cuts step along; long paving is opened over its
        whole end, so it steps along its length alone.
    """

    frame: Frame
    corners: Floats
    reach: float
    along: Floats

    def cut(self, step: int) -> shapely.Polygon:
        """Return what is lifted off the layer number `step`, 0 for the paver."""
        start = self.corners[step]
        r, n = np.where(self.along > 0, start, start - self.reach)
        return self.frame.box(r, n, *(start + self.reach))

    def bared(self, step: int) -> Floats:
        """Return the middle of the strip of layer number `step` that is bared, right and near."""
        last = len(self.corners) - 1
        tread = self.corners[min(1, last)] - self.corners[0]
        if step == 0:
            return np.asarray(self.corners[0] - tread / 2)
        if step > last:
            return np.asarray(self.corners[last] + tread / 2)
        return np.asarray((self.corners[step - 1] + self.corners[step]) / 2)


def opening_of(frame: Frame, outline: Shape, steps: int) -> Opening:
    """Open the corner at the right and near of an outline, or the end of a long one.

    Parameters
    ----------
    frame : Frame
    outline : shapely polygon or multipolygon
        Edge of the paving. [m]
    steps : int
        How many layers are cut back.

    Notes
    -----
    Each cut is moved along the diagonal of the outline's frame until its share of the paving
    lies in it: `OPENED` for the first, less for each below, in the proportions that give a
    rectangle even treads. So every layer is bared on L-shapes and round edges too.
    """
    r0, n0, r1, n1 = frame.bounds(outline)
    far, span = np.array([r1, n1]), np.array([r1 - r0, n1 - n0])
    along = np.where(span >= LONG * span[::-1], 1.0, 0.0)
    if not along.any():
        along = np.ones(2)
    reach = 4 * float(span.max())

    def corner(share: float) -> Floats:
        def opened(by: float) -> bool:
            start = Opening(frame, (far - by * span * along)[None], reach, along)
            return float(outline.intersection(start.cut(0)).area / outline.area) >= share

        return np.asarray(far - least_that(opened, 0.0, 1.0, 40) * span * along)

    left = 1 - np.arange(steps) / (steps + 0.35)
    return Opening(
        frame, np.array([corner(OPENED * part ** along.sum()) for part in left]), reach, along
    )
