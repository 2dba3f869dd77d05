"""An inside corner of the house solved both ways: a valley from it, or one diagonal plane."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import shapely
from msgspec import Struct

from grading.errors import NoFinish
from grading.finish.shapes import Shape, folded_shape, plane_shape
from grading.finish.together import Group, centre_of
from grading.geometry.facets import Surface
from grading.site.corners import Corner, corners_at
from grading.site.model import Area
from grading.site.walls import Wall

_BESIDE = 0.3  # m: paving nearer to a wall than this runs along it


class CornerWay(Struct, frozen=True):
    """One way to drain an inside corner.

    Attributes
    ----------
    shape : str
        "valley" or "plane".
    moved : float
        Earth moved by all areas solved together. [m3]
    work : float
        Dug and refilled for them, topsoil included. [m3]
    greatest_fall : float
        Of its planes. [ratio]
    valley_fall : float or None
        Along the valley, where there is one; it must lead to an outlet. [ratio]
    one_plane : bool
        Whether it is one plane; of a valley, that both its planes come out the same.
    corner_drop : float
        From the corner of the house down to the lowest paving. [m]
    reveals : mapping of str to float
        By how much the finish strays from level along each wall. [m]
    """

    shape: str
    moved: float
    work: float
    greatest_fall: float
    valley_fall: float | None
    one_plane: bool
    corner_drop: float
    reveals: Mapping[str, float]


def corner_ways(group: Group, area: Area, shapes: Mapping[str, Shape]) -> tuple[CornerWay, ...]:
    """Return both ways to drain an inside corner that an area lies at; none where it does not.

    Parameters
    ----------
    group : Group
    area : Area
        One whose finish is fitted.
    shapes : mapping of str to Shape
        Those of all areas of the group.
    """
    inside = [each for each in corners_at(group.site.house, area.polygon) if not each.outside]
    if not inside or area.plane is not None or area.shape not in ("plane", "valley"):
        return ()
    corner, centre = inside[0], centre_of(area)
    fold = np.array([corner.at, corner.at + corner.bisector])
    ways = []
    for name, shape in (
        ("valley", folded_shape(area.polygon, centre, fold, 1)),
        ("plane", plane_shape(area.polygon)),
    ):
        try:
            _, solved = group.solved({**shapes, area.name: shape})
        except NoFinish:
            continue
        surface = solved.finishes[area.name].surface
        finishes = solved.finishes.values()
        moved = sum(finish.moved for finish in finishes)
        work = sum(finish.work for finish in finishes)
        ways.append(_way(name, (moved, work), surface, area, corner, group.walls[area.name]))
    return tuple(ways)


def _way(
    name: str, volumes: tuple[float, float], surface: Surface, area: Area, corner: Corner,
    walls: tuple[Wall, ...],
) -> CornerWay:  # fmt: skip
    edge = shapely.get_coordinates(area.polygon)
    at_corner = float(surface.at(corner.at[None])[0])
    reveals = {}
    for wall in walls:
        line = shapely.LineString([wall.start, wall.end])
        strip = line.buffer(_BESIDE, cap_style="flat")
        beside = shapely.get_coordinates(shapely.intersection(area.polygon.boundary, strip))
        if len(beside):
            places = shapely.line_interpolate_point(
                line, shapely.line_locate_point(line, shapely.points(beside))
            )
            levels = surface.at(shapely.get_coordinates(places))
            reveals[wall.name] = float(levels.max() - levels.min())
    valley = None
    if not surface.one_plane:
        end = corner.at + corner.bisector
        valley = at_corner - float(surface.at(end[None])[0])
    return CornerWay(
        name,
        *volumes,
        max(facet.plane.fall for facet in surface.paved),
        valley,
        surface.one_plane,
        at_corner - float(surface.at(edge).min()),
        reveals,
    )
