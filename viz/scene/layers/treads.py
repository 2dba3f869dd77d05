"""The layers of a base where they lie, from the top down, and what the legend says of each."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
import shapely
from msgspec import Struct
from msgspec.structs import replace

from grading.design.model import kept
from grading.geometry.arrays import Region
from grading.order.footprints import footprint_of
from grading.order.takeoff import Takeoff
from grading.units import Unit
from viz.look.materials import material
from viz.scene.layers.structures import inlaid_in
from viz.scene.model import LegendEntry
from viz.scene.shell import polygons
from viz.words.figures import small


class Tread(Struct, frozen=True):
    """A layer as it is drawn: number in the legend, plan before opening, depth below finish.

    thickness is nan for what has none of its own.
    """

    number: int
    name: str
    kind: str
    footprint: Region
    top: float
    thickness: float


@kept
def treads_of(laid: Takeoff) -> tuple[Tread, ...]:
    """Return what is seen from the top down: layers, refill, geotextile, the subgrade.

    Refill and geotextile come where there is any that the base system does not list itself. No
    paver lies under what stands on a base of its own, and no other layer where that base lies;
    none goes on behind a wall, and no base lies where clean stone takes its place.
    """
    dig, wide, inlaid = laid.dig, _held(laid), inlaid_in(laid)
    treads = []
    for i, (layer, top) in enumerate(zip(dig.system.layers, dig.system.tops(), strict=True)):
        footprint = footprint_of(laid, layer)
        gone = inlaid if layer.role == "paver" else polygons(dig.polygon.difference(wide))
        left = footprint if gone.is_empty else polygons(footprint.difference(gone))
        footprint = footprint if left.is_empty else left
        treads.append(Tread(i + 1, layer.name, layer.material, footprint, top, layer.thickness))
    under = ["refill"] if dig.refill is not None else []
    if laid.fabric is not None and not any(tread.kind == "geotextile" for tread in treads):
        under.append("geotextile")
    for name in (*under, "subgrade"):
        treads.append(Tread(len(treads) + 1, name, name, dig.polygon, dig.build_up, np.nan))
    return tuple(treads)


def _held(laid: Takeoff) -> Region:
    """Return how far layers go beyond the paving: up to what stands there, and not behind it."""
    dig, stands = laid.dig, laid.stands_beside
    if shapely.is_empty(stands):
        return dig.polygon
    parts = polygons(dig.polygon.difference(stands)).geoms
    return polygons(shapely.union_all([part for part in parts if part.intersects(dig.outline)]))


def parted(tread: Tread, laid: Takeoff) -> Iterator[Tread]:
    """Give a layer, and apart from it the shoulder of the edge that takes its place."""
    shoulder = laid.shoulder if tread.kind == "open-graded" else shapely.Polygon()
    stone = polygons(tread.footprint.difference(shoulder))
    beside = polygons(tread.footprint.intersection(shoulder))
    if beside.is_empty or stone.is_empty:
        yield tread
        return
    yield replace(tread, footprint=stone)
    yield replace(tread, name="shoulder of the edge", kind="dense-graded", footprint=beside)


def legend_of(treads: Sequence[Tread], laid: Takeoff, unit: Unit) -> tuple[LegendEntry, ...]:
    """Return the legend: every layer with its thickness in inches and millimetres.

    None of what is laid nowhere, where a base of something's own takes all of the area.
    """
    entries, refill = [], laid.dig.refill
    for tread in treads:
        if tread.footprint.is_empty:
            continue
        words = {
            "refill": "" if refill is None else f"up to {small(refill.greatest, unit, 8)}",
            "subgrade": "trimmed and compacted soil",
            "geotextile": "keeps soil and stone apart" if np.isnan(tread.thickness) else "",
        }.get(tread.kind) or small(tread.thickness, unit)
        look = material(tread.kind)
        colour = look.grains[1] if tread.kind == "paver" else look.colour
        entries.append(LegendEntry(tread.number, tread.name, colour, tread.thickness, words))
    return tuple(entries)
