"""The water on the finished site: arrows along its ways, and where it stands."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import shapely

from grading.geometry.arrays import Floats
from grading.geometry.tolerances import NOTHING
from grading.pipeline import Plan
from grading.units import INCH, size
from grading.water.course import FOUNDATION
from grading.water.destinations import Destination
from grading.water.edges import LowEdge
from grading.water.model import Water
from grading.water.ponds import pond_of
from grading.water.words import ENDS
from viz.look.materials import material
from viz.scene.collect import Collected
from viz.scene.shell import Height, Mesh, Shape, polygons, triangulate

WIDTH = 2.5 * INCH
"""Width of the line that a way is drawn with. [m]"""

STEP = 0.1
"""A way follows the ground at points so far apart. [m]"""

APART = 1.3
"""Arrow heads along a way are so far apart. [m]"""

SHORTEST = 0.4
"""A shorter piece of a way is not drawn. [m]"""

LIFT = 0.02
"""How far a way is laid above the ground, whose creases it may cross between its points. [m]"""

VIEW = ("finished", "slice")


def add_water(
    found: Collected, plan: Plan, region: Shape, ground_at: Height, views: tuple[str, ...] = VIEW
) -> None:
    """Add the ways of the water within a region of the plan, its low spots and their names.

    Parameters
    ----------
    found : Collected
    plan : Plan
    region : shapely polygon
        What is shown around the paving; the paving itself is shown too. [m]
    ground_at : callable
        The ground about the scene's origin at points (k, 2). [m]
    views : tuple of str
        The views it is shown in.
    """
    water = plan.water
    # Soil is put back beside the paving up to the finish, as wide as the hole was dug.
    covers = [(area.chosen_dig.polygon, found.level(area.finish.surface)) for area in plan.areas]
    open_ground = shapely.difference(region, shapely.union_all([cover for cover, _ in covers]))
    ways = [edge.path for area in water.areas for edge in area.edges]
    ways += [spout.path for spout in water.downspouts]
    tone = material("water").colour
    for cover, height in [*covers, (open_ground, ground_at)]:
        meshes = []
        for way in (shapely.LineString(way) for way in ways if len(way) > 1):
            for part in shapely.get_parts(way.intersection(cover).intersection(region)):
                if part.geom_type == "LineString" and part.length > SHORTEST:
                    meshes.append(_ribbon(part, found.origin))
        tones = [tone] * len(meshes)
        found.add_pattern("water", "water", tones, meshes, height, views, LIFT)
    _add_low_spots(found, plan, region, views)
    # Of another area no more is shown than of the ground.
    within = shapely.convex_hull(region)
    shown_on = shapely.union_all([region, *(cover.intersection(within) for cover, _ in covers)])
    ends = [(place.name, _end_of_way(water, place, shown_on)) for place in water.destinations]
    # What reaches the house is labelled first: no other label takes its room.
    ends.insert(0, (ENDS[FOUNDATION], _end_at_house(water, shown_on)))
    named: set[str] = set()
    for rank, (name, at) in enumerate(ends):
        if at is None or name in named:
            continue
        named.add(name)
        here = shapely.Point(at)
        height = next((level for cover, level in covers if cover.intersects(here)), ground_at)
        xy = at - found.origin[:2]
        place = np.append(xy, height(xy[None]))
        found.add_label(f"water to: {name}", place, "level", views, 39 + rank)


def _end_of_way(water: Water, place: Destination, region: Shape) -> Floats | None:
    """Return where the way of most water that ends in a place has come to it, (2,). [m]

    Where it has not come to it within the region, the last point of it there is; None where no way
    ends in the place, or none of it is shown.
    """
    ways = [(edge.share, edge.path) for edge in _edges(water) if edge.destination == place.name]
    ways += [(0.0, spout.path) for spout in water.downspouts if spout.destination == place.name]
    way = _largest(ways)
    shown = way.intersection(region)
    reached = shown.intersection(place.reached(water.relief.spacing))
    points = shapely.get_coordinates(shown if reached.is_empty else reached)
    if not len(points):
        return None
    along = shapely.line_locate_point(way, shapely.points(points))
    return np.asarray(points[int(np.argmax(along))])


def _end_at_house(water: Water, region: Shape) -> Floats | None:
    """Return where the way of most water that ends at the foundation meets it, (2,). [m]

    None where no way does, or none of it is shown.
    """
    way = _largest([(edge.share, edge.path) for edge in _edges(water) if edge.kind == FOUNDATION])
    points = shapely.get_coordinates(way.intersection(region))
    return np.asarray(points[-1]) if len(points) else None


def _edges(water: Water) -> list[LowEdge]:
    return [edge for area in water.areas for edge in area.edges]


def _largest(ways: Sequence[tuple[float, Floats]]) -> shapely.LineString:
    """Return the way of the most water, by its share and path; an empty one where there is none."""
    ways = [way for way in ways if len(way[1]) > 1]
    return shapely.LineString(max(ways, key=lambda each: each[0])[1] if ways else None)


def _ribbon(way: Shape, origin: Floats) -> Mesh:
    """Return a flat line with arrow heads about an origin."""
    count = max(2, int(np.ceil(way.length / STEP)) + 1)
    at = np.linspace(0.0, way.length, count)
    stations: Any = shapely.line_interpolate_point(np.full(count, way), at)
    points = shapely.get_coordinates(stations) - origin[:2]
    along = np.gradient(points, axis=0)
    along /= np.maximum(np.hypot(*along.T), NOTHING)[:, None]
    across = np.column_stack([-along[:, 1], along[:, 0]])
    sides = np.concatenate([points - across * WIDTH / 2, points + across * WIDTH / 2])
    k = np.arange(count - 1)
    strip = np.concatenate(
        [
            np.column_stack([k, k + 1, k + 1 + count]),
            np.column_stack([k, k + 1 + count, k + count]),
        ]
    )
    heads = np.unique(np.append(np.arange(APART, way.length, APART), way.length))
    number = np.clip(np.searchsorted(at, heads), 0, count - 1)
    tip, forth, aside = points[number], along[number], across[number]
    size = 2.2 * WIDTH
    corners = np.stack([tip + forth * size * 0.4, tip - forth * size + aside * size * 0.75,
                        tip - forth * size - aside * size * 0.75], axis=1)  # fmt: skip
    faces = 2 * count + np.arange(3 * len(tip)).reshape(-1, 3)
    return np.concatenate([sides, corners.reshape(-1, 2)]), np.concatenate([strip, faces])


def _add_low_spots(found: Collected, plan: Plan, region: Shape, views: tuple[str, ...]) -> None:
    tone = material("standing water").colour
    for number, spot in enumerate(plan.water.low_spots, start=1):
        shape = polygons(pond_of(plan.water, spot).intersection(region))
        if shape.is_empty:
            continue
        sheet, _ = triangulate(found.near(shape))
        level = spot.level - found.origin[2]

        def flat(xy: Floats, level: float = level) -> Floats:
            return np.full(len(xy), level)

        found.add_pattern(f"low spot {number}", "standing water", [tone],
                          [(sheet.xy, sheet.faces)], flat, views, 0.004)  # fmt: skip
        words = f"low spot {number}: water {size(spot.depth, plan.site.unit)} deep"
        found.add_label(
            words, np.append(spot.at - found.origin[:2], level), "level", views, 30 + number
        )
