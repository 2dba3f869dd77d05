"""What is the same in every frame of a build-up: the block of ground, the house, the cut."""

from __future__ import annotations

import numpy as np
import shapely
from msgspec import Struct

from grading.design.area import AreaPlan
from grading.geometry.arrays import Floats
from grading.ground.model import Ground
from grading.pipeline import Plan
from grading.units import METRES
from viz.scene.collect import Collected
from viz.scene.frame import frame_of
from viz.scene.layers.cutaway import Cutaway, cutaway_of
from viz.scene.model import Scene
from viz.scene.shell import polygons
from viz.scene.staging import stage
from viz.scene.surroundings import (
    WALL,
    add_house,
    block_region,
    doors_at,
    drape_over,
    drawn_ground,
    house_levels,
    largest,
)

UNDER = 0.05
"""Depth of the soil that is drawn below the deepest dig, of the side of the block in plan."""


ROUND = (20, 10, 5, 4, 3, 2, 1, 0.5)
"""Lengths that a ruler may have, in the site's unit."""


class Backdrop(Struct, frozen=True):
    """The surroundings that all base systems of an area share.

    Attributes
    ----------
    cutaway : Cutaway
    region : shapely polygon
        The ground that is shown, up to the cut. [m]
    ground : Ground
        The ground as it is drawn.
    scene : Scene
        The area as it is shown elsewhere: origin and exaggeration are the same here.
    bottom : float
        Underside of the block about the origin. [m]
    """

    plan: Plan
    area: AreaPlan
    cutaway: Cutaway
    region: shapely.Polygon
    ground: Ground
    scene: Scene
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
    return Backdrop(plan, area, cutaway, region, ground, scene, float(bottom))


class Ruler(Struct, frozen=True):
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


def add_wall(found: Collected, back: Backdrop, shown: tuple[str, ...]) -> None:
    """Add the house wall as far as the ground in front of it is shown."""
    site, frame = back.plan.site, back.cutaway.frame
    house = site.house
    if house is None:
        return
    kept = back.cutaway.kept
    # A door that the end of the wall would cut through is left out.
    doors = doors_at(site, back.region, kept)
    around = frame.box(*frame.bounds(back.region)).buffer(WALL, join_style="mitre")
    seen = polygons(around.intersection(kept))
    levels = house_levels(site, [back.area], doors, back.bottom + float(back.origin[2]))
    add_house(found, house, doors, seen, levels, shown)
