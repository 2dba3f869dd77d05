"""One area cut through before and after a change, side by side to one scale."""

from __future__ import annotations

import shapely

from grading.dig.beds import beds_of, depth_of
from grading.dig.hole import Dig
from grading.units import Unit
from viz.paper.compose import Sheet, View
from viz.paper.drawing import OUTLINE, THIN, Drawing
from viz.paper.furniture import scale_bar
from viz.paper.lettering import block, fold, spread
from viz.paper.page import Page, Scale, scales
from viz.words.paving.beds import thick_words

WIDE = 182.0  # mm
_TALLEST = (62.0, 42.0)
"""How high a drawing is where it stands alone, and where another stands under it. [mm]"""
_STACK = 26.0  # mm: width of a build-up
_HEAD, _FOOT = 6.0, 8.0
_SIZE = 2.7
_SOIL = 0.05  # m of soil shown below
_LINE = (6.0, 4.6)  # mm for the words of a layer, as for the heights above
_LARGEST = 4  # a build-up is drawn no larger than this


def change_sheet(before: Dig, after: Dig, unit: Unit, several: bool = False) -> Sheet:
    """Return the build-ups of an area as they were to be and as they are now.

    Parameters
    ----------
    before, after : Dig
        Of one area, each on the base that it stands on.
    unit : "ft" or "m"
    several : bool
        Whether another area is drawn on the same page.
    """
    deep = max(map(depth_of, (before, after))) + _SOIL
    scale = next(
        each for each in scales(unit)
        if each.ratio >= _LARGEST and each.mm(deep) <= _TALLEST[several] - _HEAD - _FOOT
    )  # fmt: skip
    lines = max(len(beds_of(dig)) for dig in (before, after)) + 1
    high = max(scale.mm(deep), _LINE[several] * lines) + _HEAD + _FOOT
    sheet = Sheet(Page("figure", WIDE, high, margin=1.0, title=0.0), "change", "Change")
    for x, title, dig in ((0.5, "As agreed", before), (WIDE / 2 + 3, "Now", after)):
        _stack(sheet, x, f"{title}: on {dig.system.called}", dig, scale, unit)
    scale_bar(sheet, (0.5, 3.6), scale, unit, 26.0)
    words = f"{scale.words}, true scale, layers as compacted"
    sheet.paper.text((34.0, 4.0), words, size=2.3, across="left")
    return sheet


def _stack(sheet: Sheet, x: float, title: str, dig: Dig, scale: Scale, unit: Unit) -> None:
    top, room = sheet.page.height - _HEAD, WIDE / 2 - _STACK - 10
    words = fold(title, 3.0, WIDE / 2 - 6, True).partition("\n")[0]
    sheet.paper.paragraph((x, sheet.page.height - 0.6), words, size=3.0, bold=True)
    view = View(Drawing(title), scale, (x, top))
    sheet.views.append(view)
    draw, wide, beds = view.drawing, scale.metres(_STACK), beds_of(dig)
    for bed in beds:
        draw.area(shapely.box(0, -bed.bottom, wide, -bed.top), bed.material, pen=THIN,
                  layer="layer")  # fmt: skip
    bottom = -depth_of(dig)
    draw.area(shapely.box(0, bottom - _SOIL, wide, bottom), "soil", layer="soil")
    draw.line([(0, bottom), (wide, bottom)], OUTLINE, "bottom of the dig")
    named = [(-(bed.top + bed.bottom) / 2, f"{bed.name}, {thick_words(dig, bed, unit)}")
             for bed in beds]  # fmt: skip
    named.append((bottom - _SOIL / 2, "firm soil"))
    told = [(z, fold(words, _SIZE, room)) for z, words in named]
    wanted = [view.paper((wide, z))[1] for z, _ in told]
    need = [block(words, _SIZE)[1] + 1.2 for _, words in told]
    heights = spread(wanted, need, _FOOT - 1.0, top + 2.0)
    for (z, words), y, want in zip(told, heights, wanted, strict=True):
        draw.leader((wide - scale.metres(2.0), z), words, (8.0, y - want), size=_SIZE)
