"""The solids of one dig, exact to the small steps that a warped finish has beyond its edges, and
what no wrong solid passes.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import pytest
import shapely
from msgspec.structs import replace

from grading.catalogue.bases import Layer
from grading.dig.hole import Dig
from grading.geometry.arrays import Floats
from grading.geometry.facets import Surface
from viz.scene.shell import Solid, between, joined
from viz.scene.solids import Hole, hole_over, local_origin, slab

_TOUCH = 1e-7  # m


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


def dig_solids(dig: Dig) -> DigSolids:
    """Return the solids of one dig, each closed, their volumes those of the plan."""
    origin = local_origin(dig)
    holes = holes_of(dig, origin)

    def layer(region: Any, top: float, thickness: float) -> Solid:
        return layer_of(region, dig.finish, top, thickness, origin)

    return DigSolids(
        origin=origin,
        layers=tuple(
            (each, layer(dig.polygon if each.spreads else dig.outline, top, each.thickness))
            for each, top in zip(dig.system.layers, dig.system.tops(), strict=True)
        ),
        earth=joined([between(hole.sheet, hole.ground, hole.floor) for hole in holes]),
        refill=joined([hole.refill for hole in holes]),
        backfill=layer(dig.beside, 0.0, dig.system.above_edge),
    )


def layer_of(region: Any, finish: Surface, top: float, thickness: float, origin: Floats) -> Solid:
    """Return a layer in parts where the finish has a step."""
    parts = [] if region.is_empty else parts_over(finish, region)
    return joined([slab(part, own, top, thickness, origin) for part, own in parts])


def holes_of(dig: Dig, origin: Floats) -> list[Hole]:
    """Return the hole over a dig, in one part where the formation has no step."""
    found, clip = [], dig.clip
    parts = parts_over(dig.formation, dig.polygon)
    for region, surface in parts:
        own = np.ones(len(clip.facet), bool)
        if len(parts) > 1:
            own = clip.facet == dig.formation.facets.index(surface.facets[0])
        pieces = replace(
            clip, xy=clip.xy[own], ground=clip.ground[own], organics=clip.organics[own],
            facet=clip.facet[own] if len(parts) == 1 else np.zeros(own.sum(), clip.facet.dtype),
        )  # fmt: skip
        found.append(hole_over(pieces, region, surface, origin))
    return found


def parts_over(surface: Surface, polygon: Any) -> list[tuple[Any, Surface]]:
    """Return a polygon with the surface over it, in parts where the surface has a step.

    Parameters
    ----------
    surface : Surface
    polygon : shapely polygon or multipolygon
        [m]

    Returns
    -------
    list of (polygon, Surface)
        One part where the planes meet all along their folds; else one for each facet.
    """
    if not surface.folded:
        return [(polygon, surface)]
    regions = [_areal(polygon.intersection(facet.domain)) for facet in surface.facets]
    xy = shapely.get_coordinates([region for region in regions if not region.is_empty])
    points = shapely.points(xy)
    near = np.stack([shapely.distance(region, points) < _TOUCH for region in regions])
    levels = np.stack([plane.at(xy) for plane in surface.planes])
    high = np.where(near, levels, -np.inf).max(axis=0)
    low = np.where(near, levels, np.inf).min(axis=0)
    if float((high - low).max()) < 1e-8:
        return [(polygon, surface)]
    return [
        (region, Surface((facet,), surface.outline))
        for region, facet in zip(regions, surface.facets, strict=True)
        if not region.is_empty
    ]


def _areal(shape: Any) -> Any:
    parts = [part for part in shapely.get_parts(shape) if part.geom_type == "Polygon"]
    return shapely.MultiPolygon(parts)


def assert_solid(solid: Solid, volume: float, where: str = "") -> None:
    """Assert what no wrong solid passes: every edge twice, turned outwards, the volume itself."""
    if volume < 1e-12:
        assert abs(solid.volume) < 1e-9, where
        return
    mesh = solid.mesh()
    assert mesh.is_watertight, where
    assert mesh.is_winding_consistent, where
    assert mesh.volume == pytest.approx(volume, rel=1e-9, abs=1e-9), where  # to a cubic millimetre
    assert solid.volume == pytest.approx(mesh.volume, rel=1e-12), where


def assert_dig(dig: Dig) -> DigSolids:
    """Assert that every solid of a dig is closed and weighs what the plan says."""
    solids = dig_solids(dig)
    assert_solid(solids.earth, dig.cut, "earth")
    assert_solid(solids.refill, dig.fill, "refill")
    assert_solid(solids.backfill, dig.backfill, "backfill")
    for (layer, solid), written in zip(solids.layers, dig.layers, strict=True):
        assert layer is written.layer
        assert_solid(solid, written.volume, layer.name)
    return solids
