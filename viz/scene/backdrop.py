"""What is the same in every frame of a build-up: the block of ground, the house, the cut."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely

from grading.design.area import AreaPlan
from grading.pipeline import Plan
from grading.units import INCH, METRES
from viz.scene.frame import frame_of
from viz.scene.layers.cutaway import Cutaway, cutaway_of
from viz.scene.layers.laid import Polygons, faces_of, takeoff_of
from viz.scene.model import Collected, Scene
from viz.scene.shell import Floats, polygons
from viz.scene.staging import stage
from viz.scene.surroundings import (
    DOOR_WIDTH,
    WALL,
    add_house,
    block_region,
    door_frame,
    drape_over,
    drawn_ground,
    largest,
    wall_top,
)

UNDER = 0.05
"""Depth of the soil that is drawn below the deepest dig, of the side of the block in plan."""


ROUND = (20, 10, 5, 4, 3, 2, 1, 0.5)
"""Lengths that a ruler may have, in the site's unit."""


@dataclass(frozen=True)
class Backdrop:
    """The surroundings that all base systems of an area share.

    Attributes
    ----------
    cutaway : Cutaway
    region : shapely polygon
        The ground that is shown, up to the cut. [m]
    ground : Any
        The ground as it is drawn.
    scene : Scene
        The area as it is shown elsewhere: origin and exaggeration are the same here.
    faces : (k,) shapely polygons
        Every paver of the area as it is laid. [m]
    bottom : float
        Underside of the block about the origin. [m]
    """

    plan: Plan
    area: AreaPlan
    cutaway: Cutaway
    region: shapely.Polygon
    ground: Any
    scene: Scene
    faces: Polygons
    bottom: float

    @property
    def origin(self) -> Floats:
        """Origin of every scene, (3,). [m]"""
        return self.scene.origin

    @property
    def exaggeration(self) -> float:
        """How many times larger heights are drawn."""
        return self.scene.exaggeration


def backdrop_of(plan: Plan, area: AreaPlan) -> Backdrop:
    """Return the surroundings of an area.

    Parameters
    ----------
    plan : Plan
    area : AreaPlan
        One of the plan's.
    """
    frame = frame_of(plan, area)
    cutaway = cutaway_of(frame, area.outline)
    scene = stage(plan, area, area.chosen)
    origin, factor = scene.origin, scene.exaggeration
    widest = max(area.digs.values(), key=lambda each: float(each.polygon.area))
    whole = block_region(plan.ground, frame, widest.polygon, plan.site.house)
    region = largest(whole.intersection(cutaway.kept))
    ground = drawn_ground(plan.ground.under(area.area.name), whole)
    levels = [float((dig.clip.ground - dig.depths).min()) for dig in area.digs.values()]
    levels.append(float(np.nanmin(drape_over(ground, region, origin).ground)) + origin[2])
    bottom = min(levels) - origin[2] - UNDER * float(np.sqrt(region.area)) / factor
    faces = faces_of(takeoff_of(plan, area, area.chosen))
    return Backdrop(plan, area, cutaway, region, ground, scene, faces, float(bottom))


@dataclass(frozen=True)
class Ruler:
    """A length on the lower edge of the cut face: its ends (2, 3) about the origin [m], words."""

    ends: Floats
    words: str


def ruler_of(back: Backdrop, uphill: Floats) -> Ruler | None:
    """Return a round length that is about a quarter of the cut face, None where there is no face.

    Parameters
    ----------
    back : Backdrop
    uphill : (3,) float
        It starts at the end of the face that lies further this way.
    """
    edge = back.cutaway.edge(back.region)
    if edge is None:
        return None
    unit = back.plan.site.unit
    step = METRES[unit]
    low = np.full(2, back.bottom)
    ends = np.column_stack([edge - back.origin[:2], low])
    if ends[0] @ uphill < ends[1] @ uphill:
        ends = ends[::-1]
    long = float(np.linalg.norm(ends[1] - ends[0]))
    count = next((n for n in ROUND if n * step <= 0.32 * long), ROUND[-1])
    along = (ends[1] - ends[0]) / long
    start = ends[0] + 0.02 * long * along
    return Ruler(np.array([start, start + count * step * along]), f"{count:g} {unit}")


def add_wall(collected: Collected, back: Backdrop, shown: tuple[str, ...]) -> None:
    """Add the house wall as far as the ground in front of it is shown."""
    site, frame = back.plan.site, back.cutaway.frame
    house = site.house
    if house is None:
        return
    reach = back.region.buffer(2 * INCH)
    doors = []
    for door in site.doors:
        place = door_frame(house, door)
        whole = place.box(-DOOR_WIDTH / 2, -0.01, DOOR_WIDTH / 2, 0.01)
        near = reach.intersects(place.box(-0.2, -0.1, 0.2, 0.1))
        # A door that the end of the wall would cut through is left out.
        if near and back.cutaway.kept.covers(whole):
            doors.append(door)
    levels = back.area.finish.surface.at(np.array(back.area.outline.exterior.coords))
    top = wall_top(tuple(doors), levels)
    foundation = min([float(levels.max()) + 6 * INCH] + [door.sill - INCH for door in doors])
    sidings = [float(np.min(each.z)) for each in site.ceilings if each.kind == "siding"]
    foundation = min(sidings) if sidings else foundation
    around = frame.box(*frame.bounds(back.region)).buffer(WALL, join_style="mitre")
    seen = polygons(around.intersection(back.cutaway.kept))
    under = back.bottom + float(back.origin[2])
    add_house(collected, house, tuple(doors), seen, back.origin, (under, foundation, top), shown)
