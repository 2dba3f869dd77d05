"""Where each layer of a base system is laid, in plan: what the order counts, and what is drawn."""

from __future__ import annotations

import shapely

from grading.catalogue.bases import Layer
from grading.geometry.arrays import Region, polygons
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
        Without what is left out for what stands there: `Takeoff.left_out`. [m]
    """
    whole: Region = takeoff.dig.polygon if layer.spreads else takeoff.dig.outline
    gone = takeoff.left_out(layer)
    return whole if shapely.is_empty(gone) else polygons(shapely.difference(whole, gone))
