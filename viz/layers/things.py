"""What stands on the paving and along its edge: features, edge restraint, treads of a step."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from grading.units import FOOT, INCH, Unit
from viz.layers.collect import add_solid
from viz.layers.paint import short
from viz.layers.scene import Collected, Label
from viz.layers.shell import Floats, between, polygons, triangulate
from viz.layers.solids import backfill_depth, creased, slab

if TYPE_CHECKING:
    from grading.dig import Dig
    from grading.features import Seat
    from grading.pipeline import AreaPlan, Plan
    from viz.layers.frame import Opening
    from viz.layers.shell import Region, Shape

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

TREAD = FOOT
"""Depth of the tread of a step that has several risers. [m]"""

_TOPS = {
    "gas fire feature": "embers",
    "wood fire": "embers",
    "hot tub": "tub",
    "kitchen": "cap",
    "seat wall": "cap",
}


def covered_by(plan: Plan) -> Shape:
    """Return where the site's things stand, and a little around each. [m]"""
    import shapely

    shapes = [feature.polygon for feature in plan.site.features]
    return shapely.union_all(shapes).buffer(AROUND)


def add_features(
    collected: Collected, plan: Plan, area: AreaPlan, opening: Opening, origin: Floats
) -> None:
    """Add the things that stand on an area, level, each on its wedge of bedding.

    Parameters
    ----------
    collected : Collected
    plan, area : Plan, AreaPlan
    opening : Opening
        What stands over it is left out where the layers are opened.
    origin : (3,) float
        The scene's own. [m]
    """
    from grading.features import seats_of

    for seat in seats_of(plan):
        if seat.area != area.area.name:
            continue
        shape = seat.feature.polygon
        shown = {"finished", "slice", "yard"}
        if not shape.intersects(opening.cut(0)):
            shown.add("layers")
        _add_feature(collected, area, seat, origin, tuple(sorted(shown)), plan.site.unit)


def _add_feature(
    collected: Collected, area: AreaPlan, seat: Seat, origin: Floats, shown: tuple[str, ...],
    unit: Unit,
) -> None:  # fmt: skip
    import shapely

    feature = seat.feature
    shape: Region = feature.polygon
    sheet = creased(shape, area.finish.surface, origin)
    finish = area.finish.surface.at(sheet.xy + origin[:2]) - origin[2]
    foot = float(finish.max()) + feature.bedding
    flat = np.full_like(finish, foot)
    # On a base of its own it goes down to the finish all the same; its pad lies below.
    if seat.stands == "bedding":
        wedge = between(sheet, flat, np.minimum(finish, flat))
        add_solid(collected, f"wedge under {seat.name}", "bedding sand", wedge, shown)
    else:
        add_solid(
            collected, seat.name, "block", between(sheet, flat, np.minimum(finish, flat)), shown
        )
    height = min(feature.height or UNKNOWN_HEIGHT, TALLEST)
    kind = "timber" if feature.kind == "pergola post" else "block"
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
        words += f"\nlevel on a fall of {short(seat.fall, unit)}"
    at = np.append(np.asarray(shape.representative_point().coords[0]) - origin[:2], foot + height)
    collected.labels.append(Label(words, at, "level", frozenset(shown), rank=24, stands=foot))


def add_restraint(
    collected: Collected, plan: Plan, area: AreaPlan, dig: Dig, opening: Opening, origin: Floats
) -> None:
    """Add the edge restraint along the free edges: an upright by the pavers, a plate on the base.

    It is left lying a strip farther than the pavers where the layers are opened.
    """
    import shapely

    from grading.takeoff import free_edges

    edges = free_edges(plan, area)
    if not edges:
        return
    finish, deep = area.finish.surface, backfill_depth(dig.system)
    if deep <= BELOW_TOP + 2 * PLATE:
        return
    outside = dig.polygon.difference(area.outline)

    def strip(wide: float) -> Shape:
        return polygons(shapely.union_all([e.buffer(wide) for e in edges]).intersection(outside))

    step = min(1, len(opening.corners) - 1)
    bare = opening.cut(step)
    for wide, top, thick in (
        (UPRIGHT, BELOW_TOP, deep - BELOW_TOP),
        (FOOT_WIDE, deep - PLATE, PLATE),
    ):
        whole = strip(wide)
        for region, shown in (
            (whole.difference(bare), ("layers",)),
            (whole, ("finished", "slice", "yard")),
        ):
            kept = polygons(region)
            if kept.is_empty:
                continue
            solid = slab(kept, finish, top, thick, origin, steps=False)
            add_solid(collected, "edge restraint", "edge restraint", solid, shown)


def add_treads(
    collected: Collected, plan: Plan, area: AreaPlan, region: Shape, origin: Floats
) -> None:
    """Add the treads of every step of several risers that this area is at the top or foot of."""
    views = ("layers", "finished", "slice", "yard")
    for upper, lower, line, risers in _steps(plan):
        if area.area.name not in (upper.area.name, lower.area.name):
            continue
        for number in range(1, risers):
            out = polygons(
                line.buffer((risers - number) * TREAD, cap_style="flat")
                .intersection(lower.outline)
                .intersection(region)
            )
            if out.is_empty:
                continue
            sheet = creased(out, lower.finish.surface, origin)
            xy = sheet.xy + origin[:2]
            low = lower.finish.surface.at(xy) - origin[2]
            high = upper.finish.surface.at(xy) - origin[2]
            under = low + (high - low) * (number - 1) / risers
            level = low + (high - low) * number / risers
            solid = between(sheet, np.maximum(level, under), under)
            add_solid(collected, "step", "cap", solid, views)


def _steps(plan: Plan) -> Iterator[tuple[AreaPlan, AreaPlan, Shape, int]]:
    """Yield upper and lower area, their shared edge and the number of risers of every step."""
    import shapely

    areas = {area.area.name: area for area in plan.areas}
    for group in plan.groups:
        for seam in group.group.seams:
            if seam.step is None:
                continue
            line = shapely.union_all([shapely.LineString(each) for each in seam.lines])
            yield areas[seam.upper], areas[seam.lower], line, seam.step.risers
