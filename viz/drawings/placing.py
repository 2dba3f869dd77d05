"""What several drawings place alike: columns of labels, words made to fit, tags, feet of plans."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from typing import Any, TypeVar

import shapely
from shapely.geometry.base import BaseGeometry

from grading.design.area import AreaPlan
from grading.design.model import Design
from grading.units import Unit
from viz.paper.compose import Sheet, View
from viz.paper.drawing import OUTLINE, THIN, Drawing, Pen
from viz.paper.furniture import NO_STRETCH, caption, plan_axes, scale_bar, title_block
from viz.paper.lettering import block, extent, fold, spread
from viz.paper.page import Box, Page, Scale, fitting_scale

FRAME = Pen(0.2, "#5a5a5a", (3.0, 0.8, 0.6, 0.8))
"""The edge of what is shown of a section."""

Part = TypeVar("Part")
Label = tuple[float, float, str]  # distance and elevation [m], and what is there


def broken(words: str, size: float, room: float) -> str:
    """Break a label that is too wide before its figures, so that these stay together. [mm]"""
    figures = re.search(r" (?=[0-9])", words)
    if figures is None or extent(words, size)[0] <= room:
        return fold(words, size, room)
    name, told = words[: figures.start()], words[figures.end() :]
    return f"{fold(name, size, room)}\n{fold(told, size, room)}"


def label_column(
    view: View, labels: Iterable[Label], column: float, ends: tuple[float, float], size: float,
    apart: float, **style: Any,
) -> None:  # fmt: skip
    """Write labels down a column, each led to its place, none on another, the highest first.

    Parameters
    ----------
    view : View
    labels : iterable of Label
    column : float
        Where it stands. [mm]
    ends : (float, float)
        Its foot and its head. [mm]
    size, apart : float
        Of the letters, and between labels. [mm]
    """
    said = list(labels)
    for (s, z, words), y in zip(said, column_heights(view, said, ends, size, apart), strict=True):
        x, want = view.paper((s, z))
        view.drawing.leader((s, z), words, (column - x, y - want), size=size, **style)


def column_heights(
    view: View, labels: Sequence[Label], ends: tuple[float, float], size: float, apart: float
) -> list[float]:
    """Return how high in its column each label stands, in the order given. [mm]"""
    order = sorted(range(len(labels)), key=lambda k: -labels[k][1])
    need = [block(labels[k][2], size)[1] + apart for k in order]
    wanted = [view.paper((0.0, labels[k][1]))[1] for k in order]
    found = dict(zip(order, spread(wanted, need, *ends), strict=True))
    return [found[k] for k in range(len(labels))]


def arrows_between(
    view: View, s: float, low: float, high: float, least: float = 0.0, **style: Any
) -> bool:
    """Record an arrow to either end of an upright length, and say whether they fit between.

    Parameters
    ----------
    view : View
    s, low, high : float
        Where it stands, and its ends. [m]
    least : float
        A shorter one has its arrows outside. [mm of paper]
    **style
        Of the arrows; `far`, how long they are outside. [mm of paper]
    """
    middle, far = (low + high) / 2, view.scale.metres(style.pop("far", 0.0))
    inside = view.scale.mm(high - low) >= least
    for outside, z in ((high + far, high), (low - far, low)):
        view.drawing.arrow((s, middle if inside else outside), (s, z), pen=THIN, **style)
    return inside


def chosen_tag(
    draw: Drawing, at: tuple[float, float], size: float, high: float, aside: float
) -> None:
    """Frame the word "chosen", its left middle at a place. [mm]"""
    wide = chosen_width(size, aside)
    x, y = at
    ring = shapely.box(x, y - high / 2, x + wide, y + high / 2)
    draw.area(ring, fill="#ffffff", pen=OUTLINE, layer="chosen")
    draw.text((x + wide / 2, y), "chosen", size=size, bold=True)


def chosen_width(size: float, aside: float) -> float:
    """Return how wide the tag is. [mm]"""
    return block("chosen", size, True)[0] + aside


def place_plan(
    window: BaseGeometry, room: Box, unit: Unit, name: str, turn: float = 0.0
) -> View:  # fmt: skip
    """Return an empty view of a window of the site, in the middle of its room on paper.

    The window is that of a plan turned so far, anticlockwise. [degrees]
    """
    x0, y0, x1, y1 = shapely.affinity.rotate(window, turn, origin=(0, 0)).bounds
    scale = fitting_scale(unit, x1 - x0, y1 - y0, (room.width, room.height), at_most=10)
    middle = room.middle
    origin = (middle[0] - scale.mm((x0 + x1) / 2), middle[1] - scale.mm((y0 + y1) / 2))
    return View(Drawing(name), scale, origin, turn=turn)


def foot_of_plan(
    sheet: Sheet, scale: Scale, unit: Unit, longest: float = 42.0, gap: float = 10.0
) -> None:
    """Draw caption, scale bar and axes under a plan, at the foot of its sheet."""
    x, y = sheet.page.body.x0, sheet.page.body.y0
    wide = caption(sheet, (x + 16, y + 1.8), "Plan", scale.words)
    scale_bar(sheet, (x + 16 + wide + gap, y + 2.4), scale, unit, longest)
    plan_axes(sheet, (x + 1.5, y + 2.0), turn=sheet.views[0].turn)


def sheets_of_groups(
    page: Page, key: str, title: str, groups: Sequence[Part]
) -> Iterator[tuple[Sheet, Part]]:
    """Yield a sheet for each group of what is too much for one, numbered where there are more."""
    for number, group in enumerate(groups, start=1):
        if len(groups) == 1:
            yield Sheet(page, key, title), group
        else:
            yield Sheet(page, f"{key}-{number}", f"{title} ({number} of {len(groups)})"), group


def plan_sheet(
    page: Page, key: str, title: str, window: BaseGeometry, side: float, gap: float, unit: Unit,
    turn: float = 0.0,
) -> tuple[Sheet, View, Box]:  # fmt: skip
    """Return a sheet with a plan of a window of the site [m], and the room beside it. [mm]

    The room is so wide, and so far from the plan, which is turned so far. [degrees]
    """
    sheet, body = Sheet(page, key, title), page.body
    room = Box(body.x0, body.y0 + 8.0, body.x1 - side - gap, body.y1)
    view = place_plan(window, room, unit, title, turn)
    sheet.views.append(view)
    beside = Box(body.x1 - side, body.y0, body.x1, body.y1)
    sheet.paper.line([(beside.x0 - 2, beside.y0 - 3), (beside.x0 - 2, beside.y1 + 3)], THIN,
                     "border")  # fmt: skip
    return sheet, view, beside


def end_sheet(
    sheet: Sheet, plan: Design, areas: Sequence[AreaPlan], scale: str, note: str = "",
    stretch: str = NO_STRETCH,
) -> Sheet:  # fmt: skip
    """Draw the title block of a sheet of some areas of a plan, and return the sheet."""
    names = ", ".join(area.area.name for area in areas)
    title_block(sheet, plan.site.name, names, plan.site.unit, scale, stretch, note=note)
    return sheet


def end_plan(
    sheet: Sheet, plan: Design, areas: Sequence[AreaPlan], note: str, longest: float = 34.0,
    gap: float = 8.0,
) -> Sheet:  # fmt: skip
    """Draw caption, scale bar, axes and title block of a sheet with a plan, and return it."""
    scale = sheet.views[0].scale
    foot_of_plan(sheet, scale, plan.site.unit, longest, gap)
    return end_sheet(sheet, plan, areas, scale.words, note, "none: a plan")
