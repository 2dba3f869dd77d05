"""What stands on the paving and along its edge: features, edge restraint, treads of a step."""

from __future__ import annotations

import numpy as np
import shapely

from grading.conditions.seats import Seat
from grading.dig.edge_sections import Edging
from grading.geometry.arrays import Region
from grading.order.restrained import restrained_edges
from grading.pipeline import Plan
from grading.units import FOOT, INCH, size
from viz.scene.layers.structures import holds
from viz.scene.setting import Setting
from viz.scene.shell import Shape, between, polygons, triangulate
from viz.scene.solids import creased
from viz.words.paving.edging import RAISED

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


def add_features(on: Setting) -> None:
    """Add what stands on the paving; over the opening it is left out where that is opened."""
    for seat, own in on.seats():
        shown = {"finished", "slice", "yard"}
        if not seat.feature.polygon.intersects(on.opening.cut(0)):
            shown.add("layers")
        _add_feature(on, seat, tuple(sorted(shown)), on.paver if own else 0.0)


def _add_feature(on: Setting, seat: Seat, shown: tuple[str, ...], sunk: float) -> None:
    """Add one thing, `sunk` so far below the finish: on its own base it has no paver under it."""
    feature, found, origin = seat.feature, on.found, on.origin
    shape: Region = feature.polygon
    sheet = creased(shape, on.finish, origin)
    finish = found.level(on.finish)(sheet.xy)
    foot = float(finish.max()) + feature.bedding
    flat = np.full_like(finish, foot)
    height = min(feature.height or UNKNOWN_HEIGHT, TALLEST)
    kind = "timber" if feature.kind == "pergola post" else "block"
    # On bedding its wedge lies under the pavers, which are cut round it: its foot is what shows.
    foot_of_it = between(sheet, flat, np.minimum(finish - sunk, flat))
    found.add_solid(f"foot of {seat.name}", kind, foot_of_it, shown)
    top = _TOPS.get(feature.kind)
    cap = min(CAP_STONE, height / 3) if top else 0.0
    body = between(sheet, flat + height - cap, flat)
    found.add_solid(seat.name, kind, body, shown, stands=foot)
    if top:
        upper = between(sheet, flat + height, flat + height - cap)
        found.add_solid(seat.name, "cap", upper, shown, stands=foot)
    inner = shape.buffer(-4 * INCH, join_style="mitre")
    if top in ("embers", "tub") and not inner.is_empty:
        bed, _ = triangulate(found.near(polygons(inner)))
        level = np.full(len(bed.xy), foot + height)
        found.add_solid(seat.name, top, between(bed, level + 0.01, level), shown, stands=foot)
    words = seat.name if feature.height else f"{seat.name}\nheight not given"
    if seat.fall > INCH / 8:
        words += f"\nlevel on a fall of {size(seat.fall, on.unit)}"
    at = np.append(np.asarray(shape.representative_point().coords[0]) - origin[:2], foot + height)
    found.add_label(words, at, "level", shown, 24, stands=foot)


def add_restraint(on: Setting) -> None:
    """Add the edge where it is ordered: plastic, an upright by the pavers and a plate; or concrete.

    It is left lying a strip farther than the pavers where the layers are opened. A raised edge
    is a wall's or a slope's to hold: there a label says so.
    """
    dig, opening = on.dig, on.opening
    built = on.laid.structures
    _add_holder(on, tuple(edge for edge in on.area.raised_edges if not holds(built, edge)))
    edges = restrained_edges(on.plan, on.area, dig.system.name)
    how = on.area.edging(dig.system.name)
    if not edges or (how.fixing != "concrete" and dig.system.above_edge <= BELOW_TOP + 2 * PLATE):
        return
    outside = dig.polygon.difference(on.area.outline)

    def strip(wide: float) -> Shape:
        return polygons(shapely.union_all([e.buffer(wide) for e in edges]).intersection(outside))

    bare = opening.cut(min(1, len(opening.corners) - 1))
    for name, kind, near, wide, top, thick in _parts(how):
        whole = polygons(strip(wide).difference(strip(near))) if near else strip(wide)
        for region, shown in (
            (whole.difference(bare), ("layers",)),
            (whole, ("finished", "slice", "yard")),
        ):
            on.found.add_slab(name, kind, region, on.finish, (top, thick), shown)


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


def _add_holder(on: Setting, raised: tuple[shapely.LineString, ...]) -> None:
    """Say on the face of the raised edge nearest the eye that something has to hold it."""
    if not raised:
        return
    faces = [shapely.intersection(on.dig.polygon.boundary, edge.buffer(1.0)) for edge in raised]
    face = shapely.segmentize(shapely.union_all(faces), HELD_EVERY)
    if face.is_empty:
        face = shapely.segmentize(shapely.union_all(raised), HELD_EVERY)
    for shown, part in (
        (("finished", "yard"), face),
        (("layers",), face.difference(on.opening.cut(0))),
    ):
        points = shapely.get_coordinates(part)
        if not len(points):
            continue
        local = on.frame.local(points)
        # Near the eye, and to the left, where an opened corner is not.
        xy = points[int(np.argmax(local[:, 1] - 0.5 * local[:, 0]))]
        z = float(on.finish.at(xy[None])[0]) - HELD_BELOW
        words = f"{RAISED}: a wall or slope\nholds it, designed separately"
        on.found.add_label(words, np.append(xy, z) - on.origin, "level", shown, 9, RAISED)
