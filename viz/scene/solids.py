"""Watertight solids of one dig: earth taken out, refill, every layer, backfill at the edge."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import shapely

from grading.catalogue.bases import BaseSystem, Layer
from grading.dig.hole import Dig
from grading.finish.earthwork import Clip
from grading.geometry.facets import Surface
from viz.scene.shell import (
    EMPTY,
    TOUCH,
    Floats,
    Ints,
    Region,
    Sheet,
    Solid,
    between,
    joined,
    polygons,
    rings,
    triangles_of,
    triangulate,
)
from viz.words.folds import parts_over


@dataclass(frozen=True)
class Draped:
    """The ground over a polygon, creased where organics stop governing the depth of the dig.

    sheet is its triangulation; ground and organics are elevation and depth at the sheet's
    points, (n,) each. [m]
    """

    sheet: Sheet
    ground: Floats
    organics: Floats


@dataclass(frozen=True)
class DigSolids:
    """The solids of one dig about `origin` (3,) [m]: add it to come back to site axes.

    layers run from the top down, one for each layer of the base system.
    """

    origin: Floats
    layers: tuple[tuple[Layer, Solid], ...]
    earth: Solid
    refill: Solid
    backfill: Solid


def _zero_lines(level: Floats, xy: Floats, fields: tuple[Floats, ...]) -> list[Floats]:
    """Return where a level that is linear on triangles is zero, and fields there.

    Gives points (2 j, 2), each two in a row the ends of one triangle's zero line, then each of
    the fields at them, (2 j,).
    """
    level = np.where(np.abs(level) <= TOUCH, 0.0, level)
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
    near = shapely.transform(polygon, lambda points: points - centre)
    sheet, place = triangulate(near, corners, edges)
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
        from scipy.spatial import cKDTree

        from grading.geometry.tin import Tin

        pieces = np.arange(len(corners)).reshape(-1, 3)
        found = Tin(np.column_stack([corners, values]), pieces).elevation(sheet.xy[missing])
        beside = np.isnan(found)
        found[beside] = values[cKDTree(corners).query(sheet.xy[missing[beside]])[1]]
        field[missing] = found
    return field


def slab(
    polygon: Region,
    finish: Surface,
    top: float,
    thickness: float,
    origin: Floats,
    steps: bool = True,
) -> Solid:
    """Return a layer of even thickness under the finish, with upright sides.

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
    steps : bool
        Whether the small steps that a warped surface has beyond its edges are kept, which
        takes a solid for each facet. A picture does without.
    """
    if polygon.is_empty or thickness <= 0:
        return EMPTY
    solids = []
    for region, surface in parts_over(finish, polygon) if steps else [(polygon, finish)]:
        sheet = creased(region, surface, origin)
        upper = surface.at(sheet.xy + origin[:2]) - origin[2] - top
        solids.append(between(sheet, upper, upper - thickness))
    return joined(solids)


def creased(polygon: Region, finish: Surface, origin: Floats) -> Sheet:
    """Return a triangulation of a polygon about the origin, with an edge along every fold."""

    def near(region: Region) -> Region:
        return shapely.transform(region, lambda points: points - origin[:2])

    if not finish.folded:
        return triangulate(near(polygon))[0]
    points, edges, count = [], [], 0
    for facet in finish.facets:
        for ring in rings(near(polygons(polygon.intersection(facet.domain), 0.0))):
            index = np.arange(count, count + len(ring))
            points.append(ring)
            edges.append(np.column_stack([index, np.roll(index, -1)]))
            count += len(ring)
    return triangulate(near(polygon), np.concatenate(points), np.concatenate(edges))[0]


def dug_surface(draped: Draped, formation: Surface, origin: Floats) -> tuple[Floats, Floats]:
    """Return the dug surface and the formation at the sheet's points, (n,) each. [m]"""
    level = formation.at(draped.sheet.xy + origin[:2]) - origin[2]
    return np.minimum(level, draped.ground - draped.organics), level


@dataclass(frozen=True)
class Dug:
    """A part of the hole: the ground over it, the dug surface and the formation, (n,). [m]"""

    draped: Draped
    floor: Floats
    level: Floats


def dug_parts(
    clip: Clip, polygon: Region, formation: Surface, origin: Floats, steps: bool = True
) -> list[Dug]:
    """Return the hole over a polygon, in one part where the formation has no step.

    Parameters
    ----------
    clip : Clip
        The ground's pieces inside the polygon, parted by the formation's facets.
    polygon : shapely polygon or multipolygon
        The same outline. [m]
    formation : Surface
    origin : (3,) float
        Local origin: subtracted from the result. [m]
    steps : bool
        As for `slab`.
    """
    crease = clip.depth_below(formation.coefficients) - clip.organics
    found = []
    parts = parts_over(formation, polygon) if steps else [(polygon, formation)]
    for region, surface in parts:
        own = np.ones(len(clip.facet), bool)
        if len(parts) > 1:
            own = clip.facet == formation.facets.index(surface.facets[0])
        pieces = replace(
            clip, xy=clip.xy[own], ground=clip.ground[own], organics=clip.organics[own],
            facet=clip.facet[own],
        )  # fmt: skip
        draped = drape(pieces, region, origin, crease[own])
        found.append(Dug(draped, *dug_surface(draped, surface, origin)))
    return found


def on_floor(shape: Region, part: Dug) -> tuple[Floats, Ints]:
    """Triangulate a shape along the edges of a hole's floor too, so that it lies on it throughout.

    Parameters
    ----------
    shape : shapely polygon or multipolygon
        Within the part, about the scene's origin. [m]
    part : Dug

    Returns
    -------
    ((n, 2), (m, 3))
        Points in plan [m] and triangles.
    """

    sheet = part.draped.sheet
    own = np.asarray(shapely.polygons(sheet.xy[sheet.faces]))
    met = own[np.asarray(shapely.intersects(shape, own))]
    pieces = shapely.get_parts(shapely.intersection(met, shape))
    pieces = pieces[np.asarray(shapely.area(pieces) > TOUCH)]
    if not len(pieces):
        return np.zeros((0, 2)), np.zeros((0, 3), np.int64)
    points, faces, _ = triangles_of(pieces)
    return points, faces


def local_origin(dig: Dig) -> Floats:
    """Return a round point near the middle of the dig, (3,). [m]"""
    left, bottom, right, top = dig.polygon.bounds
    middle = np.array([(left + right) / 2, (bottom + top) / 2])
    return np.round(np.append(middle, dig.formation.at(middle[None])[0]))


def beside(dig: Dig, outline: Region) -> Region:
    """Return the ring of the hole that no paving covers."""

    ring = shapely.get_parts(dig.polygon.difference(outline))
    return shapely.MultiPolygon([part for part in ring if part.geom_type == "Polygon"])


def backfill_depth(system: BaseSystem) -> float:
    """Return the depth of soil put back beside the paving, finish to top of the base. [m]"""
    return sum(layer.thickness for layer in system.layers if not layer.spreads)


def dig_solids(dig: Dig, finish: Surface, outline: Region) -> DigSolids:
    """Return the solids of one dig, each closed, their volumes those of the plan.

    Parameters
    ----------
    dig : Dig
        The hole for one base system.
    finish : Surface
        Top of the pavers.
    outline : shapely polygon or multipolygon
        Edge of the paving. [m]
    """
    origin = local_origin(dig)
    dug = dug_parts(dig.clip, dig.polygon, dig.formation, origin)
    layers = tuple(
        (
            layer,
            slab(dig.polygon if layer.spreads else outline, finish, top, layer.thickness, origin),
        )
        for layer, top in zip(dig.system.layers, dig.system.tops(), strict=True)
    )
    return DigSolids(
        origin=origin,
        layers=layers,
        earth=joined([between(part.draped.sheet, part.draped.ground, part.floor) for part in dug]),
        refill=joined([between(part.draped.sheet, part.level, part.floor) for part in dug]),
        backfill=slab(beside(dig, outline), finish, 0.0, backfill_depth(dig.system), origin),
    )
