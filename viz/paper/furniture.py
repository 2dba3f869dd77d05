"""What every sheet carries: border, title block, caution, scale bars, plan axes, captions."""

from __future__ import annotations

import math

from grading.units import FOOT, INCH
from viz.paper.compose import Sheet
from viz.paper.drawing import FINE, OUTLINE, THIN, Area, Pen, as_ring
from viz.paper.lettering import block, extent, fitting_size, fold
from viz.paper.page import MM, Box, Scale
from viz.words.cautions import DRAWING
from viz.words.figures import both_told, units_words

LONGEST = 40  # letters of an area's name in a title
NO_STRETCH = "none: heights and lengths to the same scale"


def title_block(
    sheet: Sheet, site: str, area: str, unit: str, scale: str, stretch: str = NO_STRETCH,
    note: str = "",
) -> None:  # fmt: skip
    """Draw border, title block and caution line on the paper of a sheet."""
    draw, frame = sheet.paper, sheet.page.frame
    foot = frame.y0 + 6.2
    top = frame.y0 + sheet.page.title
    x0, y0, x1, y1 = frame.x0, frame.y0, frame.x1, frame.y1
    corners = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
    draw.line(corners, Pen(0.6), "border", closed=True)
    draw.line([(frame.x0, top), (frame.x1, top)], OUTLINE, "border")
    draw.line([(frame.x0, foot), (frame.x1, foot)], THIN, "border")
    size = fitting_size(DRAWING, 2.35, frame.width - 5, 1.9, 0.05)
    draw.text((frame.x0 + 2.5, frame.y0 + 3.1), DRAWING, size=size, across="left", bold=True)
    cells = Box(frame.x0, foot, frame.x1, top).columns((34, 27, 39))
    for cell in cells[1:]:
        draw.line([(cell.x0, foot), (cell.x0, top)], THIN, "border")
    title, about, notes = cells
    big = 4.6
    while block(fold(sheet.title, big, title.width - 5, True), big, True)[1] > 8.6 and big > 2.6:
        big -= 0.2
    words = fold(sheet.title, big, title.width - 5, True)
    draw.paragraph((title.x0 + 2.5, top - 2.0), words, size=big, bold=True)
    place = "\n".join(_cut_short(f"{name}: {words}", 2.6, title.width - 5)
                      for name, words in (("Site", site), ("Area", area)))  # fmt: skip
    draw.text((title.x0 + 2.5, foot + 1.6), place, size=2.6, across="left", up="bottom")
    _facts(sheet, about, [("Scale", scale), ("Vertical exaggeration", stretch)])
    _facts(
        sheet, notes,
        [("Units", f"{units_words(unit)}; elevations above the site datum"),
         ("Notes", note or "Layers are compacted thicknesses.")],
    )  # fmt: skip


def heading(area: str, what: str) -> str:
    """Return the title of a sheet: the area's name, cut short where it is long, and what it is."""
    name = area if len(area) <= LONGEST else area[: LONGEST - 3].rstrip() + "..."
    return f"{name}: {what}"


def _cut_short(words: str, size: float, width: float) -> str:
    if extent(words, size)[0] <= width:
        return words
    while words and extent(words + "...", size)[0] > width:
        words = words[:-1]
    return words.rstrip() + "..."


def _facts(sheet: Sheet, cell: Box, facts: list[tuple[str, str]]) -> None:
    size, room = 2.35, cell.height - 2.4
    while size > 1.9 and _tall(facts, size, cell.width - 4) > room:
        size -= 0.05
    y = cell.y1 - 1.6
    for name, words in facts:
        sheet.paper.paragraph((cell.x0 + 2.2, y), name, size=2.0, colour="#5a5a5a")
        text = fold(words, size, cell.width - 4)
        sheet.paper.paragraph((cell.x0 + 2.2, y - 2.6), text, size=size)
        y -= 3.2 + block(text, size)[1]


def _tall(facts: list[tuple[str, str]], size: float, width: float) -> float:
    return sum(3.2 + block(fold(words, size, width), size)[1] for _, words in facts)


def caption(
    sheet: Sheet, at: tuple[float, float], name: str, about: str, size: float = 3.0
) -> float:
    """Write the name of a view and what is said of it; return how wide that came out. [mm]"""
    draw = sheet.paper
    draw.text(at, name, size=size, across="left", up="baseline", bold=True)
    wide = block(name, size, True)[0]
    draw.text((at[0] + wide + 3, at[1]), about, size=2.4, across="left", up="baseline")
    total = wide + 3 + (extent(about, 2.4)[0] if about else 0.0)
    draw.line([(at[0], at[1] - 1.3), (at[0] + wide, at[1] - 1.3)], OUTLINE)
    return total


def _steps(scale: Scale, unit: str, longest: float) -> tuple[float, int, str]:
    """Return length of one box [m], count, and the sign after the figures of a scale bar."""
    if unit == "ft":
        sizes: list[tuple[float, float, str]] = [(INCH * k, k, " in") for k in (1, 2, 3, 6)]
        sizes += [(FOOT * k, k, " ft") for k in (1, 2, 5, 10, 20, 50, 100)]
    else:
        sizes = [(k / MM, k, " mm") for k in (50, 100, 200)]
        sizes += [(float(k), k, " m") for k in (1, 2, 5, 10, 20, 50, 100)]
        sizes.insert(3, (0.5, 0.5, " m"))
    best = sizes[0]
    for size in sizes:
        if scale.mm(size[0]) * 2 <= longest:
            best = size
    count = max(1, min(4, int(longest / scale.mm(best[0]))))
    return best[0], count, f"{best[1]:g}{best[2]}"


def scale_bar(
    sheet: Sheet, at: tuple[float, float], scale: Scale, unit: str, longest: float = 42.0
) -> None:
    """Draw a bar of boxes from `at` [mm] rightwards in the site's unit, or in both."""
    kinds = ("ft", "m") if unit == "ft" else ("m", "ft")
    for row, kind in enumerate(kinds if both_told() else kinds[:1]):
        step, count, words = _steps(scale, kind, longest)
        wide = scale.mm(step)
        low, high = at[1] - row * 1.3, at[1] + 1.3 - row * 1.3
        for k in range(count):
            ring = [
                (at[0] + k * wide, low), (at[0] + (k + 1) * wide, low),
                (at[0] + (k + 1) * wide, high), (at[0] + k * wide, high),
            ]  # fmt: skip
            dark = (k + row) % 2 == 0
            _box(sheet, ring, "#1a1a1a" if dark else "#ffffff", f"scale-bar-{kind}")
        number, sign = words.split(" ")
        up = "bottom" if row == 0 else "top"
        y = at[1] + 1.7 if row == 0 else at[1] - 1.8
        sheet.paper.text((at[0], y), "0", size=2.0, up=up)
        total = f"{float(number) * count:g} {sign}"
        sheet.paper.text((at[0] + count * wide, y), total, size=2.0, up=up)


def _box(sheet: Sheet, ring: list[tuple[float, float]], fill: str, layer: str) -> None:

    sheet.paper.parts.append(Area((as_ring(ring),), fill=fill, pen=FINE, layer=layer))


def plan_axes(
    sheet: Sheet, at: tuple[float, float], size: float = 8.0, turn: float = 0.0
) -> None:  # fmt: skip
    """Draw the plan axes, `size` mm long: x to the right, y up, both turned so far. [degrees]"""
    draw = sheet.paper
    if not turn:
        draw.symbol("axes", at, size=size)
        draw.text((at[0] + size + 1.2, at[1]), "x", size=2.6, across="left")
        draw.text((at[0], at[1] + size + 1.0), "y", size=2.6, up="bottom")
        return
    ways = [(math.cos(angle), math.sin(angle)) for angle in
            (math.radians(turn), math.radians(turn + 90.0))]  # fmt: skip
    # Wherever they point, they stand above and to the right of the place.
    foot = tuple(
        at[k] - (size + 1.0) * min(0.0, *(round(way[k], 9) for way in ways)) for k in (0, 1)
    )
    draw.symbol("axes", foot, size=size, rotation=turn)
    for name, way in zip("xy", ways, strict=True):
        end = tuple(foot[k] + way[k] * (size + 2.2) for k in (0, 1))
        draw.text(end, name, size=2.6)
