"""The build-up of one base system as bodies: opened like stairs, apart, whole, or only the hole."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from grading.geometry.arrays import Region
from viz.look.materials import material
from viz.scene.layers.beside import add_beside
from viz.scene.layers.tops import add_pavers, add_top
from viz.scene.layers.treads import Tread, parted
from viz.scene.setting import Setting
from viz.scene.shell import between, polygons
from viz.scene.solids import Hole, hole_over, on_floor, part_of_hole

APART = 0.52
"""How high pavers float where the layers are apart, of the side of a square as large. [ratio]"""

FABRIC = 0.004
"""How far above the subgrade geotextile is drawn. [m]"""

MANY, FEW = 800, 200
"""Grains a layer is drawn with: where it is bared, and where most of it is under the next."""

OPENED = ("layers",)
WHOLE = ("finished", "slice", "apart", "yard")
"""The views in which a layer is opened like stairs, and those in which it is whole."""


def lift_of(on: Setting, treads: Sequence[Tread], step: int) -> float:
    """Return how far a layer floats above its place where the layers are apart, drawn. [m]

    The pavers float as high on every base system, so that systems compare; the subgrade stays
    where it is, and what is between is spread evenly, clear of the rim of the hole.
    """
    if step == len(treads) - 1:
        return 0.0
    highest = APART * float(np.sqrt(on.area.outline.area))
    return on.clear + highest * (len(treads) - 1 - step) / (len(treads) - 1)


def add_stack(on: Setting, treads: Sequence[Tread]) -> Hole:
    """Add every layer opened like stairs, the finished paving, and the soil under them.

    Gives the hole that they lie in.
    """
    found, dig, laid, cut_at = on.found, on.dig, on.laid, on.opening.cut
    right = on.frame.right
    hole = hole_over(dig.clip, dig.polygon, dig.formation, on.origin)
    soil = between(hole.sheet, hole.floor, np.full_like(hole.floor, on.bottom))
    found.add_solid("subgrade", "subgrade", soil, (*OPENED, *WHOLE, "dig"))
    for step, tread in enumerate(treads):
        lift, name, kind, whole = lift_of(on, treads, step), tread.name, tread.kind, tread.footprint
        seen = whole.intersection(cut_at(step - 1)) if step else whole
        if kind == "subgrade":
            add_top(found, laid, name, kind, seen, right, hole.dug_at, OPENED, tread.number, MANY)
            continue
        cut = polygons(whole.difference(cut_at(step)))
        seen = polygons(seen.difference(cut_at(step)))
        ways = ((cut, OPENED, 0.0), (whole, WHOLE, lift))
        if kind == "refill":
            for region, shown, up in ways:
                part = part_of_hole(on.ground, dig, region, on.origin)
                found.add_solid(name, kind, part.refill, shown, up)
            continue
        if np.isnan(tread.thickness):
            _add_fabric(on, tread, seen, hole, lift)
            continue
        pieces = list(parted(tread, laid))
        depth = (tread.top, tread.thickness)
        for region, shown, up in ways:
            for piece in pieces:
                kept = _within(region, piece, pieces)
                found.add_slab(piece.name, piece.kind, kept, on.finish, depth, shown, up)
        if kind == "paver":
            add_pavers(found, laid, cut, (*OPENED, *WHOLE), lift=lift)
            add_pavers(found, laid, polygons(whole.difference(cut)), WHOLE, lift=lift)
            continue
        height = found.level(on.finish, tread.top)
        for piece in pieces:
            bared = _within(seen, piece, pieces)
            for region, shown, most, up in (
                (bared, OPENED, MANY, 0.0),
                (piece.footprint, ("apart",), FEW, lift),
            ):
                add_top(found, laid, piece.name, piece.kind, region, right, height, shown,
                        tread.number, most, up)  # fmt: skip
    add_beside(on)
    return hole


def _within(region: Region, piece: Tread, pieces: list[Tread]) -> Region:
    """Return what of a region one of the pieces of a layer takes: all of it where it is alone."""
    return region if len(pieces) == 1 else polygons(region.intersection(piece.footprint))


def _add_fabric(on: Setting, tread: Tread, seen: Region, hole: Hole, lift: float) -> None:
    """Add geotextile on the dug surface: where it is bared, and whole where layers are apart."""
    near = polygons(on.found.near(seen))
    if not near.is_empty:
        colour, mesh = [material("geotextile").colour], [on_floor(near, hole)]
        on.found.add_pattern(tread.name, "geotextile", colour, mesh, hole.dug_at, OPENED, FABRIC)
    sheet = between(hole.sheet, hole.floor + FABRIC, hole.floor + FABRIC / 2)
    on.found.add_solid(tread.name, "geotextile", sheet, ("apart",), lift)
