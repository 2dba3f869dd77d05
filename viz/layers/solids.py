"""Watertight solids of one dig: earth taken out, refill, every layer, backfill at the edge."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from viz.layers.shell import EMPTY, TOUCH, Floats, Sheet, Solid, between, triangulate

if TYPE_CHECKING:
    from grading.baselayers import BaseSystem, Layer
    from grading.dig import Dig
    from grading.earthwork import Clip
    from grading.plane import Plane
    from viz.layers.shell import Region


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
    crease: Callable[[Floats], Floats] | None = None,
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
    crease : callable, optional
        Elevation of a plane at points (k, 2) of the site; the triangulation gets an edge
        wherever the bottom of the organics passes through it. [m]
    """
    import shapely

    centre = origin[:2]
    xy = clip.xy - centre
    corners, ground, organics = xy.reshape(-1, 2), clip.ground.ravel(), clip.organics.ravel()
    index = np.arange(len(corners)).reshape(-1, 3)
    edges = np.concatenate([index[:, [0, 1]], index[:, [1, 2]], index[:, [2, 0]]])
    pieces = len(corners)
    if crease is not None:
        level = crease(clip.xy.reshape(-1, 2)).reshape(-1, 3)
        ends, ground_there, organics_there = _zero_lines(
            clip.ground - clip.organics - level, xy, (clip.ground, clip.organics)
        )
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

        from grading.tin import Tin

        pieces = np.arange(len(corners)).reshape(-1, 3)
        found = Tin(np.column_stack([corners, values]), pieces).elevation(sheet.xy[missing])
        beside = np.isnan(found)
        found[beside] = values[cKDTree(corners).query(sheet.xy[missing[beside]])[1]]
        field[missing] = found
    return field


def slab(
    polygon: Region,
    plane: Plane,
    top: float,
    thickness: float,
    origin: Floats,
) -> Solid:
    """Return a layer of even thickness under the finish, with upright sides.

    Parameters
    ----------
    polygon : shapely polygon or multipolygon
        Its footprint. [m]
    plane : Plane
        The finish.
    top, thickness : float
        Depth of the layer's top below the finish, and from its top to its bottom. [m]
    origin : (3,) float
        Local origin: subtracted from the result. [m]
    """
    import shapely

    if polygon.is_empty or thickness <= 0:
        return EMPTY
    near = shapely.transform(polygon, lambda points: points - origin[:2])
    sheet, _ = triangulate(near)
    upper = plane.at(sheet.xy + origin[:2]) - origin[2] - top
    return between(sheet, upper, upper - thickness)


def dug_surface(draped: Draped, formation: Plane, origin: Floats) -> tuple[Floats, Floats]:
    """Return the dug surface and the formation at the sheet's points, (n,) each. [m]"""
    level = formation.at(draped.sheet.xy + origin[:2]) - origin[2]
    return np.minimum(level, draped.ground - draped.organics), level


def local_origin(dig: Dig) -> Floats:
    """Return a round point near the middle of the dig, (3,). [m]"""
    left, bottom, right, top = dig.polygon.bounds
    middle = np.array([(left + right) / 2, (bottom + top) / 2])
    return np.round(np.append(middle, dig.formation.at(middle[None])[0]))


def beside(dig: Dig, outline: Region) -> Region:
    """Return the ring of the hole that no paving covers."""
    import shapely

    ring = shapely.get_parts(dig.polygon.difference(outline))
    return shapely.MultiPolygon([part for part in ring if part.geom_type == "Polygon"])


def backfill_depth(system: BaseSystem) -> float:
    """Return the depth of soil put back beside the paving, finish to top of the base. [m]"""
    return sum(layer.thickness for layer in system.layers if not layer.spreads)


def dig_solids(dig: Dig, finish: Plane, outline: Region) -> DigSolids:
    """Return the solids of one dig, each closed, their volumes those of the plan.

    Parameters
    ----------
    dig : Dig
        The hole for one base system.
    finish : Plane
        Top of the pavers.
    outline : shapely polygon or multipolygon
        Edge of the paving. [m]
    """
    origin = local_origin(dig)
    draped = drape(dig.clip, dig.polygon, origin, dig.formation.at)
    dug, level = dug_surface(draped, dig.formation, origin)
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
        earth=between(draped.sheet, draped.ground, dug),
        refill=between(draped.sheet, level, dug),
        backfill=slab(beside(dig, outline), finish, 0.0, backfill_depth(dig.system), origin),
    )
