"""The wedge of bedding under a level thing that stands on falling paving.

The pavers are cut round the thing: its wedge lies on what carries them, and is as thick there as
it would be under the finish, since every layer falls alike.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import shapely

from grading.units import slope
from viz.drawings.compose import Sheet, View
from viz.drawings.detail_cuts import captioned, height
from viz.drawings.drawing import CUT, FINE, HIDDEN, OUTLINE, THIN, Drawing
from viz.drawings.figures import run, small
from viz.drawings.lettering import block, fold
from viz.drawings.paper import Box, scales

_SIZE = 2.2
_BESIDE = 0.1  # m of paving shown on either side
_TALL = 0.16  # m shown of the thing, whose height the drawing does not need
AROUND = 18.0  # mm beside it for the thickness at either end
_THINNEST = 0.001  # m


def draw_wedge(sheet: Sheet, box: Box, area: Any, seat: Any, unit: str) -> View:
    """Draw one thing seen square to the fall, so that the finish is a line, into its box.

    Where the finish has one plane under the thing the picture is exact: the wedge is as thick as
    the plan says at either end.
    """
    middle = np.array(seat.feature.polygon.centroid.coords[0])
    surface = area.finish.surface
    plane = surface.planes[int(surface.facet_at(middle[None])[0])]
    way = np.asarray(plane.downhill, float) if plane.fall > 1e-9 else np.array([1.0, 0.0])
    s = (shapely.get_coordinates(seat.feature.polygon) - middle) @ way
    first, last = float(s.min()), float(s.max())
    home = float(plane.at(middle[None])[0])

    def finish(at: float) -> float:
        return home - float(plane.fall) * at

    paver = float(sum(e.thickness for e in area.chosen_dig.system.layers if e.role == "paver"))

    def carried(at: float) -> float:
        return finish(at) - paver

    under = carried(first) + seat.wedge.least
    tall = paver + min(seat.feature.height or _TALL, _TALL)
    low, high = first - _BESIDE, last + _BESIDE
    thick = area.chosen_dig.build_up
    floor, roof = finish(high) - min(thick, 0.16) - 0.03, max(under + tall, finish(low)) + 0.05
    own = seat.own_base
    if own is not None and "own base" in (seat.advised, seat.stands):
        floor = min(floor, own.bottom - 0.02)
    room = box.width - 2 * AROUND, box.height - 34.0
    scale = scales(unit)[-1]
    for scale in scales(unit):
        fits = scale.mm(high - low) <= room[0] and scale.mm(roof - floor) <= room[1]
        if fits and scale.ratio >= 4:
            break
    x = box.x0 + (box.width - scale.mm(high - low)) / 2
    y = box.y0 + 26.0 + (box.height - 34.0 - scale.mm(roof - floor)) / 2
    view = View(Drawing(seat.name), scale, (x - scale.mm(low), y - scale.mm(floor)))
    sheet.views.append(view)
    _body(view, area, finish, (low, high), floor)
    _thing(view, seat, carried, (first, last), under, tall)
    _measured(view, seat, carried, (first, last), under, floor, unit)
    _own_base(view, seat, middle, way, unit)
    _said(sheet, box, seat, plane, y - 9.0, unit)
    captioned(sheet, box, view, y - 25.0, f"Under the {seat.name}", unit)
    return view


def _body(view: View, area: Any, finish: Any, span: tuple[float, float], floor: float) -> None:
    """The layers under the finish, as deep as the picture goes."""
    low, high = span
    frame = shapely.box(low, floor, high, 1e6)
    below = 0.0
    for layer in area.chosen_dig.system.layers:
        deep = below + layer.thickness
        ring = [(low, finish(low) - below), (high, finish(high) - below),
                (high, finish(high) - deep), (low, finish(low) - deep)]  # fmt: skip
        view.drawing.area(shapely.Polygon(ring).intersection(frame), layer.material,
                          layer=layer.name)  # fmt: skip
        below = deep
    view.drawing.line([(low, finish(low)), (high, finish(high))], CUT, "finish line")


def _thing(
    view: View, seat: Any, carried: Any, span: tuple[float, float], under: float, tall: float
) -> None:
    first, last = span
    draw = view.drawing
    if seat.wedge.greatest > _THINNEST:
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
    view: View, seat: Any, carried: Any, span: tuple[float, float], under: float, floor: float,
    unit: str,
) -> None:  # fmt: skip
    """Length along the fall, and the thickness of the wedge at both ends."""
    first, last = span
    draw = view.drawing
    below = -view.scale.mm(carried(last) - floor) - 4.0
    draw.dimension((first, carried(first)), (last, carried(last)), run(last - first, unit),
                   offset=below, along=(1.0, 0.0), size=_SIZE)  # fmt: skip
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


def _own_base(view: View, seat: Any, middle: Any, way: Any, unit: str) -> None:
    """The level base of its own, dashed, where that is what is advised or planned."""
    own = seat.own_base
    if own is None or "own base" not in (seat.advised, seat.stands):
        return
    s = (shapely.get_coordinates(own.pad) - middle) @ way
    pad = shapely.box(float(s.min()), own.bottom, float(s.max()), own.top)
    view.drawing.lines(pad.boundary, HIDDEN, "own base")


def _said(sheet: Sheet, box: Box, seat: Any, plane: Any, y: float, unit: str) -> None:
    verdict = "more than" if seat.too_thick else "within"
    words = (
        f"Finish falls {slope(plane.fall)}, {small(seat.fall, unit)} under it. Wedge of bedding "
        f"{small(seat.wedge.least, unit)} to {small(seat.wedge.greatest, unit)} thick, {verdict} "
        f"the {small(seat.limit, unit)} allowed; pavers are cut round it."
    )
    if seat.own_base is not None and "own base" in (seat.advised, seat.stands):
        own = seat.own_base
        words += f" Base of its own (dashed): {small(own.top - own.bottom, unit)} thick, level."
    words += f" Advised: {seat.advised}; planned: {seat.stands}."
    sheet.paper.text((box.x0, y), fold(words, _SIZE, box.width - 2), size=_SIZE,
                     across="left", up="top", layer="wedge")  # fmt: skip
