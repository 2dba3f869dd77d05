"""What lies between two surfaces that were shot: a layer and its design, a layer and that below."""

from __future__ import annotations

import numpy as np
import shapely
from msgspec import Struct

from grading.asbuilt.doubt import BuiltDoubt, built_doubt
from grading.asbuilt.layers import LayerName, Status, depth_of_layer
from grading.asbuilt.shots import BuiltShots
from grading.catalogue.rules import Limits
from grading.design.area import AreaPlan
from grading.finish.cutting import clip_facets
from grading.finish.earthwork import Volumes, positive_and_negative
from grading.geometry.arrays import Region
from grading.geometry.facets import Surface
from grading.geometry.tolerances import ROUNDING, TOGETHER
from grading.geometry.triangulation import triangulate
from grading.ground.model import Ground


class Thickness(Struct, frozen=True):
    """How thick the layer is that was just placed, at stakes where both surfaces were shot. [m]

    least, mean, greatest : as built; design : what it was to be; status : by its tolerance.
    """

    count: int
    least: float
    mean: float
    greatest: float
    design: float
    status: Status


class Between(Struct, frozen=True, eq=False):
    """The surface between the shots: what lies above and below the design, and how well known."""

    volumes: Volumes
    covered: float
    doubt: BuiltDoubt | None
    region: Region | None


_NOTHING_BETWEEN = Between(Volumes(0.0, 0.0, 0.0, 0.0), 0.0, None, None)


def surface_between(
    area: AreaPlan, shots: BuiltShots, wanted: Surface, layer: LayerName
) -> Between:
    """Return what lies between the surface through shots and that of the design.

    Parameters
    ----------
    area : AreaPlan
    shots : BuiltShots
    wanted : Surface
        Of the design, at that layer.
    layer : "subgrade", "base", "bedding" or "surface"
    """
    xyz = shots.xyz
    whole = area.chosen_dig.polygon if layer == "subgrade" else area.outline
    hull = shapely.MultiPoint(xyz[:, :2]).convex_hull
    if not isinstance(hull, shapely.Polygon) or hull.area < TOGETHER**2:
        return _NOTHING_BETWEEN
    distinct, first = np.unique(np.round(xyz[:, :2], 6), axis=0, return_index=True)
    points = xyz[np.sort(first)]
    corners = triangulate(points[:, :2]).corners
    flat = np.zeros(len(points))
    ground = Ground(points, corners, flat, len(distinct), hull, np.zeros(len(corners), bool))
    inside = shapely.intersection(whole, hull)
    if not isinstance(inside, shapely.Polygon | shapely.MultiPolygon) or inside.is_empty:
        return _NOTHING_BETWEEN
    clip = clip_facets(ground, inside, [facet.domain for facet in wanted.facets])
    volumes = positive_and_negative(clip.depth_below(wanted.coefficients), clip.areas)
    share = float(inside.area / whole.area)
    doubt = built_doubt(points, corners, shots.graduation)
    return Between(volumes, share, doubt, inside)


def thickness_of(
    area: AreaPlan,
    shots: BuiltShots,
    under: BuiltShots | None,
    layer: LayerName,
    limits: Limits,
) -> Thickness | None:
    """Return the thickness of a layer at the places where what is under it was shot as well."""
    if under is None or layer == "subgrade":
        return None
    # Both surfaces are read to a graduation: what their rounding may have taken is not lacking.
    left = (shots.graduation + under.graduation) / 2 + ROUNDING
    found = []
    for xyz in shots.xyz:
        away = np.hypot(*(under.xyz[:, :2] - xyz[:2]).T)
        nearest = int(away.argmin())
        if away[nearest] <= TOGETHER:
            found.append(float(xyz[2] - under.xyz[nearest, 2]))
    if not found:
        return None
    system = area.chosen_dig.system
    top = depth_of_layer(area, layer)
    wanted = min(each for each in (*system.tops(), system.build_up) if each > top) - top
    least, greatest = min(found), max(found)
    thinner, thicker = limits["base-thinner"], limits["base-thicker"]
    fits = wanted - thinner - left <= least and greatest <= wanted + thicker + left
    status: Status = "unknown" if layer != "base" else "pass" if fits else "fail"
    return Thickness(len(found), least, float(np.mean(found)), greatest, wanted, status)
