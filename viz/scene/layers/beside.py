"""The earth beside the paving as it is put back: sod up to the edge, down to the lawn."""

from __future__ import annotations

import numpy as np
import shapely
from msgspec import Struct

from grading.geometry.arrays import Floats, Region
from grading.geometry.tolerances import NOTHING, THREAD
from grading.units import INCH
from viz.scene.lawn import lawns_of
from viz.scene.layers.laid import border_of
from viz.scene.layers.structures import standing_of
from viz.scene.setting import Setting
from viz.scene.shell import Shape, between, polygons
from viz.scene.solids import Hole, height_over, part_of_hole
from viz.scene.surroundings import TURF

LIP = INCH / 2
"""How far below the pavers the sod beside them lies: common practice, no source. [m]"""

APART = 0.01
"""Places nearer to each other are in touch. [m]"""

OPENED = ("layers",)
FILLED = ("finished", "slice", "yard")


class Ring(Struct, frozen=True):
    """What of a hole no paving covers, by what becomes of it. [m]

    Attributes
    ----------
    beside : shapely multipolygon
        Filled from the base up to the paving, and down to the lawn.
    beyond : shapely multipolygon
        Behind what stands there: filled up to the ground as it was.
    """

    beside: Region
    beyond: Region


def ring_of(on: Setting) -> Ring:
    """Return what is filled beside the paving of an area, and what beyond its walls and steps.

    Along a raised edge nothing is put back beside the paving: something has to stand there.
    """
    dig, outline = on.dig, on.area.outline
    free = dig.beside.difference(border_of(on.plan, on.area, dig.system.name))
    # Behind a wall the ground stays; beside a channel the sod comes up to it as to the paving.
    holding = shapely.union_all([each.stands for each in on.laid.structures])
    parts = polygons(free.difference(holding), THREAD).geoms
    near, standing = outline.buffer(APART), standing_of(on.laid.structures)
    touching, beyond = (
        shapely.union_all([part for part in parts if part.intersects(near) == at]).difference(
            standing
        )
        for at in (True, False)
    )
    far = shapely.get_coordinates(dig.polygon)
    reach = float(shapely.distance(shapely.points(far), outline).max()) + APART
    edges = shapely.line_merge(shapely.union_all(on.area.raised_edges))
    raised = edges.buffer(reach, cap_style="flat", join_style="mitre")
    return Ring(polygons(touching.difference(raised)), polygons(beyond))


def add_beside(on: Setting) -> None:
    """Add the soil that is put back beside the paving, under sod that meets paving and lawn."""
    add_filled(on, shapely.difference(on.dig.polygon, on.opening.cut(0)), OPENED)
    add_filled(on, on.dig.polygon, FILLED)


def add_filled(on: Setting, within: Shape, views: tuple[str, ...]) -> None:
    """Add soil and sod as they are put back, within a region, to some views."""
    ring = ring_of(on)
    for part, filled in ((ring.beside, _up_to_paving), (ring.beyond, _up_to_ground)):
        kept = polygons(part.intersection(within))
        if kept.is_empty:
            continue
        hole = part_of_hole(on.ground, on.dig, kept, on.origin)
        top, bottom = filled(on, hole)
        skin = np.maximum(top - TURF, bottom)
        found = on.found
        soil = between(hole.sheet, skin, bottom)
        found.add_solid("backfill", "backfill", soil, views, edged=False)
        sod = between(hole.sheet, top, skin)
        found.add_solid("turf", "turf", sod, views, edged=False)
        height = height_over(hole.sheet, top)
        found.add_grains("turf", "turf", found.near(kept), height, views, 99, over=0.006)


def _up_to_ground(on: Setting, hole: Hole) -> tuple[Floats, Floats]:
    return np.maximum(hole.ground, hole.floor), hole.floor


def _up_to_paving(on: Setting, hole: Hole) -> tuple[Floats, Floats]:
    """Return the top of the sod and the bottom of the soil under it, (n,) each. [m]"""
    xy = hole.sheet.xy + on.origin[:2]
    level = on.finish.at(xy) - on.origin[2]
    bottom = level - on.dig.system.above_edge
    share = _towards_lawn(on, xy)
    lawn = hole.ground
    for where, left in lawns_of(on.plan):
        # Sod goes down to lawn that is regraded beside the hole, where there is some.
        near = shapely.intersects_xy(
            shapely.buffer(where, on.dig.system.over_dig(on.plan.limits) + APART), xy
        )
        lawn = np.where(near, left(xy) - on.origin[2], lawn)
    top = (1 - share) * (level - LIP) + share * lawn
    return np.maximum(top, bottom), bottom


def _towards_lawn(on: Setting, xy: Floats) -> Floats:
    """Return how far points lie from the paving to the lawn: 0 to 1, 0 where no lawn is near."""
    lawn = _lawn_edge(on)
    if lawn.is_empty:
        return np.zeros(len(xy))
    points = shapely.points(xy)
    inner = shapely.distance(points, on.area.outline)
    outer = shapely.distance(points, lawn)
    return np.asarray(inner / np.maximum(inner + outer, NOTHING))


def _lawn_edge(on: Setting) -> Shape:
    """Return where the hole ends at lawn that stays as it is. [m]"""
    plan, area = on.plan, on.area
    kept: list[Shape] = [area.outline, *(each.polygon for each in area.pockets)]
    kept += [other.outline for other in plan.areas if other is not area]
    edge: Shape = on.dig.polygon.boundary
    reach = 2 * edge.length
    if plan.site.house is not None:
        kept.append(plan.site.house.polygon(reach))
    return edge.difference(shapely.union_all(kept).buffer(APART))
