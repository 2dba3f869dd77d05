"""Watertight solids of one dig: the ground over it, the hole, layers of even thickness."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
import shapely
from msgspec import Struct

from grading.design.area import AreaPlan
from grading.design.model import kept
from grading.dig.hole import Dig
from grading.finish.cutting import clip_facets
from grading.finish.earthwork import Clip
from grading.geometry.arrays import Floats, Region
from grading.geometry.facets import Surface
from grading.geometry.tin import Tin
from grading.ground.model import Ground
from viz.scene.shell import (
    EMPTY,
    MEET,
    Height,
    Mesh,
    Sheet,
    Solid,
    about,
    between,
    edges_round,
    merged,
    polygons,
    triangles_of,
    triangulate,
)

if TYPE_CHECKING:
    from scipy.spatial import cKDTree


class Draped(Struct, frozen=True):
    """The ground over a polygon, creased where organics stop governing the depth of the dig.

    sheet is its triangulation; ground and organics are elevation and depth at the sheet's
    points, (n,) each. [m]
    """

    sheet: Sheet
    ground: Floats
    organics: Floats


def _zero_lines(level: Floats, xy: Floats, fields: tuple[Floats, ...]) -> list[Floats]:
    """Return where a level that is linear on triangles is zero, and fields there.

    Gives points (2 j, 2), each two in a row the ends of one triangle's zero line, then each of
    the fields at them, (2 j,).
    """
    level = np.where(np.abs(level) <= MEET, 0.0, level)
    mixed = (level.min(axis=1) < 0) & (level.max(axis=1) > 0)
    value, following = level[mixed], [1, 2, 0]
    other = value[:, following]
    crossed = (value < 0) != (other < 0)
    share = np.divide(value, value - other, out=np.zeros_like(value), where=crossed)
    ends = []
    for field in (xy[mixed, :, 0], xy[mixed, :, 1], *(field[mixed] for field in fields)):
        ends.append((field + share * (field[:, following] - field))[crossed])
    return [np.column_stack(ends[:2]), *ends[2:]]


def drape(
    clip: Clip,
    polygon: Region,
    origin: Floats,
    crease: Floats | None = None,
) -> Draped:
    """Triangulate the ground over a polygon edge to edge, exactly as the survey has it.

    Parameters
    ----------
    clip : Clip
        The ground's pieces inside the polygon.
    polygon : shapely polygon or multipolygon
        The same outline. [m]
    origin : (3,) float
        Local origin: subtracted from the result. [m]
    crease : (k, 3) float, optional
        Bottom of the organics above the formation at the corners of the clip; the
        triangulation gets an edge wherever it passes through zero. [m]
    """
    centre = origin[:2]
    xy = clip.xy - centre
    corners, ground, organics = xy.reshape(-1, 2), clip.ground.ravel(), clip.organics.ravel()
    index = np.arange(len(corners)).reshape(-1, 3)
    edges = np.concatenate([index[:, [0, 1]], index[:, [1, 2]], index[:, [2, 0]]])
    pieces = len(corners)
    if crease is not None:
        ends, ground_there, organics_there = _zero_lines(crease, xy, (clip.ground, clip.organics))
        line = len(corners) + np.arange(len(ends)).reshape(-1, 2)
        corners = np.concatenate([corners, ends])
        ground = np.concatenate([ground, ground_there])
        organics = np.concatenate([organics, organics_there])
        edges = np.concatenate([edges, line])
    sheet, place = triangulate(about(polygon, origin), corners, edges)
    fields = []
    for values in (ground - origin[2], organics):
        field = np.full(len(sheet.xy), np.nan)
        field[place[: len(corners)]] = values
        fields.append(_filled(field, sheet, corners[:pieces], values[:pieces]))
    return Draped(sheet, *fields)


def _filled(field: Floats, sheet: Sheet, corners: Floats, values: Floats) -> Floats:
    """Return the field with points that are no corner of the ground's pieces filled in.

    Such a point of the outline lies on a side of a piece, or is a hair beside a corner.
    """
    used = np.unique(sheet.faces)
    missing = used[np.isnan(field[used])]
    if len(missing):
        pieces = np.arange(len(corners)).reshape(-1, 3)
        found = Tin(np.column_stack([corners, values]), pieces).elevation(sheet.xy[missing])
        beside = np.isnan(found)
        found[beside] = values[_tree(corners).query(sheet.xy[missing[beside]])[1]]
        field[missing] = found
    return field


def height_over(sheet: Sheet, values: Floats) -> Height:
    """Return a function that reads a surface over a sheet at points (k, 2); nearest outside."""
    used = np.unique(sheet.faces)
    place = np.full(len(sheet.xy), -1)
    place[used] = np.arange(len(used))
    surface = Tin(np.column_stack([sheet.xy[used], values[used]]), place[sheet.faces])
    tree = _tree(sheet.xy[used])

    def read(xy: Floats) -> Floats:
        z = np.asarray(surface.elevation(xy))
        outside = np.isnan(z)
        if outside.any():
            z[outside] = values[used][tree.query(xy[outside])[1]]
        return z

    return read


def _tree(points: Floats) -> cKDTree:
    from scipy.spatial import cKDTree

    return cKDTree(points)


def slab(polygon: Region, finish: Surface, top: float, thickness: float, origin: Floats) -> Solid:
    """Return a layer of even thickness under the finish, with upright sides.

    The small steps that a warped surface has beyond its edges are drawn out flat.

    Parameters
    ----------
    polygon : shapely polygon or multipolygon
        Its footprint. [m]
    finish : Surface
        The finish; the layer bends along its folds.
    top, thickness : float
        Depth of the layer's top below the finish, and from its top to its bottom. [m]
    origin : (3,) float
        Local origin: subtracted from the result. [m]
    """
    if polygon.is_empty or thickness <= 0:
        return EMPTY
    sheet = creased(polygon, finish, origin)
    upper = finish.at(sheet.xy + origin[:2]) - origin[2] - top
    return between(sheet, upper, upper - thickness)


def creased(polygon: Region, finish: Surface, origin: Floats) -> Sheet:
    """Return a triangulation of a polygon about the origin, with an edge along every fold."""
    if not finish.folded:
        return triangulate(about(polygon, origin))[0]
    parts = [polygons(polygon.intersection(facet.domain), 0.0) for facet in finish.facets]
    return triangulate(
        about(polygon, origin), *merged(edges_round(about(part, origin)) for part in parts)
    )[0]


class Hole(Draped, frozen=True, dict=True):
    """A hole: the ground over it, the dug surface and the formation at its sheet's points. [m]"""

    floor: Floats
    level: Floats

    @cached_property
    def dug_at(self) -> Height:
        """A function that reads the dug surface at points (k, 2); nearest outside. [m]"""
        return height_over(self.sheet, self.floor)

    def filled(self, low: float, high: float) -> Solid:
        """Return the refill from a share of its depth to another, counted from the bottom."""
        deep = self.level - self.floor
        return between(self.sheet, self.floor + high * deep, self.floor + low * deep)

    @property
    def refill(self) -> Solid:
        """All of what is filled in up to the formation."""
        return between(self.sheet, self.level, self.floor)


def hole_over(clip: Clip, polygon: Region, formation: Surface, origin: Floats) -> Hole:
    """Return the hole over a polygon, creased where its refill starts.

    Parameters
    ----------
    clip : Clip
        The ground's pieces inside the polygon, parted by the formation's facets.
    polygon : shapely polygon or multipolygon
        The same outline. [m]
    formation : Surface
    origin : (3,) float
        Local origin: subtracted from the result. [m]
    """
    crease = clip.depth_below(formation.coefficients) - clip.organics
    draped = drape(clip, polygon, origin, crease)
    level = formation.at(draped.sheet.xy + origin[:2]) - origin[2]
    floor = np.minimum(level, draped.ground - draped.organics)
    return Hole(draped.sheet, draped.ground, draped.organics, floor, level)


@kept
def hole_of(area: AreaPlan, base: str) -> tuple[Floats, Hole]:
    """Return the whole hole of an area on one of its base systems, and the origin it is about."""
    dig = area.digs[base]
    origin = local_origin(dig)
    return origin, hole_over(dig.clip, dig.polygon, dig.formation, origin)


def part_of_hole(ground: Ground, dig: Dig, region: Region, origin: Floats) -> Hole:
    """Return the hole over a part of a dig."""
    domains = [facet.domain for facet in dig.formation.facets]
    return hole_over(clip_facets(ground, region, domains), region, dig.formation, origin)


def on_floor(shape: Region, hole: Hole) -> Mesh:
    """Triangulate a shape along the edges of a hole's floor too, so that it lies on it throughout.

    Parameters
    ----------
    shape : shapely polygon or multipolygon
        Within the hole, about the scene's origin. [m]
    hole : Hole

    Returns
    -------
    ((n, 2), (m, 3))
        Points in plan [m] and triangles.
    """
    sheet = hole.sheet
    own = np.asarray(shapely.polygons(sheet.xy[sheet.faces]))
    met = own[np.asarray(shapely.intersects(shape, own))]
    pieces = shapely.get_parts(shapely.intersection(met, shape))
    pieces = pieces[np.asarray(shapely.area(pieces) > MEET)]
    if not len(pieces):
        return np.zeros((0, 2)), np.zeros((0, 3), np.int64)
    points, faces, _ = triangles_of(pieces)
    return points, faces


def local_origin(dig: Dig) -> Floats:
    """Return a round point near the middle of the dig, (3,). [m]"""
    left, bottom, right, top = dig.polygon.bounds
    middle = np.array([(left + right) / 2, (bottom + top) / 2])
    return np.round(np.append(middle, dig.formation.at(middle[None])[0]))
