"""The whole job at once and at true heights: every area finished, and the yard as it is today."""

from __future__ import annotations

from collections.abc import Collection, Sequence

import numpy as np
import shapely
from msgspec import Struct
from msgspec.structs import replace

from grading.design.area import AreaPlan
from grading.design.model import kept
from grading.geometry.arrays import Floats
from grading.pipeline import Plan
from grading.site.model import Door, House
from grading.units import FOOT, INCH
from viz.scene.collect import Collected
from viz.scene.frame import Frame, frame_of
from viz.scene.lawn import HARD, add_hard, left_over
from viz.scene.layers.laid import takeoff_of
from viz.scene.model import IN_WORDS, Body, Lines
from viz.scene.shell import Shape, polygons
from viz.scene.staging import stage
from viz.scene.surroundings import (
    DOOR_HIGH,
    DOOR_WIDTH,
    WALL,
    add_ground,
    add_house,
    block_region,
    door_frame,
    doors_at,
    drape_over,
    drawn_ground,
    house_levels,
)

TODAY, FINISHED = "today", "finished"

_TODAY = frozenset({TODAY})
_SHOWN = frozenset({"finished", "yard"})
"""What is built with an area is seen in both of these views, and what lies around it in one."""

_YARD = frozenset({"yard"})

_NOT_BUILT = ("scale", "ink", "water", HARD)
"""Names and materials of what explains a scene and will not be there, or is drawn here whole."""

_ROOM = 7 * FOOT  # m of wall above the highest sill: a door is as high, common practice, no source
_BLOCK = 14 * INCH  # m of earth below the lowest place
_COURSE = 8 * INCH  # of siding: common practice, no source
_DASH, _OVER = 0.22, 0.03  # m: length of a painted dash, and how far over the grass it is drawn
_PROUD = 0.03  # m: lines are drawn so far before their face
_BY, _SUNK = 0.3, 0.02  # m: beside paving; what lies so far below it or the ground is not seen
_EDGE = "#3d352b"
_LINE, _FRAME = "#9c9484", "#ffffff"


class WholeJob(Struct, frozen=True, eq=False):
    """All of a job as it will be, and as it is, about one origin; nothing is exaggerated.

    Attributes
    ----------
    origin : (3,) float
        [m]
    bodies, lines : tuple of Body, of Lines
        Shown in the views "today" and "finished". [m]
    near : (2,) float
        Unit vector in plan from what is looked at to the eye.
    """

    origin: Floats
    bodies: tuple[Body, ...]
    lines: tuple[Lines, ...]
    near: Floats

    def triangles(self, view: str) -> Floats:
        """Return all that can hide something in a view, (n, 3, 3). [m]"""
        kept = [
            body.vertices[body.faces]
            for body in self.bodies
            if view in body.shown and not body.pattern
        ]
        return np.concatenate(kept) if kept else np.zeros((0, 3, 3))


@kept
def whole_job(plan: Plan) -> WholeJob:
    """Return the whole job of a plan, every area on the base chosen for it.

    Parameters
    ----------
    plan : Plan
    """
    scenes = [stage(plan, area, area.chosen) for area in plan.areas]
    origin = scenes[0].origin
    found = Collected(origin)
    paved = [(area, area.outline.buffer(_BY)) for area in plan.areas]
    for _, by in paved:
        shapely.prepare(by)
    for scene, area in zip(scenes, plan.areas, strict=True):
        moved = scene.origin - origin
        own = {each.name for each in takeoff_of(plan, area, area.chosen).structures}
        for body in scene.bodies:
            if _built(body, own) and not (
                body.name in own and _buried(plan, paved, body.vertices + scene.origin)
            ):
                vertices, shown = body.vertices + moved, frozenset({FINISHED})
                found.bodies.append(replace(body, vertices=vertices, shown=shown, stands=None))
        for line in scene.lines:
            if _built(line, own) and not (
                line.name in own and _buried(plan, paved, line.points + scene.origin)
            ):
                points, shown = line.points + moved, frozenset({FINISHED})
                found.lines.append(replace(line, points=points, shown=shown, stands=None))
    near = _near(plan)
    frame = Frame(np.array([-near[1], near[0]]), near)
    holes = shapely.union_all([area.chosen_dig.polygon for area in plan.areas])
    region = block_region(plan.ground, frame, holes, plan.site.house)
    ground = drawn_ground(plan.ground, region)
    today = drape_over(ground, region, origin)
    lowest = min(
        float(np.nanmin(today.ground - today.organics)),
        *(float((a.chosen_dig.clip.ground - a.chosen_dig.depths).min()) - origin[2]
          for a in plan.areas),
    )  # fmt: skip
    bottom = lowest - _BLOCK
    hard = add_hard(found, plan, ground, region, bottom, (TODAY, FINISHED))
    if not hard.is_empty:
        today = drape_over(ground, polygons(region.difference(hard)), origin)
    add_ground(found, today, bottom, (TODAY,), 1)
    # What is built reaches over its hole, and where it does the ground as it lies is not drawn.
    around = polygons(region.difference(holes).difference(hard))
    if not around.is_empty:
        left, lawn = left_over(plan, ground, around, origin)
        add_ground(found, left, bottom, (FINISHED,), 1,
                   sodded=shapely.union(holes.boundary, lawn.boundary))  # fmt: skip
    _add_outlines(found, plan)
    _add_house(found, plan, frame, region, bottom)
    return WholeJob(origin, tuple(found.bodies), tuple(found.lines), near)


def _built(one: Body | Lines, own: Collection[str]) -> bool:
    """Say whether a body or a line of a scene is of what is built with its area.

    `own` are the names of what is built beside its paving; in the yard that is seen whole.
    """
    if one.name in own:
        return one.shown == _YARD
    explains = one.name.endswith(IN_WORDS) or one.name in _NOT_BUILT
    explains |= isinstance(one, Body) and one.material in _NOT_BUILT
    return one.shown >= _SHOWN and not explains and not one.cap


def _buried(plan: Plan, paved: Sequence[tuple[AreaPlan, shapely.Polygon]], at: Floats) -> bool:
    """Say whether all points (n, 3) lie in the ground, or off the survey: nobody will see them.

    `paved` are the areas, and how far the ground by each lies as its paving does.
    """
    level = plan.ground.elevation(at[:, :2])
    level[np.isnan(level)] = np.inf
    for area, by in paved:
        near = shapely.contains_xy(by, at[:, 0], at[:, 1])
        level[near] = np.minimum(level[near], area.finish.surface.at(at[near, :2]))
    return bool((at[:, 2] < level - _SUNK).all())


def _add_outlines(found: Collected, plan: Plan) -> None:
    """Add the outline of the paving: in dashes on the ground as it lies, and as it is laid."""
    points: list[Floats] = []
    for area in plan.areas:
        for ring in (area.outline.exterior, *area.outline.interiors):
            count = max(int(ring.length / _DASH), 6)
            at = np.linspace(0.0, ring.length, count + 1)
            xy = shapely.get_coordinates(shapely.line_interpolate_point(ring, at))
            z = plan.ground.under(area.area.name).elevation(xy)
            xyz = np.column_stack([xy, z + _OVER]) - found.origin
            points += [
                xyz[k : k + 2] for k in range(0, count, 2) if np.isfinite(z[k : k + 2]).all()
            ]
    if points:
        segments = np.arange(2 * len(points)).reshape(-1, 2)
        lines = Lines("outline", np.concatenate(points), segments, "#ffffff", 5.0, _TODAY)
        found.lines.append(lines)
    # Paving and lawn are of one tone on a copy in grey: a line parts them.
    for area in plan.areas:
        for ring in (area.outline.exterior, *area.outline.interiors):
            xy = shapely.get_coordinates(shapely.segmentize(ring, _DASH))
            z = area.finish.surface.at(xy) + _PROUD / 4
            xyz = np.column_stack([xy, z]) - found.origin
            count = len(xyz) - 1
            segments = np.column_stack([np.arange(count), np.arange(1, count + 1)])
            found.lines.append(
                Lines("edge of the paving", xyz, segments, _EDGE, 3.0, frozenset({FINISHED}))
            )


def _near(plan: Plan) -> Floats:
    """Look at the walls that the most paving lies along."""
    ways = [frame_of(plan, area).near * float(area.outline.area) for area in plan.areas]
    whole = np.sum(ways, axis=0)
    if np.hypot(*whole) < 0.3 * sum(float(np.hypot(*way)) for way in ways):
        whole = max(ways, key=lambda way: float(np.hypot(*way)))
    return np.asarray(whole / np.hypot(*whole))


def _add_house(
    found: Collected, plan: Plan, frame: Frame, region: shapely.Polygon, bottom: float
) -> None:
    site = plan.site
    if site.house is None:
        return
    beside = region.buffer(WALL, join_style="mitre").union(_behind(frame, region))
    # A door that the picture ends at is drawn whole or not at all.
    doors = doors_at(site, region, beside)
    levels = house_levels(site, plan.areas, doors, bottom + found.origin[2], _ROOM)
    add_house(found, site.house, doors, beside, levels, (TODAY, FINISHED))
    _add_siding(found, site.house, beside, levels, doors)


def _behind(frame: Frame, region: shapely.Polygon) -> shapely.Polygon:
    """Return the rectangle about a region, and as much behind it as a house wall is thick."""
    r0, n0, r1, n1 = frame.bounds(region)
    return frame.box(r0, n0 - 2 * WALL, r1, n1)


def _add_siding(
    found: Collected, house: House, beside: Shape, levels: tuple[float, float, float],
    doors: Sequence[Door],
) -> None:  # fmt: skip
    """Add the courses of the siding to the faces of the wall, but where a door stands."""
    _, foundation, top = levels
    half = DOOR_WIDTH / 2 + 1 * INCH
    gaps = shapely.union_all(
        [door_frame(house, door).box(-half, -0.2, half, 0.2) for door in doors]
    )
    points: list[Floats] = []
    for start, end, outward in house.segments():
        face = shapely.LineString([start, end]).intersection(beside).difference(gaps)
        for part in shapely.get_parts(face):
            if part.is_empty:
                continue
            ends = shapely.get_coordinates(part)[[0, -1]] + np.asarray(outward) * _PROUD
            for z in np.arange(foundation + _COURSE, top - 2 * INCH, _COURSE):
                points.append(np.column_stack([ends, [z, z]]) - found.origin)
    if points:
        segments = np.arange(2 * len(points)).reshape(-1, 2)
        shown = frozenset({TODAY, FINISHED})
        found.lines.append(Lines("siding", np.concatenate(points), segments, _LINE, 1.0, shown))
    for door in doors:
        place = door_frame(house, door)
        foot = place.at + _PROUD * np.asarray(place.outward, float)
        feet = [foot + side * DOOR_WIDTH / 2 * place.along for side in (-1, 1)]
        high = min(door.sill + DOOR_HIGH, top - 1 * INCH)
        corners = [(0, door.sill), (0, high), (1, high), (1, door.sill)]
        ring = np.array([[*feet[k], z] for k, z in corners]) - found.origin
        frame = Lines("door frame", ring, np.array([[0, 1], [1, 2], [2, 3]]), _FRAME, 6.0,
                      frozenset({TODAY, FINISHED}))  # fmt: skip
        found.lines.append(frame)
