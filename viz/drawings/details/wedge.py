"""What a level thing stands on where the paving falls: a wedge of bedding, or a base of its own.

The pavers are cut round the thing: its wedge lies on what carries them, and is as thick there as
it would be under the finish, since every layer falls alike. A base of its own is level: the
pavers end at the thing, and what lies below them ends beside its base.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import shapely
from msgspec.structs import replace
from shapely.geometry.base import BaseGeometry

from grading.conditions.seats import Seat, stands_words, why_words
from grading.design.area import AreaPlan
from grading.geometry.arrays import Floats
from grading.geometry.plane import Plane
from grading.geometry.tolerances import FLAT
from grading.section.standing import FILL
from grading.units import Unit, slope
from viz.drawings.details.cuts import CAPTION_ROW, caption_rows, captioned, height
from viz.paper.compose import Sheet, View
from viz.paper.drawing import CUT, FINE, HIDDEN, OUTLINE, THIN, Drawing
from viz.paper.lettering import block, fold
from viz.paper.page import Box, fitting_scale
from viz.words.figures import run, small

Level = Callable[[float], float]  # distance along the fall to a level [m]

_SIZE = 2.2
_BESIDE = 0.1  # m of paving shown on either side
_TALL = 0.16  # m shown of the thing, whose height the drawing does not need
AROUND = 18.0  # mm beside it for the thickness at either end
_THINNEST = 0.001  # m


def draw_wedge(sheet: Sheet, box: Box, area: AreaPlan, seat: Seat, unit: Unit) -> View:
    """Draw one thing seen square to the fall, so that the finish is a line, into its box.

    Where the finish has one plane under the thing the picture is exact: the wedge is as thick as
    the plan says at either end.
    """
    middle = np.array(seat.feature.polygon.centroid.coords[0])
    surface = area.finish.surface
    plane = surface.planes[int(surface.facet_at(middle[None])[0])]
    way = np.asarray(plane.downhill, float) if plane.fall > FLAT else np.array([1.0, 0.0])
    s = (shapely.get_coordinates(seat.feature.polygon) - middle) @ way
    first, last = float(s.min()), float(s.max())
    home = float(plane.at(middle[None])[0])

    def finish(at: float) -> float:
        return home - plane.fall * at

    paver = _paver(area)

    def carried(at: float) -> float:
        return finish(at) - paver

    under = _stands_at(seat, finish(last), carried(first))
    shown = min(seat.feature.height or _TALL, _TALL)
    tall = shown + (max(finish(first) - under, 0.0) if _on_its_own(seat) else paver)
    low, high = first - _BESIDE, last + _BESIDE
    thick = area.chosen_dig.build_up
    floor, roof = finish(high) - min(thick, 0.16) - 0.03, max(under + tall, finish(low)) + 0.05
    pad = _pad(seat, middle, way)
    if not pad.is_empty:
        a, deep, b, _ = pad.bounds
        floor, low, high = min(floor, deep - 0.02), min(low, a - _BESIDE), max(high, b + _BESIDE)
    room = box.width - 2 * AROUND, box.height - 34.0
    scale = fitting_scale(unit, high - low, roof - floor, room, at_most=4)
    x = box.x0 + (box.width - scale.mm(high - low)) / 2
    name = f"Under the {seat.name}"
    single = caption_rows(box, name, f"{scale.words}, true scale")[2]
    foot = 26.0 if single else 26.0 + 2 * CAPTION_ROW
    y = box.y0 + foot + (box.height - 34.0 - scale.mm(roof - floor)) / 2
    view = View(Drawing(seat.name), scale, (x - scale.mm(low), y - scale.mm(floor)))
    sheet.views.append(view)
    stood = shapely.box(first, -1e6, last, 1e6) if _on_its_own(seat) else shapely.Polygon()
    # A dashed base leaves nothing out.
    base = pad if _on_its_own(seat) else shapely.Polygon()
    if not base.is_empty:
        _fill(view, area, finish, base, stood)
    _own_base(view, seat, pad)
    _body(view, area, finish, (low, high), floor, stood, base)
    _thing(view, seat, carried, (first, last), under, tall)
    _measured(view, seat, carried, (first, last), under, floor, pad, unit)
    _said(sheet, box, seat, plane, y - 9.0, unit)
    captioned(sheet, box, view, y - foot + 1.0, name, unit)
    return view


def _paver(area: AreaPlan) -> float:
    """Return how thick the pavers are that a thing is cut out of. [m]"""
    layers = area.chosen_dig.system.layers
    return float(sum(layer.thickness for layer in layers if layer.role == "paver"))


def _on_its_own(seat: Seat) -> bool:
    """Return whether it is planned on a base of its own, not on bedding."""
    return bool(seat.stands == "own base")


def _stands_at(seat: Seat, lowest: float, carried: float) -> float:
    """Return the level that it stands at: on its own base, or on its wedge. [m]

    Where nobody has said how deep its own base goes it is shown from the lowest finish up.
    """
    if not _on_its_own(seat):
        return carried + float(seat.wedge.least)
    return lowest if seat.own_base is None else float(seat.own_base.top)


def _pad(seat: Seat, middle: Floats, way: Floats) -> shapely.Polygon:
    """Return the base of its own in the picture, where that is what is advised or planned. [m]"""
    own = seat.own_base
    if own is None or "own base" not in (seat.advised, seat.stands):
        return shapely.Polygon()
    s = (shapely.get_coordinates(own.pad) - middle) @ way
    return shapely.box(float(s.min()), own.bottom, float(s.max()), own.top)


def _fill(
    view: View, area: AreaPlan, finish: Level, base: BaseGeometry, foot: BaseGeometry
) -> None:
    """The stone that fills in over a base of its own, up to the pavers, and down to the dig."""
    paver, deep = _paver(area), area.chosen_dig.build_up
    a, _, b, top = base.bounds
    ring = [(a, finish(a) - paver), (b, finish(b) - paver), (b, finish(b) - deep),
            (a, finish(a) - deep)]  # fmt: skip
    body = foot.intersection(shapely.box(a, top, b, 1e6))
    shape = shapely.Polygon(ring).difference(base.union(body))
    view.drawing.area(shape, FILL, layer="fill round a base")


def _body(
    view: View, area: AreaPlan, finish: Level, span: tuple[float, float], floor: float,
    foot: BaseGeometry, base: BaseGeometry,
) -> None:  # fmt: skip
    """The layers under the finish, as deep as the picture goes.

    The pavers are left out at a thing on a base of its own, what lies below them over that base.
    """
    low, high = span
    whole = shapely.box(low, floor, high, 1e6)
    column = shapely.Polygon()
    if not base.is_empty:
        column = shapely.box(base.bounds[0], -1e6, base.bounds[2], 1e6)
    below = 0.0
    for layer in area.chosen_dig.system.layers:
        deep = below + layer.thickness
        ring = [(low, finish(low) - below), (high, finish(high) - below),
                (high, finish(high) - deep), (low, finish(low) - deep)]  # fmt: skip
        frame = whole.difference(foot if layer.role == "paver" else foot.union(column))
        view.drawing.area(shapely.Polygon(ring).intersection(frame), layer.material,
                          layer=layer.name)  # fmt: skip
        below = deep
    top = shapely.LineString([(low, finish(low)), (high, finish(high))])
    view.drawing.lines(top.difference(foot), CUT, "finish line")


def _thing(
    view: View, seat: Seat, carried: Level, span: tuple[float, float], under: float, tall: float
) -> None:
    first, last = span
    draw = view.drawing
    if seat.wedge.greatest > _THINNEST and not _on_its_own(seat):
        ring = [(first, carried(first)), (last, carried(last)), (last, under), (first, under)]
        draw.area(shapely.Polygon(ring), "bedding sand", pen=THIN, layer="wedge")
    body = shapely.box(first, under, last, under + tall)
    draw.area(body, fill="#ffffff", layer="thing")
    draw.line([(first, under + tall), (first, under), (last, under), (last, under + tall)],
              OUTLINE, "thing")  # fmt: skip
    draw.line([(first, under + tall), (last, under + tall)], HIDDEN, "thing")
    room, size = view.scale.mm(last - first) - 3.0, 2.4
    words = fold(f"{seat.name}, level", size, room)
    while block(words, size)[0] > room or block(words, size)[1] > view.scale.mm(tall) - 0.6:
        size -= 0.1
        words = fold(f"{seat.name}, level", size, room)
        if size < 1.5:
            words, size = "level", 2.2
            break
    draw.text(((first + last) / 2, under + tall / 2), words, size=size, layer="thing")


def _measured(
    view: View, seat: Seat, carried: Level, span: tuple[float, float], under: float, floor: float,
    pad: BaseGeometry, unit: Unit,
) -> None:  # fmt: skip
    """Length along the fall, and how thick at both ends what it stands on is."""
    first, last = span
    draw = view.drawing
    own = _on_its_own(seat)
    feet = (under, under) if own else (carried(first), carried(last))
    below = -view.scale.mm(feet[1] - floor) - 4.0
    words = f"{run(last - first, unit)} along the fall"
    draw.dimension((first, feet[0]), (last, feet[1]), words, offset=below, along=(1.0, 0.0),
                   size=_SIZE)  # fmt: skip
    if own:
        if not pad.is_empty:
            _, low, edge, high = pad.bounds
            at = edge + view.scale.metres(3.0)
            for z in (low, high):
                draw.line([(edge, z), (at + view.scale.metres(0.8), z)], FINE, "extension")
            height(view, at, low, high, small(high - low, unit).replace(" (", "\n("), 1.0)
        return
    for s, thick, side in ((first, seat.wedge.least, -1.0), (last, seat.wedge.greatest, 1.0)):
        at = s + side * (_BESIDE + view.scale.metres(3.0))
        for z in (carried(s), under):
            draw.line([(s, z), (at + side * view.scale.metres(0.8), z)], FINE, "extension")
        words = small(thick, unit).replace(" (", "\n(")
        if thick > _THINNEST:
            height(view, at, carried(s), under, words, side)
        else:
            draw.text((at, under), words, size=2.4, bold=True, shift=(0.0, 5.0),
                      across="right" if side < 0 else "left", layer="height")  # fmt: skip


def _own_base(view: View, seat: Seat, pad: BaseGeometry) -> None:
    """The level base of its own: as planned, or dashed where it is only advised."""
    if pad.is_empty:
        return
    if _on_its_own(seat):
        view.drawing.area(pad, seat.base_material, pen=OUTLINE, layer="own base")
        return
    view.drawing.lines(pad.boundary, HIDDEN, "own base")


def _said(sheet: Sheet, box: Box, seat: Seat, plane: Plane, y: float, unit: Unit) -> None:
    verdict = "more than" if seat.too_thick else "within"
    wedge = f"{small(seat.wedge.least, unit)} to {small(seat.wedge.greatest, unit)} thick"
    allowed = f"{verdict} the {small(seat.limit, unit)} allowed"
    own = seat.own_base
    thick = "" if own is None else f"{small(own.top - own.bottom, unit)} thick"
    words = f"Finish falls {slope(plane.fall, unit)}, {small(seat.fall, unit)} under it. "
    if _on_its_own(seat):
        deep = thick or "how deep is given by neither the site nor its frost"
        words += (
            f"Base of its own: level, {deep}; the pavers end at the {seat.name}, what lies below "
            f"them round its base. On bedding its wedge would be {wedge}, {allowed}."
        )
    else:
        words += f"Wedge of bedding {wedge}, {allowed}; pavers are cut round it."
        if thick and seat.advised == "own base":
            words += f" Base of its own (dashed): {thick}, level."
    words += f" It stands {stands_words(seat)}"
    # That its wedge is too thick, or is not, is said already.
    more = [each for each in seat.why if each != "wedge"]
    words += f": {why_words(replace(seat, why=tuple(more)), unit)}." if more else "."
    sheet.paper.paragraph((box.x0, y), fold(words, _SIZE, box.width - 2), size=_SIZE, layer="wedge")
