"""The solids of a build-up: earth between two stages of the dig, and every piece put in place."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from grading.dig.hole import Dig
from grading.geometry.facets import Surface
from viz.building.sequence import Dug, Piece, surface_of
from viz.scene.shell import EMPTY, Floats, Shape, Solid, between, joined, polygons
from viz.scene.solids import Dug as Hole
from viz.scene.solids import dug_parts, slab


def whole_hole(dig: Dig, origin: Floats) -> list[Hole]:
    """Return the whole hole of a dig about an origin, as `earth` and `piece` take it."""
    return dug_parts(dig.clip, dig.polygon, dig.formation, origin)


def level_of(hole: Hole, dug: Dug) -> Floats:
    """Return the surface at a stage of the dig at the points of a part of the hole, (n,). [m]"""
    draped = hole.draped
    return np.asarray(surface_of(draped.ground, draped.organics, hole.floor, dug))


def earth(hole: Sequence[Hole], before: Dug, after: Dug) -> Solid:
    """Return what is dug out between two stages.

    Parameters
    ----------
    hole : sequence of Hole
        All of the hole, or the part of it that is shown.
    before, after : Dug
    """
    return joined(
        [between(part.draped.sheet, level_of(part, before), level_of(part, after)) for part in hole]
    )


def left_of(hole: Sequence[Hole], dug: Dug) -> tuple[Solid, Solid]:
    """Return what is still to be dug out at a stage: the topsoil of it, and what lies below."""
    topsoil, below = [], []
    for part in hole:
        level = level_of(part, dug)
        under = np.minimum(level, part.draped.ground - part.draped.organics)
        topsoil.append(between(part.draped.sheet, level, under))
        below.append(between(part.draped.sheet, under, part.floor))
    return joined(topsoil), joined(below)


def piece(
    found: Piece,
    finish: Surface,
    hole: Sequence[Hole],
    origin: Floats,
    within: Shape | None = None,
    steps: bool = True,
) -> Solid:
    """Return a piece as a closed solid; geotextile has no volume and gives an empty one.

    Parameters
    ----------
    found : Piece
    finish : Surface
    hole : sequence of Hole
        Of the same extent as `within`.
    origin : (3,) float
        Local origin: subtracted from the result. [m]
    within : shapely polygon, optional
        The part that is shown; all of it where none is given. [m]
    steps : bool
        As for `slab`.
    """
    if found.kind == "refill":
        low, high = found.share
        return joined(
            [
                between(
                    part.draped.sheet,
                    part.floor + high * (part.level - part.floor),
                    part.floor + low * (part.level - part.floor),
                )
                for part in hole
            ]
        )
    if found.kind == "geotextile":
        return EMPTY
    footprint = found.footprint
    if within is not None:
        footprint = polygons(footprint.intersection(within))
    return slab(footprint, finish, found.top, found.thickness, origin, steps)
