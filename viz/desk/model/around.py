"""What stands around the paving in the model: the lawn and the soil under it, house and doors."""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache

import numpy as np
import shapely

from grading.geometry.arrays import Region
from grading.ground.model import Ground
from grading.pipeline import Plan
from viz.desk.model.quick import SHOWN, Quick
from viz.scene.frame import Frame
from viz.scene.lawn import HARD, hard_and_soil, hard_in
from viz.scene.marks import name_doors
from viz.scene.model import Label
from viz.scene.setting import Setting
from viz.scene.shell import Shape, Solid, polygons
from viz.scene.surroundings import (
    HEAD,
    WALL,
    add_house,
    doors_at,
    drape_over,
    drawn_ground,
    house_levels,
    largest,
    lawn_and_soil,
)
from viz.scene.yard import yard_of

MARGIN, LEAST, MOST = 0.4, 3.0, 8.0
"""How much ground is drawn beyond the digs: of their diagonal, and between these. [m]"""

BEYOND = "the survey ends here\nbeyond it the ground is guessed from the last spots"
INSIDE = 0.3
"""What lies nearer to the rim of the ground that is drawn is taken for that rim. [m]"""

STEP = 1.0
"""The edge of the ground that is drawn moves in such steps, so that a drag seldom moves it. [m]"""


def window_of(plan: Plan, frame: Frame, digs: Iterable[Shape]) -> shapely.Polygon:
    """Return the ground that is drawn around what is dug and built, the house left out. [m]"""
    r0, n0, r1, n1 = frame.bounds(shapely.union_all(list(digs)))
    margin = float(np.clip(MARGIN * np.hypot(r1 - r0, n1 - n0), LEAST, MOST))
    low = np.floor((np.array([r0, n0]) - margin) / STEP) * STEP
    high = np.ceil((np.array([r1, n1]) + margin) / STEP) * STEP
    return largest(yard_of(plan).intersection(frame.box(*low, *high)))


@lru_cache(maxsize=8)
def ground_in(ground: Ground, window: shapely.Polygon) -> Ground:
    """Return ground for the model: as surveyed, or samples of it where a scan is too fine."""
    return drawn_ground(ground, window)


@lru_cache(maxsize=8)
def _lawn(
    ground: Ground, region: Region, origin: tuple[float, float, float], bottom: float
) -> tuple[Solid, Solid, Solid]:
    """Return turf, topsoil and the soil under it: the same for as long as none of it changes."""
    return lawn_and_soil(drape_over(ground, region, np.array(origin)), bottom)


def add_lawn(found: Quick, ground: Ground, region: Region, bottom: float) -> None:
    """Add turf, topsoil as deep as it was found, and the soil under it, over a region."""
    if region.is_empty:
        return
    x, y, z = found.origin.tolist()
    turf, topsoil, subsoil = _lawn(ground, region, (x, y, z), bottom)
    found.of("lawn").add_solid("turf", "turf", turf, SHOWN)
    found.of("soil").add_solid("topsoil", "topsoil", topsoil, SHOWN)
    found.of("soil").add_solid("subsoil", "subsoil", subsoil, SHOWN)


@lru_cache(maxsize=8)
def _hard(
    ground: Ground, region: Region, origin: tuple[float, float, float], bottom: float
) -> tuple[Solid, Solid]:
    """Return hard ground and the soil under it: the same for as long as none of it changes."""
    return hard_and_soil(drape_over(ground, region, np.array(origin)), bottom)


def add_hard_ground(
    found: Quick, plan: Plan, ground: Ground, region: Shape, bottom: float
) -> shapely.MultiPolygon:
    """Add the drive or slab that is met within a region, and return what is left of it: lawn."""
    hard = hard_in(plan, region)
    if not hard.is_empty:
        x, y, z = found.origin.tolist()
        top, soil = _hard(ground, hard, (x, y, z), bottom)
        found.of("lawn").add_solid(HARD, "concrete", top, SHOWN)
        found.of("soil").add_solid(f"soil under {HARD}", "subsoil", soil, SHOWN)
    return polygons(region.difference(hard))


@lru_cache(maxsize=8)
def _end_of_survey(ground: Ground, window: shapely.Polygon) -> tuple[float, float] | None:
    """Return a place where ground that is drawn goes on past the survey, mid-way. [m]"""
    if not ground.beyond.any():
        return None
    ends = shapely.line_merge(ground.surveyed.exterior.intersection(window.buffer(-INSIDE)))
    lines = [each for each in shapely.get_parts(ends) if each.length > LEAST / 2]
    if not lines:
        return None
    place = max(lines, key=lambda each: float(each.length)).interpolate(0.5, normalized=True)
    return place.x, place.y


def name_beyond(found: Quick, ground: Ground, window: shapely.Polygon) -> None:
    """Say where the survey ends: the ground that goes on there may have a crease along it."""
    place = _end_of_survey(ground, window)
    if place is not None:
        at = np.array([*place, float(ground.elevation(np.array([place]))[0])]) - found.origin
        found.labels.append(Label(BEYOND, at, "ground", frozenset(SHOWN), 0, 50))


def add_house_at(settings: Iterable[Setting], window: shapely.Polygon, found: Quick) -> None:
    """Add the house wall at the ground that is drawn, cut off a little over its sills, with doors.

    Parameters
    ----------
    settings : iterable of Setting
        Of every area, the one that is looked at first: each says the step down to it.
    window : shapely polygon
        [m]
    found : Quick
    """
    first, *others = settings
    house = first.plan.site.house
    if house is None:
        return
    doors = doors_at(first.plan.site, window)
    before = len(found.labels)
    for on in (first, *others):
        name_doors(on, doors)
    told = {
        label.text.partition(":")[0].partition("\n")[0]: label.text.replace("\n", ", ")
        for label in found.labels[before:]
    }
    under = first.bottom + first.origin[2]
    levels = house_levels(first.plan.site, [first.area], doors, under, HEAD)
    around = window.buffer(WALL, join_style="mitre")
    add_house(found.of("house", told), house, doors, around, levels, SHOWN)
