"""What may hold an edge of an area: the house, the other areas, and what it meets."""

from __future__ import annotations

import shapely

from grading.finish.wishes.of_site import NEARBY
from grading.site.model import Area, Site


def holders_of(site: Site, area: Area) -> tuple[list[shapely.Geometry], list[shapely.Geometry]]:
    """Return what may hold an edge of an area: lines that run along it, bodies that it lies in.

    The foundation walls, the other areas, and what it meets. [m]
    """
    bodies: list[shapely.Geometry] = [
        other.polygon for other in site.areas if other.name != area.name
    ]
    lines = [shapely.boundary(body) for body in bodies]
    if site.house is not None:
        lines.append(shapely.LineString(site.house.walls))
        bodies.append(site.house.polygon(NEARBY))
    lines += [
        shapely.LineString(meet.at)
        for meet in site.meets
        if meet.area in (None, area.name) and len(meet.at) > 1
    ]
    return lines, bodies
