"""What is walked on and what lies under it: the pattern from above, and the layers, to scale."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely

from grading.dig.beds import Bed, beds_of, depth_of
from grading.dig.hole import Dig
from grading.site.paver_table import Pavers
from grading.units import Unit
from viz.paper.compose import Sheet, View
from viz.paper.drawing import FINE, OUTLINE, THIN, Drawing, Pen
from viz.paper.furniture import scale_bar
from viz.paper.hatch import TONES
from viz.paper.lettering import block, extent, fold, spread
from viz.paper.page import Box, Page, Scale, fitting_scale, scales
from viz.words.beds import mean_words, thick_words
from viz.words.figures import small
from viz.words.plain import layer_words

WIDE, HIGH = 182.0, 53.0  # mm
SOIL = 0.06  # m of soil shown below the layers
_PATTERN = 60.0  # mm: width of the pattern
_FOOT = 9.0  # mm: scale bars
_SMALLEST = 8  # a pattern is drawn no larger than this


def paving_sheet(pavers: Pavers, dig: Dig, unit: Unit) -> Sheet:
    """Return the drawing of an area's pavers and of the layers under them.

    Parameters
    ----------
    pavers : Pavers
    dig : Dig
        On the chosen base.
    unit : "ft" or "m"
    """
    sheet = Sheet(Page("figure", WIDE, HIGH, margin=1.0, title=0.0), "paving", "Paving")
    _pattern(sheet, Box(0.5, _FOOT + 1, _PATTERN, HIGH - 5.5), pavers, unit)
    _layers(sheet, Box(_PATTERN + 10, _FOOT + 1, WIDE - 0.5, HIGH - 5.5), dig, unit)
    return sheet


def _head(sheet: Sheet, x: float, words: str) -> None:
    sheet.paper.text((x, HIGH - 0.6), words, size=3.0, bold=True, across="left", up="top")


def _foot(sheet: Sheet, x: float, scale: Scale, unit: Unit, words: str) -> None:
    scale_bar(sheet, (x, 4.2), scale, unit, 26.0)
    sheet.paper.text((x + 33, 4.6), f"{scale.words}{words}", size=2.3, across="left")


def _pattern(sheet: Sheet, box: Box, pavers: Pavers, unit: Unit) -> None:
    _head(sheet, box.x0, "Seen from above")
    step = pavers.length + pavers.joint
    found = [
        scale for scale in scales(unit)
        if scale.ratio >= _SMALLEST and scale.mm(2.6 * step) <= box.width
    ]  # fmt: skip
    scale = found[0] if found else scales(unit)[-1]
    view = View(Drawing("pattern"), scale, (box.x0, box.y0))
    window = shapely.box(0, 0, scale.metres(box.width), scale.metres(box.height))
    view.drawing.area(window, fill="#8d8378", layer="joints")
    tones = TONES["paver"].marks
    for k, ring in enumerate(units_of(pavers, window)):
        view.drawing.area(ring.intersection(window), fill=tones[(k * 7 + k // 3) % len(tones)],
                          pen=Pen(0.12, "#3a332d"), layer="paver")  # fmt: skip
    view.drawing.lines(window, OUTLINE, "frame")
    sheet.views.append(view)
    _foot(sheet, box.x0 + 0.5, scale, unit, "")


def units_of(pavers: Pavers, window: shapely.Polygon) -> Iterator[shapely.Polygon]:
    """Yield the pavers of a pattern that are seen in a window, as shapely boxes. [m]

    Parameters
    ----------
    pavers : Pavers
    window : shapely polygon
    """
    long, wide, joint = pavers.length, pavers.width, pavers.joint
    step, row = long + joint, wide + joint
    turned = 45.0 if pavers.pattern.endswith("45") else 0.0
    middle = window.centroid
    reach = float(np.hypot(*np.ptp(np.array(window.exterior.coords), axis=0)))
    count = int(np.ceil(reach / row)) + 2
    places: list[tuple[float, float, bool]] = []
    if pavers.pattern.startswith("herringbone"):
        # One unit across and one down at every step of a stair; the stairs lie side by side.
        for k in range(-count, count):
            for m in range(-count, count):
                x, y = k * row + m * 2 * step, k * row
                places += [(x, y, False), (x + step, y + row - step, True)]
    else:
        for k in range(-count, count):
            shift = step / 2 if pavers.pattern == "running" and k % 2 else 0.0
            places += [(m * step + shift, k * row, False) for m in range(-count, count)]
    for x, y, upright in places:
        size = (wide, long) if upright else (long, wide)
        unit = shapely.box(x, y, x + size[0], y + size[1])
        if turned:
            unit = shapely.affinity.rotate(unit, turned, origin=(0, 0))
        unit = shapely.affinity.translate(unit, middle.x, middle.y)
        if unit.intersects(window):
            yield unit


def _layers(sheet: Sheet, box: Box, dig: Dig, unit: Unit) -> None:
    system, beds = dig.system, beds_of(dig)
    _head(sheet, box.x0, f"Cut through: {system.called}")
    deep = depth_of(dig) + SOIL
    scale = fitting_scale(unit, 0.1, deep, (60.0, box.height), at_most=3)
    tall = scale.mm(deep)
    left = 22.0
    wide = scale.metres(34.0)
    top = box.y1 - max(0.0, (box.height - tall) / 2)
    view = View(Drawing("layers"), scale, (box.x0 + left, top))
    sheet.views.append(view)
    draw = view.drawing
    for bed in beds:
        draw.area(shapely.box(0, -bed.bottom, wide, -bed.top), bed.material, pen=THIN,
                  layer="refill" if bed.role == "refill" else "layer")  # fmt: skip
    z, bottom = -dig.build_up, -beds[-1].bottom
    draw.area(shapely.box(0, bottom - SOIL, wide, bottom), "soil", layer="soil")
    draw.line([(0, bottom), (wide, bottom)], OUTLINE, "soil surface")
    draw.line([(0, z), (wide, z)], OUTLINE, "bottom of the layers")
    draw.dimension((0, z), (0, 0), small(dig.build_up, unit), offset=4.0, size=2.5)
    x = view.paper((wide, 0))[0] + 8.0
    room = box.x1 - x - 1.0
    told = [_told(dig, bed, unit, room) for bed in beds]
    soil = fold("your soil, trimmed and pressed firm", 2.5, room)
    steps = [block(words, 2.5)[1] + 4.6 for _, words in told] + [block(soil, 2.5)[1] + 2.0]
    middles = [-(bed.top + bed.bottom) / 2 for bed in beds]
    wanted = [view.paper((0, at))[1] for at in (*middles, bottom - SOIL / 2)]
    heights = spread(wanted, steps, box.y0 - 1.0, HIGH - 4.0)
    size = 2.9
    while max(extent(head, size, True)[0] for head, _ in told) > room and size > 1.9:
        size -= 0.1
    for y, want, (head, words) in zip(heights, wanted, told, strict=False):
        tip = view.paper((wide, 0))[0]
        sheet.paper.line([(tip - 3.0, want), (tip + 3.0, want), (x - 1.5, y)], FINE, "leader")
        below = block(words, 2.5)[1]
        sheet.paper.text((x, y + below / 2 - 0.3), head, size=size, bold=True, across="left",
                         up="bottom" if words else "middle")  # fmt: skip
        sheet.paper.text((x, y + below / 2 - 1.0), words, size=2.5, across="left", up="top")
    tip = view.paper((wide, 0))[0]
    sheet.paper.line([(tip - 3.0, wanted[-1]), (tip + 3.0, wanted[-1]), (x - 1.5, heights[-1])],
                     FINE, "leader")  # fmt: skip
    sheet.paper.text((x, heights[-1]), soil, size=2.5, across="left")
    _foot(sheet, box.x0 + 0.5, scale, unit, ", true scale, layers as compacted")


def _told(dig: Dig, bed: Bed, unit: Unit, room: float) -> tuple[str, str]:
    """Return the name of a bed with its thickness, and what it is for."""
    name = bed.name if len(bed.name) <= 40 else f"{bed.name[:39]}…"
    head = f"{name},"
    if bed.role == "refill":
        return head, fold(mean_words(dig, unit), 2.5, room)
    return f"{head} {thick_words(dig, bed, unit)}", fold(layer_words(bed), 2.5, room)
