"""What stands around the paving: the ground cut out as a block, the house wall and its doors."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
import shapely
from msgspec import Struct
from msgspec.structs import replace

from grading.design.area import AreaPlan
from grading.finish.cutting import clip
from grading.geometry.arrays import Floats, Region
from grading.ground.model import Ground
from grading.site.model import Door, House, Site
from grading.units import FOOT, INCH
from viz.scene.collect import Collected
from viz.scene.frame import Frame
from viz.scene.shell import Shape, Solid, between, polygons, triangulate
from viz.scene.solids import Draped, drape, height_over

TURF = INCH
"""Thickness of the green skin that the ground is drawn with. [m]"""

WALL = 10 * INCH
"""Thickness of the house wall that is drawn. [m]"""

DOOR_WIDTH = 3 * FOOT
HEAD = 15 * INCH
"""How far above the highest sill the wall is cut off. [m]"""

DOOR_HIGH, WHOLE_HEAD = 80 * INCH, 90 * INCH
"""Height of a door, and how far over the highest sill a wall is cut off that has it whole. [m]"""

FINE = 15_000
"""Triangles of ground in one picture beyond which it is drawn from samples instead."""


def drawn_ground(ground: Ground, region: shapely.Polygon) -> Ground:
    """Return ground for a picture: as surveyed, or samples of it where a scan is too fine."""
    corners = ground.points[ground.triangles][:, :, :2]
    left, bottom, right, top = region.bounds
    low, high = corners.min(axis=1), corners.max(axis=1)
    met = (low[:, 0] <= right) & (high[:, 0] >= left) & (low[:, 1] <= top) & (high[:, 1] >= bottom)
    if met.sum() <= FINE:
        return ground

    grid = np.stack(
        np.meshgrid(np.linspace(left, right, 70), np.linspace(bottom, top, 70)), axis=-1
    ).reshape(-1, 2)
    z = ground.elevation(grid)
    kept = np.isfinite(z)
    around = largest(shapely.MultiPoint(grid[kept]).convex_hull)
    sheet, _ = triangulate(around, grid[kept])
    return replace(
        ground,
        points=np.column_stack([sheet.xy, ground.elevation(sheet.xy)]),
        triangles=sheet.faces,
        organics=ground.organics_at(sheet.xy),
    )


def covered(ground: Ground, region: Shape) -> shapely.Polygon:
    """Return the part of a region that has ground under it."""
    triangles = np.asarray(shapely.polygons(ground.points[ground.triangles][:, :, :2]))
    shapely.prepare(region)
    met = triangles[shapely.intersects(region, triangles)]
    return largest(region.intersection(shapely.union_all(met)))


def largest(region: Shape) -> shapely.Polygon:
    """Return the polygon of a region with the greatest area; slivers and lines are left out."""
    parts = [part for part in shapely.get_parts(region) if part.geom_type == "Polygon"]
    return max(parts, key=lambda part: float(part.area)) if parts else shapely.Polygon()


def drape_over(ground: Ground, region: Region, origin: Floats) -> Draped:
    """Return the ground draped over a region about the scene's origin."""
    return drape(clip(ground, region), region, origin)


def add_ground(
    found: Collected, draped: Draped, bottom: float, shown: tuple[str, ...], seed: int,
    most: int = 450, sodded: Shape | None = None,
) -> None:  # fmt: skip
    """Add the ground around the paving: turf, topsoil as deep as it was found, subsoil.

    sodded is a line, on the site's axes, along which the lawn goes on as sod: it shows no edge.
    """
    turf, topsoil, subsoil = lawn_and_soil(draped, bottom)
    found.add_solid("turf", "turf", turf, shown)
    if sodded is not None:
        _join(found, found.near(sodded))
    found.add_solid("topsoil", "topsoil", topsoil, shown)
    found.add_solid("subsoil", "subsoil", subsoil, shown)
    sheet = draped.sheet
    lawn = shapely.union_all(shapely.polygons(sheet.xy[sheet.faces]))
    height = height_over(sheet, draped.ground)
    found.add_grains("turf", "turf", lawn, height, shown, seed, most, 0.006)


def lawn_and_soil(draped: Draped, bottom: float) -> tuple[Solid, Solid, Solid]:
    """Return turf, topsoil as deep as it was found, and the soil under it down to a level."""
    sheet, top = draped.sheet, draped.ground
    skin = np.full_like(top, TURF)
    depth = np.maximum(draped.organics, skin)
    return (
        between(sheet, top, top - skin),
        between(sheet, top - skin, top - depth),
        between(sheet, top - depth, np.full_like(top, bottom)),
    )


def _join(found: Collected, line: Shape) -> None:
    """Leave out the edges of the body that was added last where they lie along a line."""
    edges = found.lines.pop()
    ends = edges.points[edges.segments]
    middle = shapely.points(ends[:, :, :2].mean(axis=1))
    along = shapely.distance(middle, line) < INCH / 2
    upright = np.hypot(*np.ptp(ends[:, :, :2], axis=1).T) < INCH / 2
    found.lines.append(replace(edges, segments=edges.segments[~along | upright]))


def house_body(house: House, region: Shape) -> shapely.MultiPolygon:
    """Return the part of the house wall that stands at a region, in plan."""
    strip = house.polygon(WALL)
    if house.closed:
        strip = shapely.difference(strip, shapely.buffer(strip, -WALL, join_style="mitre"))
    return polygons(shapely.intersection(strip, region))


def add_house(
    found: Collected, house: House, doors: tuple[Door, ...], region: Shape,
    levels: tuple[float, float, float], shown: tuple[str, ...],
) -> None:  # fmt: skip
    """Add the house wall as a cut-off stub with its foundation, doors and sills.

    Parameters
    ----------
    region : shapely polygon
        Plan of the picture; what lies outside is not drawn. [m]
    levels : (3,) float
        Underside of the foundation drawn, its top, and where the wall is cut off. [m]
    """
    under, foundation, top = levels
    body = house_body(house, region)
    if body.is_empty:
        return

    def add(name: str, kind: str, shape: Region, high: float, low: float) -> None:
        sheet, _ = triangulate(found.near(shape))
        level, z = np.ones(len(sheet.xy)), found.origin[2]
        found.add_solid(name, kind, between(sheet, level * (high - z), level * (low - z)), shown)

    add("foundation", "foundation", body, foundation, under)
    add("house wall", "siding", body, top, foundation)
    for door in doors:
        place = door_frame(house, door)
        if not region.intersects(place.box(-0.3, -0.1, 0.3, 0.1)):
            continue
        half = DOOR_WIDTH / 2
        leaf = place.box(-half, -0.01, half, 0.02)
        sill = place.box(-half - 3 * INCH, -0.01, half + 3 * INCH, 3 * INCH)
        add(door.name, "door", leaf, min(top - INCH, door.sill + DOOR_HIGH), door.sill)
        add(f"{door.name}, sill", "sill", sill, door.sill, door.sill - INCH)


def doors_at(site: Site, region: Shape, kept: Shape | None = None) -> tuple[Door, ...]:
    """Return the doors in the house that a region lies before.

    Parameters
    ----------
    site : Site
    region : shapely geometry
        [m]
    kept : shapely geometry, optional
        A door that is not wholly within it is left out. [m]
    """
    house = site.house
    if house is None:
        return ()
    reach = region.buffer(2 * INCH)
    places = [(door, door_frame(house, door)) for door in site.doors]
    half = DOOR_WIDTH / 2
    return tuple(
        door
        for door, place in places
        if reach.intersects(place.box(-0.2, -0.1, 0.2, 0.1))
        and (kept is None or kept.covers(place.box(-half, -0.01, half, 0.01)))
    )


def house_levels(
    site: Site, areas: Iterable[AreaPlan], doors: tuple[Door, ...], bottom: float,
    head: float = HEAD,
) -> tuple[float, float, float]:  # fmt: skip
    """Return underside of the foundation, its top and the top of the wall that is drawn. [m]

    The wall is cut off so far, `head`, over the highest sill, or over the finish beside it.
    """
    highest = max(float(levels_of(area).max()) for area in areas)
    foundation = min([highest + 6 * INCH] + [door.sill - INCH for door in doors])
    sidings = [float(np.min(each.z)) for each in site.ceilings if each.kind == "siding"]
    top = max([door.sill for door in doors] + [highest]) + head
    return bottom, min(sidings) if sidings else foundation, top


def levels_of(area: AreaPlan) -> Floats:
    """Return the finish at the corners of the paving, (n,). [m]"""
    return area.finish.surface.at(np.array(area.outline.exterior.coords))


class DoorFrame(Struct, frozen=True):
    """A door's own axes in plan: a point on the wall, along it and out of it, (2,) each."""

    at: Floats
    along: Floats
    outward: Floats

    def box(self, left: float, back: float, right: float, front: float) -> shapely.Polygon:
        """Return a rectangle along the wall and out of it. [m]"""
        corners = np.array([[left, back], [right, back], [right, front], [left, front]])
        return shapely.Polygon(
            self.at + corners[:, :1] * self.along + corners[:, 1:] * self.outward
        )


def door_frame(house: House, door: Door) -> DoorFrame:
    """Return where a door stands: the nearest point of the nearest wall."""
    wall = house.wall_of(np.asarray(door.at, float))
    return DoorFrame(wall.foot, wall.along, np.asarray(wall.outward, float))


def block_region(ground: Ground, frame: Frame, dig: Shape, house: House | None) -> shapely.Polygon:
    """Return the plan of the ground around a dig that is drawn, house left out."""
    r0, n0, r1, n1 = frame.bounds(dig)
    margin = float(np.clip(0.14 * np.hypot(r1 - r0, n1 - n0), 2 * FOOT, 6 * FOOT))
    region = frame.box(r0 - margin, n0 - margin, r1 + margin, n1 + margin)
    if house is not None:
        region = largest(region.difference(house.polygon(2 * margin)))
    return covered(ground, region)
