"""What is built beside and below the paving, as bodies: walls, steps, drains and all else."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
import shapely
from msgspec.structs import replace

from grading.geometry.arrays import Floats, Region
from grading.geometry.tolerances import ROUNDING
from grading.order.takeoff import Takeoff
from grading.pipeline import Plan
from grading.section.built import INNER, STANDING
from grading.structures.model import Solid as Built
from grading.structures.model import Structure
from viz.scene.joints import joints_of
from viz.scene.layers.laid import takeoff_of
from viz.scene.model import Lines
from viz.scene.setting import Setting
from viz.scene.shell import Shape, Solid, about, between, polygons, triangulate

SEEN = 0.02
"""What stands so high above the ground is named. [m]"""

AT_EDGE = 0.3
"""A raised edge that something built stands nearer to is held by it. [m]"""

PROUD = 0.003
"""How far the face of a body stands out of what it is cut with, so that it is seen there. [m]"""

TOUCHING = 0.01
"""What lies so near to paving touches it. [m]"""

JOINT = "#6f675c"

THIN = 0.006
"""A wedge is drawn from so thick on: what is thinner flickers with what it lies on. [m]"""

MOSTLY = 0.5
"""Share of a raised edge that is held, from which nothing else has to be said of it."""


def mesh_of(built: Built, within: Shape | None, origin: Floats) -> Solid:
    """Return a body of a structure as a closed mesh about an origin.

    Parameters
    ----------
    built : grading.structures.model.Solid
    within : shapely geometry or None
        What lies outside is left out; None for all of it. [m]
    origin : (3,) float
        [m]
    """
    thick: Shape = _thick(built)
    shape = thick if within is None else polygons(thick.intersection(within))
    sheet, _ = triangulate(about(polygons(shape), origin))
    low, high = built.between(sheet.xy + origin[:2])
    return between(sheet, np.maximum(high, low) - origin[2], low - origin[2])


def _thick(built: Built) -> Region:
    """Return where a body is thick enough to be told from what it lies on, in plan. [m]"""
    shape = built.footprint
    points = shapely.get_coordinates(shape)
    low, high = built.between(points)
    if (high - low >= THIN).all():
        return shape
    # Between two planes its thickness is a plane too, known from any three corners.
    ones = np.column_stack([points, np.ones(len(points))])
    (dx, dy, there), *_ = np.linalg.lstsq(ones, high - low - THIN, rcond=None)
    steep = float(np.hypot(dx, dy))
    if steep < ROUNDING:
        return polygons(shapely.Polygon())
    way = np.array([dx, dy]) / steep
    side = np.array([-way[1], way[0]])
    foot = points.mean(axis=0)
    foot = foot - way * float(foot @ (dx, dy) + there) / steep
    far = float(np.abs(points - foot).sum(axis=1).max()) + 1.0
    half = shapely.Polygon(
        [foot - far * side, foot + far * side, foot + far * (side + way), foot + far * (way - side)]
    )
    return polygons(shape.intersection(half))


def standing_of(structures: Iterable[Structure]) -> Region:
    """Return where walls, steps and curbs stand, in plan. [m]"""
    found: list[Shape] = []
    for structure in structures:
        found.append(structure.stands)
        found += [each.footprint for each in structure.solids if each.material in STANDING]
    return polygons(shapely.union_all(found))


def lowest_of(plan: Plan, within: Shape) -> float:
    """Return the lowest level of what is built within a region; infinite where nothing is. [m]"""
    levels = [
        float(solid.between(points)[0].min())
        for area in plan.areas
        for structure in takeoff_of(plan, area, area.chosen).structures
        for solid in structure.solids
        if len(points := shapely.get_coordinates(solid.footprint.intersection(within)))
    ]
    return min(levels, default=np.inf)


def inlaid_in(laid: Takeoff) -> Region:
    """Return where what is built comes up through the pavers: a grate, a tread. [m]"""
    area, found = laid.area, []
    paver = sum(each.thickness for each in laid.dig.system.layers if each.role == "paver")
    for structure in laid.structures:
        for solid in structure.solids:
            inside = polygons(solid.footprint.intersection(area.outline))
            if inside.is_empty:
                continue
            points = shapely.get_coordinates(inside)
            _, top = solid.between(points)
            if np.max(top - area.finish.surface.at(points)) > -paver / 2:
                found.append(inside)
    return polygons(shapely.union_all(found))


def holds(structures: Iterable[Structure], edge: shapely.LineString) -> bool:
    """Say whether something built stands along the most of a raised edge."""
    near: Shape = standing_of(structures).buffer(AT_EDGE)
    slopes = [
        solid.footprint
        for structure in structures
        for solid in structure.solids
        if "slope" in structure.kind or "shoulder" in structure.kind
    ]
    near = near.union(shapely.union_all(slopes).buffer(AT_EDGE))
    return bool(edge.intersection(near).length > MOSTLY * edge.length)


def add_structures(on: Setting) -> None:
    """Add all that is built with the area, and name what of it stands above the ground."""
    opened = on.region.difference(on.opening.cut(0))
    for structure in on.laid.structures:
        for view, within in (("finished", on.region), ("layers", opened)):
            views = ("finished", "slice") if view == "finished" else (view,)
            _add(on, structure, within, views)
            _name(on, structure, within, view)
    _add_beside(on, on.region, ("layers", "dig", "finished", "slice"))


def add_yard_structures(on: Setting) -> None:
    """Add all that is built in the yard, of every area, and name what stands above the ground."""
    for structure in on.laid.structures:
        _add(on, structure, None, ("yard",))
        _name(on, structure, None, "yard")
    _add_beside(on, None, ("yard",))


def _add_beside(on: Setting, within: Shape | None, views: tuple[str, ...]) -> None:
    """Add what is built with the other areas, on the base that each is planned on."""
    for other in on.plan.areas:
        if other is not on.area:
            for structure in takeoff_of(on.plan, other, other.chosen).structures:
                _add(on, structure, within, views)


def _add(on: Setting, structure: Structure, within: Shape | None, views: tuple[str, ...]) -> None:
    # Its face where the ground is cut stands before the ground's that it lies in.
    proud: dict[int, Shape | None] = {}
    for solid in structure.solids:
        before = INNER.get(solid.material, 1)
        if before not in proud:
            reach = None if within is None else within.buffer(PROUD * before, join_style="mitre")
            proud[before] = reach
        mesh = mesh_of(solid, proud[before], on.origin)
        on.found.add_solid(structure.name, solid.material, mesh, views, before=before)
    _add_joints(on, structure, within, views)


def _add_joints(
    on: Setting, structure: Structure, within: Shape | None, views: tuple[str, ...]
) -> None:
    """Draw the joints of units of masonry; those of every second course are half a unit on."""
    crew = on.plan.crew
    longs = {"block": crew["wall-unit-length"], "cap": crew["wall-cap-length"]}
    masonry = [each for each in structure.solids if each.material in longs]
    tops = sorted({round(_top(each), 3) for each in masonry})
    paved = shapely.union_all([area.outline for area in on.plan.areas]).buffer(TOUCHING)
    for solid in masonry:
        shift = 0.5 if tops.index(round(_top(solid), 3)) % 2 else 0.0
        whole = replace(solid, footprint=_thick(solid))
        points, segments = joints_of(whole, longs[solid.material], shift, paved)
        if within is not None and len(points):
            # On a face where it is cut no joint is seen.
            middle = points[segments].mean(axis=1)[:, :2]
            segments = segments[shapely.intersects_xy(within, middle)]
        if len(segments):
            lines = Lines(
                structure.name, points - on.origin, segments, JOINT, 1.0, frozenset(views)
            )
            on.found.lines.append(lines)


def _top(built: Built) -> float:
    """Return how high the top of a body is at the most. [m]"""
    return float(built.between(shapely.get_coordinates(built.footprint))[1].max())


def _name(on: Setting, structure: Structure, within: Shape | None, view: str) -> None:
    """Point at the top of what is nearest the eye of what stands above the ground."""
    # Its top, for its face may look away or stand behind something.
    tops = [np.zeros((0, 3))]
    for solid in structure.solids:
        shape = solid.footprint if within is None else solid.footprint.intersection(within)
        xy = shapely.get_coordinates(shapely.segmentize(polygons(shape), 0.3))
        if len(xy):
            tops.append(np.column_stack([xy, solid.between(xy)[1]]))
    points = np.concatenate(tops)
    ground = np.nan_to_num(on.ground.elevation(points[:, :2]), nan=-np.inf)
    paved = shapely.contains_xy(on.area.outline.buffer(-0.01), points[:, :2])
    points = points[(points[:, 2] > ground + SEEN) & ~paved]
    if not len(points):
        return
    local = on.frame.local(points[:, :2])
    at = points[int(np.argmax(local[:, 1] - 0.5 * local[:, 0]))]
    on.found.add_label(structure.name, at - on.origin, "level", (view,), 9)
