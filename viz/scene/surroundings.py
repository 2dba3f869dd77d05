"""What stands around the paving: the ground cut out as a block, the house wall and its doors."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from grading.units import FOOT, INCH
from viz.look.materials import material
from viz.scene.collect import add_pattern, add_solid
from viz.scene.frame import Frame
from viz.scene.grain import grains
from viz.scene.model import Collected
from viz.scene.shell import Floats, Sheet, Solid, between, polygons, triangulate
from viz.scene.solids import Draped, drape

if TYPE_CHECKING:
    import shapely

    from grading.ground.model import Ground
    from grading.site.model import Door, House
    from viz.scene.shell import Region, Shape

TURF = INCH
"""Thickness of the green skin that the ground is drawn with. [m]"""

WALL = 10 * INCH
"""Thickness of the house wall that is drawn. [m]"""

DOOR_WIDTH = 3 * FOOT
HEAD = 15 * INCH
"""How far above the highest sill the wall is cut off. [m]"""

FINE = 15_000
"""Triangles of ground in one picture beyond which it is drawn from samples instead."""


@dataclass(frozen=True)
class Block:
    """The block of ground cut out for a picture.

    region is its plan [m]; bottom the level of its underside about the scene's origin [m].
    """

    region: Shape
    bottom: float


def drawn_ground(ground: Ground, region: shapely.Polygon) -> Any:
    """Return ground for a picture: as surveyed, or samples of it where a scan is too fine."""
    import shapely

    corners = ground.points[ground.triangles][:, :, :2]
    left, bottom, right, top = region.bounds
    low, high = corners.min(axis=1), corners.max(axis=1)
    met = (low[:, 0] <= right) & (high[:, 0] >= left) & (low[:, 1] <= top) & (high[:, 1] >= bottom)
    if met.sum() <= FINE:
        return ground
    from types import SimpleNamespace

    grid = np.stack(
        np.meshgrid(np.linspace(left, right, 70), np.linspace(bottom, top, 70)), axis=-1
    ).reshape(-1, 2)
    z = ground.elevation(grid)
    kept = np.isfinite(z)
    around = largest(shapely.MultiPoint(grid[kept]).convex_hull)
    sheet, _ = triangulate(around, grid[kept])
    return SimpleNamespace(
        points=np.column_stack([sheet.xy, ground.elevation(sheet.xy)]),
        triangles=sheet.faces,
        organics=ground.organics_at(sheet.xy),
    )


def covered(ground: Any, region: Shape) -> shapely.Polygon:
    """Return the part of a region that has ground under it."""
    import shapely

    triangles = shapely.polygons(ground.points[ground.triangles][:, :, :2])
    shapely.prepare(region)
    met = triangles[shapely.intersects(region, triangles)]
    return largest(region.intersection(shapely.union_all(met)))


def largest(region: Shape) -> shapely.Polygon:
    """Return the polygon of a region with the greatest area; slivers and lines are left out."""
    import shapely

    parts = [part for part in shapely.get_parts(region) if part.geom_type == "Polygon"]
    return max(parts, key=lambda part: float(part.area)) if parts else shapely.Polygon()


def drape_over(ground: Any, region: Region, origin: Floats) -> Draped:
    """Return the ground draped over a region about the scene's origin."""
    from grading.finish.cutting import clip

    return drape(clip(ground, region), region, origin)


def add_ground(
    collected: Collected, draped: Draped, bottom: float, shown: tuple[str, ...], seed: int,
    most: int = 450,
) -> None:  # fmt: skip
    """Add the ground around the paving: turf, topsoil as deep as it was found, subsoil."""
    sheet, top = draped.sheet, draped.ground
    skin = np.full_like(top, TURF)
    depth = np.maximum(draped.organics, skin)
    add_solid(collected, "turf", "turf", between(sheet, top, top - skin), shown)
    add_solid(collected, "topsoil", "topsoil", between(sheet, top - skin, top - depth), shown)
    under = np.full_like(top, bottom)
    add_solid(collected, "subsoil", "subsoil", between(sheet, top - depth, under), shown)
    look = material("turf")
    meshes = grains(_plan_of(sheet), look.size, look.share, len(look.grains), seed, most)
    level = height_over(sheet, top)
    add_pattern(collected, "turf", "turf", look.grains, meshes, level, shown, 0.006)


def _plan_of(sheet: Sheet) -> Shape:
    import shapely

    return shapely.union_all(shapely.polygons(sheet.xy[sheet.faces]))


def height_over(sheet: Sheet, values: Floats) -> Any:
    """Return a function that reads a surface over a sheet at points (k, 2); nearest outside."""
    from scipy.spatial import cKDTree

    from grading.geometry.tin import Tin

    used = np.unique(sheet.faces)
    place = np.full(len(sheet.xy), -1)
    place[used] = np.arange(len(used))
    surface = Tin(np.column_stack([sheet.xy[used], values[used]]), place[sheet.faces])
    tree = cKDTree(sheet.xy[used])

    def read(xy: Floats) -> Floats:
        z = np.asarray(surface.elevation(xy))
        outside = np.isnan(z)
        if outside.any():
            z[outside] = values[used][tree.query(xy[outside])[1]]
        return z

    return read


def house_body(house: House, region: Shape) -> shapely.MultiPolygon:
    """Return the part of the house wall that stands at a region, in plan."""
    whole: Any = house.polygon(WALL)
    strip = whole
    if house.closed:
        strip = whole.difference(whole.buffer(-WALL, join_style="mitre"))
    return polygons(strip.intersection(region))


def wall_top(doors: tuple[Door, ...], levels: Floats) -> float:
    """Return where the wall is cut off: over the highest sill, or over the finish beside it."""
    return max([door.sill for door in doors] + [float(levels.max())]) + HEAD


def _flat(region: Region, origin: Floats, top: float, bottom: float) -> Solid:
    import shapely

    near = shapely.transform(region, lambda xy: xy - origin[:2])
    sheet, _ = triangulate(near)
    level = np.ones(len(sheet.xy))
    return between(sheet, level * (top - origin[2]), level * (bottom - origin[2]))


def add_house(
    collected: Collected,
    house: House,
    doors: tuple[Door, ...],
    region: Shape,
    origin: Floats,
    levels: tuple[float, float, float],
    shown: tuple[str, ...],
) -> None:
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
    add_solid(collected, "foundation", "foundation", _flat(body, origin, foundation, under), shown)
    add_solid(collected, "house wall", "siding", _flat(body, origin, top, foundation), shown)
    for door in doors:
        found = door_frame(house, door)
        if not region.intersects(found.box(-0.3, -0.1, 0.3, 0.1)):
            continue
        half = DOOR_WIDTH / 2
        leaf = found.box(-half, -0.01, half, 0.02)
        sill = found.box(-half - 3 * INCH, -0.01, half + 3 * INCH, 3 * INCH)
        add_solid(collected, door.name, "door", _flat(leaf, origin, top - INCH, door.sill), shown)
        add_solid(
            collected,
            f"{door.name}, sill",
            "sill",
            _flat(sill, origin, door.sill, door.sill - INCH),
            shown,
        )


@dataclass(frozen=True)
class DoorFrame:
    """A door's own axes in plan: a point on the wall, along it and out of it, (2,) each."""

    at: Floats
    along: Floats
    outward: Floats

    def box(self, left: float, back: float, right: float, front: float) -> shapely.Polygon:
        """Return a rectangle along the wall and out of it. [m]"""
        import shapely

        corners = np.array([[left, back], [right, back], [right, front], [left, front]])
        return shapely.Polygon(
            self.at + corners[:, :1] * self.along + corners[:, 1:] * self.outward
        )


def door_frame(house: House, door: Door) -> DoorFrame:
    """Return where a door stands: the nearest point of the nearest wall."""
    wall = house.wall_of(np.asarray(door.at, float))
    return DoorFrame(wall.foot, wall.along, np.asarray(wall.outward, float))


def block_region(ground: Any, frame: Frame, dig: Shape, house: House | None) -> shapely.Polygon:
    """Return the plan of the ground around a dig that is drawn, house left out."""
    r0, n0, r1, n1 = frame.bounds(dig)
    margin = float(np.clip(0.14 * np.hypot(r1 - r0, n1 - n0), 2 * FOOT, 6 * FOOT))
    region = frame.box(r0 - margin, n0 - margin, r1 + margin, n1 + margin)
    if house is not None:
        region = largest(region.difference(house.polygon(2 * margin)))
    return covered(ground, region)
