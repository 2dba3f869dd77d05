"""What the fall away from the house costs in work, as a curve, beside other finishes."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from grading.design.area import GroupPlan
from grading.finish.objectives import Outcome
from grading.pipeline import Plan
from grading.units import Unit, cubic_yards, percent
from viz.file_names import slug
from viz.paper.compose import Sheet
from viz.paper.drawing import FAINT, FINE, HIDDEN, THIN, Pen
from viz.paper.furniture import title_block
from viz.paper.lettering import fold
from viz.paper.page import Box, Page
from viz.words.figures import earth

CURVE = Pen(0.6)
_SIZE, _SMALL = 2.6, 2.3
_STEPS = (0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0)
_TICKS = 6
_DOT = 0.9  # mm
_FOOT = 17.0  # mm: what the words below the table take
NOTES = {
    "dig and refill": (
        "Least dig and refill: all that is dug, topsoil to its bottom included, and all that is "
        "refilled, inside the paving, all other limits kept. Each finish is the best at what it "
        "is named for."
    ),
    "earth": (
        "Least earth: the volume between existing ground and subgrade inside the paving, all other "
        "limits kept. Each finish is the best at what it is named for."
    ),
}
"""What the curve tells, by what finishes are weighed by."""

_WHAT = {"dig and refill": "dig and refill", "earth": "earth moved"}
HEADS = {"dig and refill": "Least dug and refilled", "earth": "Least earth moved"}


def tradeoff_sheets(plan: Plan, page: Page) -> list[tuple[str, Sheet]]:
    """Return a sheet for each group of areas that a wall asks a fall of, with its file's name."""

    groups = [group for group in plan.groups if group.outcomes and _asked(group)]
    sheets = []
    for group in groups:
        names = " and ".join(area.name for area in group.group.areas)
        name = "finishes" if len(groups) == 1 else f"{slug(names)}-finishes"
        sheets.append((name, _sheet(plan, group, names, page, name)))
    return sheets


def _asked(group: GroupPlan) -> bool:
    return any(wish.rule == "fall-away" for wish in group.solved.held.wishes)


def _measure(group: GroupPlan) -> str:
    return group.group.aim.measure


def _sheet(plan: Plan, group: GroupPlan, names: str, page: Page, name: str) -> Sheet:
    unit = plan.site.unit
    sheet = Sheet(page, name, f"Fall away from the house and {_WHAT[_measure(group)]}")
    body = page.body
    split = body.x0 + 0.54 * body.width
    _chart(sheet, group, Box(body.x0 + 18, body.y0 + 20, split - 8, body.y1 - 12), unit)
    _table(sheet, group, Box(split + 4, body.y0, body.x1, body.y1 - 12), unit)
    title_block(sheet, plan.site.name, names, unit, "none: a diagram", "none: a diagram",
                NOTES[_measure(group)])  # fmt: skip
    return sheet


def in_unit(cubic_metres: float, unit: Unit) -> float:
    """Return a volume [m3] as the axis counts it: yd3 or m3."""
    return cubic_yards(cubic_metres) if unit == "ft" else cubic_metres


def _chart(sheet: Sheet, group: GroupPlan, box: Box, unit: Unit) -> None:
    draw, curve = sheet.paper, group.tradeoff
    moved = np.array([in_unit(each, unit) for each in curve.least.tolist()])
    known = np.isfinite(moved)
    most = float(moved[known].max()) if known.any() else 1.0
    step = next((each for each in _STEPS if most / each <= _TICKS), _STEPS[-1])
    top = step * max(1, int(np.ceil(most / step)))
    first, last = float(curve.falls[0]), float(curve.falls[-1])

    def at(fall: float, value: float) -> tuple[float, float]:
        across = (fall - first) / (last - first)
        return box.x0 + across * box.width, box.y0 + value / top * box.height

    for number in range(round(top / step) + 1):
        value = number * step
        y = at(first, value)[1]
        draw.line([(box.x0, y), (box.x1, y)], FAINT, "grid")
        draw.text((box.x0 - 2, y), f"{value:g}", size=_SMALL, across="right")
    for fall in curve.falls.tolist():
        x = at(fall, 0)[0]
        draw.line([(x, box.y0), (x, box.y0 - 1.2)], THIN, "axis")
        draw.text((x, box.y0 - 2), percent(fall), size=_SMALL, up="top")
    draw.line([(box.x0, box.y1), (box.x0, box.y0), (box.x1, box.y0)], THIN, "axis")
    mark = "yd³" if unit == "ft" else "m³"
    head = f"{HEADS[_measure(group)]}, {mark}"
    draw.text((box.x0 - 14, box.y1 + 8), head, size=_SIZE, across="left", bold=True)
    draw.text(((box.x0 + box.x1) / 2, box.y0 - 8), "fall asked away from every wall", size=_SIZE,
              up="top", bold=True)  # fmt: skip
    points = [
        at(float(fall), float(value))
        for fall, value in zip(curve.falls[known], moved[known], strict=True)
    ]
    if len(points) > 1:
        draw.line(points, CURVE, "curve")
    for number, (point, value) in enumerate(zip(points, curve.least[known].tolist(), strict=True)):
        draw.area(shapely.Point(point).buffer(_DOT), fill="#1a1a1a", layer="point")
        # The curve never falls, so to the upper left of a point there is room.
        left = number > 0
        place = (point[0] - 1.6, point[1] + 1.4) if left else (point[0] + 2.0, point[1] - 2.2)
        across, up = ("right", "bottom") if left else ("left", "top")
        words = f"{in_unit(value, unit):.2f}"
        draw.text(place, words, size=_SMALL, across=across, up=up, ground=True)
    for fall in curve.falls[~known].tolist():
        x = at(fall, 0)[0]
        draw.line([(x, box.y0), (x, box.y0 + 0.72 * box.height)], HIDDEN, "not to be had")
        draw.text((x + 2.4, box.y0 + 0.36 * box.height), "not to be had", size=_SMALL,
                  rotation=90.0, ground=True)  # fmt: skip
    if not known.all():
        words = "Not to be had: the other limits leave no finish that falls so much."
        draw.paragraph((box.x0 - 14, box.y0 - 14), words, size=_SMALL)


def _table(sheet: Sheet, group: GroupPlan, box: Box, unit: Unit) -> None:
    draw = sheet.paper
    draw.text((box.x0, box.y1 + 8), "Finishes side by side", size=_SIZE, across="left", bold=True)
    y, used, count = box.y1, group.aimed_at, len(group.outcomes)
    # A line for the name of each and four for what it takes, as far apart as there is room.
    apart = min(4.0, (box.height - _FOOT) / count / 6.125)
    for outcome in group.outcomes:
        draw.line([(box.x0, y), (box.x1, y)], FINE, "table")
        title = f"{outcome.objective}{' (in use)' if outcome.objective == used else ''}"
        draw.paragraph((box.x0, y - 2), title, size=_SIZE, bold=True)
        rows = _rows(outcome, unit)
        for number, (label, value) in enumerate(rows):
            line = y - 2.5 - apart * (number + 1)
            draw.paragraph((box.x0 + 3, line), label, size=_SMALL)
            draw.text((box.x1, line), value, size=_SMALL, across="right", up="top")
        y -= 4.5 + apart * (len(rows) + 1)
    draw.line([(box.x0, y), (box.x1, y)], FINE, "table")
    words = (
        "dug and refilled: all that comes out, topsoil to its bottom, and all that is put back; "
        "cut and fill: between ground and subgrade, before topsoil is weighed; left over: cut less "
        "what the fill takes up, topsoil as if it could be filled with"
    )
    draw.paragraph((box.x0, y - 2), fold(words, _SMALL, box.width), size=_SMALL, colour="#444444")


def _rows(outcome: Outcome, unit: Unit) -> Sequence[tuple[str, str]]:
    return (
        ("dug and refilled", earth(outcome.work, unit)),
        ("cut and fill", f"{earth(outcome.cut, unit)} and {earth(outcome.fill, unit)}"),
        ("left over, bank", earth(outcome.hauled, unit)),
        ("greatest fall", percent(outcome.greatest_fall)),
    )
