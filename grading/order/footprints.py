"""Where each layer of a base system is laid, in plan: what the order counts, and what is drawn."""

from __future__ import annotations

import shapely

from grading.catalogue.bases import Layer
from grading.geometry.arrays import Region
from grading.geometry.tolerances import SLIVER
from grading.order.takeoff import Takeoff


def footprint_of(takeoff: Takeoff, layer: Layer) -> Region:
    """Return where a layer is laid, the shoulder of an edge in it or not.

    Parameters
    ----------
    takeoff : Takeoff
    layer : Layer
        Of its base system.

    Returns
    -------
    shapely polygon or multipolygon
        No paver lies under what stands on a base of its own, and no other layer where that base
        lies or where something stands beside the paving; no base of stone with fines lies where
        clean stone takes its place. [m]
    """
    dig, standing = takeoff.dig, takeoff.standing
    whole: Region = dig.polygon if layer.spreads else dig.outline
    if layer.role == "paver":
        gone: shapely.Geometry = standing.feet
    else:
        gone = shapely.union(standing.pads, stands_beside(takeoff))
    if layer.role == "base" and layer.material != "open-graded":
        own = [each.drained for each in takeoff.structures]
        gone = shapely.union_all([gone, standing.drained, *own])
    return whole if shapely.is_empty(gone) else areas(shapely.difference(whole, gone))


def stands_beside(takeoff: Takeoff) -> shapely.Geometry:
    """Return where something stands beside the paving, in plan: no soil is put back there. [m]"""
    stands = shapely.union_all(
        [takeoff.standing.feet, *(each.stands for each in takeoff.structures)]
    )
    return shapely.difference(stands, takeoff.dig.outline)


def areas(shape: shapely.Geometry) -> shapely.MultiPolygon:
    """Return only the polygons of a shape; slivers and lines are left out."""
    parts = [part for part in shapely.get_parts(shape) if part.geom_type == "Polygon"]
    return shapely.MultiPolygon([part for part in parts if part.area > SLIVER])
