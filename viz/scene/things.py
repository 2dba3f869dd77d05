"""What stands on the paving and along its edge: features, edge restraint, treads of a step."""

from __future__ import annotations

import numpy as np
import shapely

from grading.catalogue.rules import Limits
from grading.conditions.features import Seat, seats_of, stands_on
from grading.design.area import AreaPlan
from grading.dig.hole import Dig
from grading.order.takeoff import restrained_edges
from grading.pipeline import Plan
from grading.units import FOOT, INCH, Unit, size
from viz.scene.collect import add_solid
from viz.scene.frame import Opening
from viz.scene.model import Collected, Label
from viz.scene.shell import Floats, Region, Shape, between, polygons, triangulate
from viz.scene.solids import backfill_depth, creased, slab
from viz.words.edges import shared_edges, tread_level, treads_of
from viz.words.edging import RAISED, Edging, edging_of, raised_edges

UNKNOWN_HEIGHT = FOOT
"""A thing whose height the site does not give is drawn so high, and its label says so. [m]"""

AROUND = 0.3
"""Paving so near to a thing is hidden behind it, or in its shade. [m]"""

TALLEST = 6 * FOOT
"""A post is cut off at this height. [m]"""

CAP_STONE = 2 * INCH
"""Thickness of the top of a wall, a fire or a kitchen. [m]"""

UPRIGHT, PLATE, FOOT_WIDE = 0.25 * INCH, 0.2 * INCH, 2.5 * INCH
"""Edge restraint: thickness of its upright leg and of its plate, and how wide the plate is. [m]"""

BELOW_TOP = 0.75 * INCH
"""How far the top of the edge restraint stays below the pavers. [m]"""

HELD_EVERY, HELD_BELOW = FOOT, 5 * INCH
"""How often a raised edge is looked at, and how low its label is. [m]"""

_TOPS = {
    "gas fire feature": "embers",
    "wood fire": "embers",
    "hot tub": "tub",
    "kitchen": "cap",
    "seat wall": "cap",
}


def covered_by(plan: Plan) -> Shape:
    """Return where the site's things stand, and a little around each. [m]"""

    shapes = [feature.polygon for feature in plan.site.features]
    return shapely.union_all(shapes).buffer(AROUND)


def add_features(
    collected: Collected, plan: Plan, area: AreaPlan, dig: Dig, opening: Opening, origin: Floats
) -> None:
    """Add the things that stand on an area, level, each down to the paving that falls under it.

    Parameters
    ----------
    collected : Collected
    plan, area, dig : Plan, AreaPlan, Dig
    opening : Opening
        What stands over it is left out where the layers are opened.
    origin : (3,) float
        The scene's own. [m]
    """

    for seat in seats_of(plan):
        if seat.area != area.area.name:
            continue
        shape = seat.feature.polygon
        shown = {"finished", "slice", "yard"}
        if not shape.intersects(opening.cut(0)):
            shown.add("layers")
        own = stands_on(plan, area, seat.feature, dig.system.name) == "own base"
        paver = sum(layer.thickness for layer in dig.system.layers if layer.role == "paver")
        _add_feature(
            collected, area, seat, origin, tuple(sorted(shown)), plan.site.unit,
            paver if own else 0.0,
        )  # fmt: skip


def _add_feature(
    collected: Collected, area: AreaPlan, seat: Seat, origin: Floats, shown: tuple[str, ...],
    unit: Unit, sunk: float,
) -> None:  # fmt: skip
    """Add one thing, `sunk` so far below the finish: on its own base it has no paver under it."""

    feature = seat.feature
    shape: Region = feature.polygon
    sheet = creased(shape, area.finish.surface, origin)
    finish = area.finish.surface.at(sheet.xy + origin[:2]) - origin[2]
    foot = float(finish.max()) + feature.bedding
    flat = np.full_like(finish, foot)
    height = min(feature.height or UNKNOWN_HEIGHT, TALLEST)
    kind = "timber" if feature.kind == "pergola post" else "block"
    # On bedding its wedge lies under the pavers, which are cut round it: its foot is what shows.
    foot_of_it = between(sheet, flat, np.minimum(finish - sunk, flat))
    add_solid(collected, f"foot of {seat.name}", kind, foot_of_it, shown)
    top = _TOPS.get(feature.kind)
    cap = min(CAP_STONE, height / 3) if top else 0.0
    body = between(sheet, flat + height - cap, flat)
    add_solid(collected, seat.name, kind, body, shown, stands=foot)
    if top:
        upper = between(sheet, flat + height, flat + height - cap)
        add_solid(collected, seat.name, "cap", upper, shown, stands=foot)
    inner = shape.buffer(-4 * INCH, join_style="mitre")
    if top in ("embers", "tub") and not inner.is_empty:
        near = shapely.transform(polygons(inner), lambda xy: xy - origin[:2])
        bed, _ = triangulate(near)
        level = np.full(len(bed.xy), foot + height)
        add_solid(collected, seat.name, top, between(bed, level + 0.01, level), shown, stands=foot)
    words = seat.name if feature.height else f"{seat.name}\nheight not given"
    if seat.fall > INCH / 8:
        words += f"\nlevel on a fall of {size(seat.fall, unit)}"
    at = np.append(np.asarray(shape.representative_point().coords[0]) - origin[:2], foot + height)
    collected.labels.append(Label(words, at, "level", frozenset(shown), rank=24, stands=foot))


def add_restraint(
    collected: Collected, plan: Plan, area: AreaPlan, dig: Dig, opening: Opening, origin: Floats
) -> None:
    """Add the edge where it is ordered: plastic, an upright by the pavers and a plate; or concrete.

    It is left lying a strip farther than the pavers where the layers are opened. A raised edge
    is a wall's or a slope's to hold: there a label says so.
    """

    raised, edges = raised_edges(plan, area), restrained_edges(plan, area, dig.system.name)
    _add_holder(collected, area, dig, raised, opening, origin)
    if not edges:
        return
    finish, deep = area.finish.surface, backfill_depth(dig.system)
    how = edging_of(dig.system, Limits(plan.site.limits))
    if how.fixing != "concrete" and deep <= BELOW_TOP + 2 * PLATE:
        return
    outside = dig.polygon.difference(area.outline)

    def strip(wide: float) -> Shape:
        return polygons(shapely.union_all([e.buffer(wide) for e in edges]).intersection(outside))

    step = min(1, len(opening.corners) - 1)
    bare = opening.cut(step)
    for name, kind, near, wide, top, thick in _parts(how):
        whole = polygons(strip(wide).difference(strip(near))) if near else strip(wide)
        for region, shown in (
            (whole.difference(bare), ("layers",)),
            (whole, ("finished", "slice", "yard")),
        ):
            kept = polygons(region)
            if kept.is_empty or thick <= 0:
                continue
            solid = slab(kept, finish, top, thick, origin, steps=False)
            add_solid(collected, name, kind, solid, shown)


def _parts(how: Edging) -> tuple[tuple[str, str, float, float, float, float], ...]:
    """Return the strips of an edge: name, what it is of, from and to where, its top, its height.

    Outward from the paving and down from the finish. [m]
    """
    deep = how.deep
    if how.fixing == "concrete":
        parts = [("edge of concrete", "concrete", how.unit, how.wide, how.top, deep - how.top)]
        if how.unit:
            parts.append(("border units", "block", 0.0, how.unit, 0.0, how.tall))
            parts.append(("edge of concrete", "concrete", 0.0, how.unit, how.tall, deep - how.tall))
        return tuple(parts)
    plastic = "edge restraint"
    return (
        (plastic, plastic, 0.0, UPRIGHT, BELOW_TOP, deep - BELOW_TOP),
        (plastic, plastic, 0.0, FOOT_WIDE, deep - PLATE, PLATE),
    )


def _add_holder(
    collected: Collected, area: AreaPlan, dig: Dig, raised: tuple[Shape, ...], opening: Opening,
    origin: Floats,
) -> None:  # fmt: skip
    """Say on the face of the raised edge nearest the eye that something has to hold it."""

    if not raised:
        return
    faces = [shapely.intersection(dig.polygon.boundary, edge.buffer(1.0)) for edge in raised]
    face = shapely.segmentize(shapely.union_all(faces), HELD_EVERY)
    if face.is_empty:
        face = shapely.segmentize(shapely.union_all(raised), HELD_EVERY)
    cut = opening.cut(0)
    for shown, points in (
        (("finished", "yard"), shapely.get_coordinates(face)),
        (("layers",), shapely.get_coordinates(face.difference(cut))),
    ):
        if not len(points):
            continue
        local = opening.frame.local(points)
        # Near the eye, and to the left, where an opened corner is not.
        xy = points[int(np.argmax(local[:, 1] - 0.5 * local[:, 0]))]
        z = float(area.finish.surface.at(xy[None])[0]) - HELD_BELOW
        at = np.append(xy, z) - origin
        words = f"{RAISED}: a wall or slope\nholds it, designed separately"
        label = Label(words, at, "level", frozenset(shown), rank=9, brief=RAISED)
        collected.labels.append(label)


def add_treads(
    collected: Collected, plan: Plan, area: AreaPlan, region: Shape, origin: Floats
) -> None:
    """Add the treads of every step of several risers that this area is at the top or foot of."""
    views = ("layers", "finished", "slice", "yard")
    areas = {each.area.name: each for each in plan.areas}
    for edge in shared_edges(plan):
        if area.area.name not in (edge.upper, edge.lower):
            continue
        upper, lower = areas[edge.upper], areas[edge.lower]
        for number, shape in treads_of(edge, lower):
            out = polygons(shape.intersection(region))
            if out.is_empty:
                continue
            sheet = creased(out, lower.finish.surface, origin)
            xy = sheet.xy + origin[:2]
            low = lower.finish.surface.at(xy) - origin[2]
            high = upper.finish.surface.at(xy) - origin[2]
            under = tread_level(edge, number - 1, low, high)
            level = tread_level(edge, number, low, high)
            solid = between(sheet, np.maximum(level, under), under)
            add_solid(collected, "step", "cap", solid, views)
