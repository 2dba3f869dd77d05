"""What lies under an area, from the paver you walk on down to the soil: one column, true scale."""

from __future__ import annotations

from collections.abc import Sequence

import shapely
from msgspec import Struct

from grading.catalogue.bases import layer_names
from grading.design.area import AreaPlan
from grading.dig.beds import beds_of, depth_of
from grading.pipeline import Plan
from grading.units import Unit, size
from viz.paper.compose import Sheet, View
from viz.paper.drawing import FINE, OUTLINE, Drawing
from viz.paper.lettering import block, extent, fold, spread
from viz.paper.page import Page, Scale
from viz.words.figures import DIRT
from viz.words.plain import table

_STACK, _NARROW = 24.0, 0.28  # mm: width of a column, and its part of a narrow drawing
_GAP = 6.0  # mm from it to its words
_SOIL = 0.07  # m of soil shown below
_TALLEST, _LOW = 46.0, 0.6  # mm: of the tallest column, and its part of a narrow drawing's width
_LARGEST = 6.0  # ratio: nothing is drawn larger
_BOLD, _SMALL = 2.65, 2.35
_APART = 1.3  # mm between words


class _Said(Struct, frozen=True):
    """What is written beside a layer: how deep its middle lies [m], its name, what it is for."""

    at: float
    name: str
    purpose: str


def under_columns(plan: Plan, areas: Sequence[AreaPlan], wide: float) -> list[Sheet]:
    """Return a drawing of what lies under each of some areas, all to one scale.

    Parameters
    ----------
    plan : Plan
    areas : sequence of AreaPlan
    wide : float
        Of a drawing. [mm]
    """
    unit = plan.site.unit
    deepest = max(depth_of(area.chosen_dig) for area in areas) + _SOIL
    ratio = max(deepest * 1000 / min(_TALLEST, _LOW * wide), _LARGEST)
    scale = Scale(ratio, "true scale")
    return [_column(area, scale, wide, unit) for area in areas]


def _column(area: AreaPlan, scale: Scale, wide: float, unit: Unit) -> Sheet:
    dig = area.chosen_dig
    said = _said(area, unit)
    # Where three stand in a row the words have the room: folded they would be taller than it.
    stack = min(_STACK, _NARROW * wide)
    room = wide - stack - _GAP - 0.5
    folded = [(_fold(each.name, _BOLD, room, True), _fold(each.purpose, _SMALL, room, False))
              for each in said]  # fmt: skip
    need = [
        block(name, _BOLD, True)[1] + (block(purpose, _SMALL)[1] + 0.5 if purpose else 0.0) + _APART
        for name, purpose in folded
    ]
    deep = depth_of(dig) + _SOIL
    tall = max(scale.mm(deep), sum(need)) + 1.0
    sheet = Sheet(Page("under", wide, tall, margin=0.0, title=0.0), "under", "What is under it")
    view = View(Drawing("under"), scale, (0.3, tall - 0.5))
    sheet.views.append(view)
    draw, across = view.drawing, scale.metres(stack)
    for bed in beds_of(dig):
        draw.area(shapely.box(0.0, -bed.bottom, across, -bed.top), bed.material, layer=bed.name)
    floor = -depth_of(dig)
    draw.area(shapely.box(0.0, floor - _SOIL, across, floor), "soil", layer="soil")
    draw.line([(0.0, 0.0), (across, 0.0), (across, floor - _SOIL), (0.0, floor - _SOIL)],
              OUTLINE, "stack", closed=True)  # fmt: skip
    wanted = [view.paper((0.0, -each.at))[1] for each in said]
    x = stack + _GAP
    for each, (name, purpose), high, y in zip(
        said, folded, need, spread(wanted, need, 0.3, tall - 0.3), strict=True
    ):
        top = y + (high - _APART) / 2
        sheet.paper.paragraph((x, top), name, size=_BOLD, bold=True)
        below = top - block(name, _BOLD, True)[1] - 0.5
        if purpose:
            sheet.paper.paragraph((x, below), purpose, size=_SMALL, colour="#4a4f4d")
        level = top - block(name.split("\n")[0], _BOLD, True)[1] / 2
        start = view.paper((0.0, -each.at))[1]
        ends = [(stack + 0.4, start), (stack + 2.6, level), (x - 0.8, level)]
        sheet.paper.line(ends, FINE, "lead")
    return sheet


def _fold(words: str, letters: float, room: float, bold: bool) -> str:
    if extent(words, letters, bold)[0] <= room:
        return words
    return fold(words, letters, room, bold)


def _said(area: AreaPlan, unit: Unit) -> list[_Said]:
    """Return what is said of each layer, from the top down."""
    dig, names, purposes = area.chosen_dig, table("layer-name"), table("layer")
    rows = []
    for bed in beds_of(dig):
        at = (bed.top + bed.bottom) / 2
        if bed.role == "refill" and dig.refill is not None:
            mean, most = (size(z, unit, DIRT) for z in (dig.refill.mean, dig.refill.greatest))
            deep = f"; {most} at the deepest" if most != mean else ""
            rows.append(_Said(at, f"{names['refill']}, {mean} on average",
                              f"{purposes['refill']}{deep}"))  # fmt: skip
            continue
        # A layer that somebody named keeps its name.
        own = bed.material not in names or bed.name not in layer_names()
        name = bed.name if own else str(names[bed.material])
        purpose = str(purposes.get(bed.material) or purposes.get(bed.role) or purposes["base"])
        thick = f", {size(bed.thickness, unit)}" if bed.thickness > 2e-3 else ""
        rows.append(_Said(at, f"{name}{thick}", purpose))
    rows.append(_Said(depth_of(dig) + _SOIL / 2, str(names["soil"]), ""))
    return rows
