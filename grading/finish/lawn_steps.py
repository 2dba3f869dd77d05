"""Where steps go down from an area to the lawn: the stretch of its edge that they take.

It is known before any finish is: the outline, the doors and what the site writes decide.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import numpy as np
import shapely
from msgspec import Struct

from grading.catalogue.rules import Limits
from grading.finish.wishes.held_edges import holders_of
from grading.finish.wishes.of_site import nearest_area
from grading.geometry.arrays import Floats, unit_vector
from grading.geometry.free_edges import free_edges
from grading.geometry.tolerances import ROUNDING, TOGETHER
from grading.site.model import Area, Door, Site
from grading.site.step_tables import Step
from grading.units import INCH

_BESIDE = 2 * INCH  # own: m: which side of a line an area lies on is asked so far from it


class LawnSteps(Struct, frozen=True, eq=False):
    """Where steps go down to the lawn.

    Attributes
    ----------
    step : Step
        The table of the site that asks for them.
    head : (2, 2) float
        Both ends of the line that they go down from, on the edge. [m]
    out : (2,) float
        Unit vector, the way down.
    """

    step: Step
    head: Floats
    out: Floats


def lawn_steps(site: Site, area: Area, limits: Limits) -> tuple[LawnSteps, ...]:
    """Return where steps go down from an area to the lawn.

    Parameters
    ----------
    site : Site
    area : Area
        One of the site's.
    limits : Limits
        How wide they are where the site does not say.
    """
    return tuple(_all(site, area, limits))


def _all(site: Site, area: Area, limits: Limits) -> Iterator[LawnSteps]:
    for step in site.steps:
        if step.to is None or step.area != area.name:
            continue
        at = step.at if step.at is not None else _place(site, area)
        width = step.width or limits["step-built-width"]
        head, out, _ = edge_at(area.polygon, np.asarray(at, float), width)
        yield LawnSteps(step, head, out)


def holders_and_steps(
    site: Site, area: Area, limits: Limits
) -> tuple[list[shapely.Geometry], list[shapely.Geometry]]:
    """Return what may hold an edge of an area, steps down to the lawn among the lines.

    Parameters
    ----------
    site, area, limits : as for `lawn_steps`

    Returns
    -------
    lines, bodies : as of `holders_of`
    """
    lines, bodies = holders_of(site, area)
    lines += [shapely.LineString(each.head) for each in lawn_steps(site, area, limits)]
    return lines, bodies


def edge_at(outline: shapely.Polygon, at: Floats, width: float) -> tuple[Floats, Floats, float]:
    """Return the head of steps off an edge near a point, the way out, and how long that edge is.

    The head lies wholly on the straight edge that is nearest, moved along it where it has to be; it
    is as long as that edge where the edge is shorter.

    Parameters
    ----------
    outline : shapely polygon
        Of the paving. [m]
    at : (2,) float
        [m]
    width : float
        Of the steps. [m]
    """
    ring, point = shapely.get_coordinates(outline.exterior), shapely.Point(at)
    sides = [np.stack(side) for side in pairwise(ring)]
    away = [float(shapely.distance(shapely.LineString(side), point)) for side in sides]
    # Of sides that are as near, the longest: a point at a corner means the edge, not the chord.
    least = min(away)
    near = [side for side, far in zip(sides, away, strict=True) if far <= least + TOGETHER]
    side = max(near, key=lambda each: float(np.hypot(*(each[1] - each[0]))))
    long = float(np.hypot(*(side[1] - side[0])))
    along = (side[1] - side[0]) / long
    half = min(width, long) / 2
    middle = np.clip((np.asarray(at, float) - side[0]) @ along, half, long - half)
    head = np.stack([side[0] + along * (middle - half), side[0] + along * (middle + half)])
    return head, -toward(head, outline), long


def toward(head: Floats, outline: shapely.Polygon) -> Floats:
    """Return the unit vector square to a line along paving, to the side that this lies on."""
    along = (head[1] - head[0]) / np.hypot(*(head[1] - head[0]))
    left = np.array([-along[1], along[0]])
    beside = shapely.Point(head.mean(axis=0) + left * _BESIDE)
    return left if shapely.distance(outline, beside) < ROUNDING else -left


def _place(site: Site, area: Area) -> Floats:
    """Return where steps to the lawn go if the site does not say: in the way from a door. [m]

    Straight out from the first door onto the area where its edge is free there; else in the middle
    of the longest free edge.
    """
    free = free_edges(area.polygon, *holders_of(site, area))
    edges = shapely.union_all(list(free))
    for door in site.doors:
        if nearest_area(site, door.at) is area:
            place = straight_out(site, area, door)
            if place is not None and shapely.distance(edges, shapely.Point(place)) <= TOGETHER:
                return place
    longest = max(free, key=shapely.length, default=area.polygon.exterior)
    middle = shapely.line_interpolate_point(longest, 0.5, normalized=True)
    return np.asarray(shapely.get_coordinates(middle)[0], float)


def way_out(site: Site, area: Area, door: Door) -> tuple[Floats, Floats]:
    """Return the way out of a door, square to its wall, and the foot of the sill there. [m]"""
    at = np.asarray(door.at, float)
    if site.house is not None:
        wall = site.house.wall_of(at)
        return np.asarray(wall.outward, float), np.asarray(wall.foot, float)
    way = shapely.get_coordinates(area.polygon.centroid)[0] - at
    return unit_vector(way), at


def straight_out(site: Site, area: Area, door: Door) -> Floats | None:
    """Return where one leaves an area who walks straight out of a door, None where one does not."""
    out, foot = way_out(site, area, door)
    left, bottom, right, top = area.polygon.bounds
    far = float(np.hypot(right - left, top - bottom)) * 2
    way = shapely.LineString([foot, foot + out * far])
    met = shapely.get_coordinates(shapely.intersection(way, area.polygon.exterior))
    if not len(met):
        return None
    return np.asarray(met[np.argmax((met - foot) @ out)], float)
