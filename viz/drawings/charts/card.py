"""The decision card as one page: what every base costs and digs over every depth of topsoil.

Told apart without colour: each base has a line of its own kind and a mark of its own shape, and
stands beside the end of its line by name.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import ceil

import shapely
from msgspec import Struct
from shapely.geometry.base import BaseGeometry

from grading.answers.card import CardRow
from grading.answers.card_words import FINISH_STAYS, depth_words, topsoil_words
from grading.design.over_topsoil import topsoil_of, topsoil_steps
from grading.geometry.tolerances import ROUNDING, WHOLE
from grading.order.model import Job
from grading.order.telling import telling_of
from grading.units import HOUR, cubic_yards, inches
from viz.drawings.placing import end_sheet
from viz.paper.compose import Sheet
from viz.paper.drawing import FAINT, FINE, HIDDEN, OUTLINE, THIN, Pen
from viz.paper.lettering import block, extent, fold
from viz.paper.page import Box, Page
from viz.tables.card import CardSheet, verdicts

Base = str | None
Change = tuple[float, Base, Base]  # at what depth [m], from which base to which

_HEAD, _SIZE, _SMALL = 3.4, 2.8, 2.4
_TICKS = 7
_STRIP = 6.5  # mm: height of the strips that say what is advised
_MARK = 1.3  # mm
_BETWEEN = 4.4  # mm between strips: the depths at which they turn stand there
_BESIDE = ((-4.0, 0.0), (4.0, 0.0), (-7.0, 0.0), (7.0, 0.0))
_GAP = 3.4  # mm between the names at the ends of lines
_STEPS = (1.0, 2.0, 2.5, 5.0)
_LINES = (Pen(0.8), Pen(0.8, dash=(4.0, 1.4)), Pen(0.8, dash=(1.2, 1.0)),
          Pen(0.8, dash=(5.0, 1.2, 1.0, 1.2)), Pen(0.4), Pen(0.4, dash=(3.0, 1.2)))  # fmt: skip
_GREYS = ("#ffffff", "#cfcfcf", "#8f8f8f", "#e8e8e8", "#b0b0b0", "#707070")
NOTE = "Means; a line leaps where one more bin, load or pack is needed. No promise, no offer."


class Axes(Struct, frozen=True):
    """Where depths of topsoil [m] and values stand on paper. [mm]"""

    box: Box
    deepest: float
    low: float
    high: float

    def x(self, depth: float) -> float:
        """Return where a depth stands."""
        return self.box.x0 + depth / self.deepest * self.box.width

    def y(self, value: float) -> float:
        """Return where a value stands."""
        return self.box.y0 + (value - self.low) / (self.high - self.low) * self.box.height


def card_chart(made: CardSheet, page: Page) -> Sheet:
    """Return the page of a decision card.

    Parameters
    ----------
    made : CardSheet
    page : Page
    """

    card = made.card
    plan = card.plan
    unit, telling = plan.site.unit, telling_of(plan.order)
    sheet = Sheet(page, "card", "What every base takes over every depth of topsoil")
    body = page.body
    words = "\n".join(fold(each, _SMALL, body.width) for each in verdicts(made))
    low = body.y0 + block(words, _SMALL)[1] + 3.0
    sheet.paper.paragraph((body.x0, low - 1.5), words, size=_SMALL)
    strips = len(plan.areas) + 1
    under = 12.0 + strips * (_STRIP + _BETWEEN)
    left, right = Box(body.x0, low, body.x1, body.y1).columns([1.45, 1.0], 6.0)
    rows = [row for row in card.rows if row.depth is not None and row.depth <= _deepest(made)]
    cost = Box(left.x0 + 17, low + under, left.x1 - 24, body.y1 - 9)
    dig = Box(right.x0 + 10, low + under, right.x1 - 22, body.y1 - 9)
    axes = _chart(
        sheet, made, cost, rows, f"Cost of the whole site, {telling.head}",
        lambda job: job.cost.total if telling.priced else 100 * telling.part(job.cost.total),
        lambda value: f"{value:,.0f}" if telling.priced else f"{value:g}",
    )  # fmt: skip
    mark = "yd³" if unit == "ft" else "m³"

    def moved(job: Job) -> float:
        earth = job.cut + job.fill
        return float(cubic_yards(earth) if unit == "ft" else earth)

    _chart(sheet, made, dig, rows, f"Dug and refilled, {mark}", moved, lambda value: f"{value:g}")
    _strips(sheet, made, axes, low)
    _table(sheet, made, Box(right.x0, low, right.x1, low + under - 10.0))
    none = "none: a diagram"
    return end_sheet(sheet, plan, plan.areas, none, f"{FINISH_STAYS} {NOTE}", none)


def _deepest(made: CardSheet) -> float:

    return topsoil_steps(made.card.plan.site.unit)[-1]


def _round(span: float) -> float:
    """Return a round step that divides a span into a few."""
    step = 10.0**-6
    while True:
        for each in _STEPS:
            if span / (each * step) <= _TICKS:
                return each * step
        step *= 10


def _chart(
    sheet: Sheet, made: CardSheet, box: Box, rows: Sequence[CardRow], title: str,
    value: Callable[[Job], float], words: Callable[[float], str],
) -> Axes:  # fmt: skip
    draw = sheet.paper
    names = list(rows[0].jobs)
    values = {name: [value(row.jobs[name]) for row in rows] for name in names}
    every = [each for of in values.values() for each in of]
    step = _round(max(max(every) - min(every), 0.02 * max(every), WHOLE))
    low = max(step * int(min(every) / step) - (step if min(every) % step < ROUNDING else 0.0), 0.0)
    high = step * ceil(max(every) / step + ROUNDING)
    axes = Axes(box, _deepest(made), low, high if high > low else low + step)
    draw.paragraph((box.x0 - 9, box.y1 + 7.5), title, size=_HEAD, bold=True)
    for number in range(round((axes.high - axes.low) / step) + 1):
        y = axes.y(axes.low + number * step)
        draw.line([(box.x0, y), (box.x1, y)], FAINT, "grid")
        draw.text((box.x0 - 1.6, y), words(round(axes.low + number * step, 6)), size=_SMALL,
                  across="right")  # fmt: skip
    draw.line([(box.x0, box.y1), (box.x0, box.y0), (box.x1, box.y0)], THIN, "axis")
    _depths(sheet, made, axes)
    _reckoned(sheet, made, axes)
    for place, name in enumerate(names):
        points = [(axes.x(row.depth or 0.0), axes.y(each))
                  for row, each in zip(rows, values[name], strict=True)]  # fmt: skip
        draw.line(points, _LINES[place % len(_LINES)], f"line {name}")
        for point in points:
            draw.area(_mark(point, place), fill="#ffffff" if place % 2 else "#1a1a1a",
                      pen=OUTLINE, layer="mark")  # fmt: skip
    _names(sheet, made, axes, {name: of[-1] for name, of in values.items()})
    return axes


def _depths(sheet: Sheet, made: CardSheet, axes: Axes) -> None:
    draw, unit, box = sheet.paper, made.card.plan.site.unit, axes.box

    wide = 0.0
    for depth in topsoil_steps(unit):
        x = axes.x(depth)
        draw.line([(x, box.y0), (x, box.y0 - 1.2)], THIN, "axis")
        words = inches(depth).removesuffix(" in") if unit == "ft" else f"{depth * 1000:.0f}"
        if x - extent(words, _SMALL)[0] / 2 > wide:
            draw.text((x, box.y0 - 2), words, size=_SMALL, up="top")
            wide = x + extent(words, _SMALL)[0] / 2 + 1.0
    words = f"topsoil, {'inches' if unit == 'ft' else 'mm'}"
    draw.text(((box.x0 + box.x1) / 2, box.y0 - 5.6), words, size=_SIZE, up="top", bold=True)


def _reckoned(sheet: Sheet, made: CardSheet, axes: Axes) -> None:
    """Mark the topsoil that the plan reckons with: a line, or a band where it was probed."""
    draw, box, plan = sheet.paper, axes.box, made.card.plan
    least, most = (min(each, axes.deepest) for each in topsoil_of(plan))
    if most - least > WHOLE:
        band = shapely.box(axes.x(least), box.y0, axes.x(most), box.y1)
        draw.area(band, fill="#eeeeee", layer="reckoned")
    for depth in {least, most}:
        draw.line([(axes.x(depth), box.y0), (axes.x(depth), box.y1)], HIDDEN, "reckoned")
    words = f"reckoned with: {topsoil_words(plan)}"
    x, size = axes.x((least + most) / 2), _SMALL
    half = extent(words, size)[0] / 2
    x = min(max(x, box.x0 + half), box.x1 - half)
    draw.text((x, box.y1 + 0.7), words, size=size, up="bottom", ground=True)


def _mark(at: tuple[float, float], place: int) -> BaseGeometry:
    """Return the mark of a base: round, square, pointed up, and so on."""
    x, y = at
    r = _MARK
    shapes: tuple[BaseGeometry, ...] = (
        shapely.Point(x, y).buffer(0.85 * r),
        shapely.box(x - 0.75 * r, y - 0.75 * r, x + 0.75 * r, y + 0.75 * r),
        shapely.Polygon([(x - r, y - 0.7 * r), (x + r, y - 0.7 * r), (x, y + r)]),
        shapely.Polygon([(x - r, y), (x, y - r), (x + r, y), (x, y + r)]),
    )
    return shapes[place % len(shapes)]


def _names(sheet: Sheet, made: CardSheet, axes: Axes, ends: dict[str, float]) -> None:
    """Write the names of the bases beside the ends of their lines, none on another."""
    draw = sheet.paper
    order = sorted(ends, key=lambda name: ends[name])
    places: list[float] = []
    for name in order:
        y = axes.y(ends[name])
        places.append(max(y, places[-1] + _GAP) if places else y)
    over = max(places[-1] - axes.box.y1, 0.0)
    floor = places[0] - over
    for number in range(len(places) - 1, -1, -1):
        top = axes.box.y1 - _GAP * (len(places) - 1 - number)
        places[number] = max(min(places[number], top), floor + _GAP * number - over)
    kinds = list(made.card.rows[0].jobs)
    x = axes.box.x1 + 2.0
    for name, y in zip(order, places, strict=True):
        draw.line([(axes.box.x1 + 0.4, axes.y(ends[name])), (x, y)], FINE, "lead")
        place = kinds.index(name)
        draw.area(_mark((x + 1.6, y), place), fill="#ffffff" if place % 2 else "#1a1a1a",
                  pen=OUTLINE, layer="mark")  # fmt: skip
        draw.text((x + 3.8, y), name, size=_SIZE, across="left", bold=True)


def _strips(sheet: Sheet, made: CardSheet, axes: Axes, low: float) -> None:
    """Say under the chart which base is advised for each area, and which is the cheapest."""
    card, plan = made.card, made.card.plan
    rows: list[tuple[str, list[Change], Base]] = [
        (
            "advised" if len(plan.areas) == 1 else f"advised, {area.area.name}",
            [(turn.value, turn.before[place], turn.after[place]) for turn in card.advised_turns],
            card.rows[-1].advised[place],
        )
        for place, area in enumerate(plan.areas)
    ]
    turns: list[Change] = [(turn.value, turn.before, turn.after) for turn in card.cheapest_turns]
    top = axes.box.y0 - 13.0
    for number, (title, found, last) in enumerate(
        [*rows, ("cheapest", turns, card.rows[-1].cheapest)]
    ):
        _strip(sheet, made, axes, top - number * (_STRIP + _BETWEEN), title, found, last)


def _strip(
    sheet: Sheet, made: CardSheet, axes: Axes, top: float, title: str,
    turns: Sequence[Change], last: Base,
) -> None:  # fmt: skip
    draw, unit = sheet.paper, made.card.plan.site.unit
    kinds = list(made.card.rows[0].jobs)
    middle = top - _STRIP / 2
    words = fold(title, _SMALL, 16.0, True)
    draw.text((axes.box.x0 - 1.6, middle), words, size=_SMALL, across="right", bold=True)
    start = 0.0
    changes = [turn for turn in turns if turn[1] != turn[2]]
    for value, base, end in [
        *((value, before, True) for value, before, _ in changes), (axes.deepest, last, False)
    ]:  # fmt: skip
        x0, x1 = axes.x(start), axes.x(value)
        grey = _GREYS[kinds.index(base) % len(_GREYS)] if base in kinds else "#ffffff"
        draw.area(shapely.box(x0, top - _STRIP, x1, top), fill=grey, pen=OUTLINE, layer="strip")
        name = base or "none"
        if extent(name, _SIZE, True)[0] + 1.5 < x1 - x0:
            draw.text(((x0 + x1) / 2, middle), name, size=_SIZE, bold=True, ground=True)
        if end:
            at = depth_words(value, unit)
            draw.line([(x1, top), (x1, top + 0.9)], OUTLINE, "turn")
            draw.text((x1, top + 1.1), at, size=2.2, up="bottom", others=_BESIDE)
        start = value


def _table(sheet: Sheet, made: CardSheet, box: Box) -> None:
    """Set trips, bins and hours of every base beside each other at the depth reckoned with."""
    draw, card = sheet.paper, made.card
    row = card.reckoned
    columns = (("base", 0.0), ("trips", 0.48), ("bins", 0.66), ("hours", 0.86))

    y = box.y1 - 1.0
    words = f"With the {topsoil_words(card.plan)} reckoned with"
    draw.paragraph((box.x0, y), words, size=_SIZE, bold=True)
    y -= 4.6
    for title, share in columns:
        across = "left" if share == 0.0 else "right"
        draw.text((box.x0 + share * box.width, y), title, size=_SMALL, across=across, up="top")
    y -= 3.8
    for name, job in row.jobs.items():
        draw.line([(box.x0, y + 0.4), (box.x0 + 0.88 * box.width, y + 0.4)], FINE, "table")
        cells = (name, f"{job.haul.trips}", f"{job.haul.bins.count}", f"{job.time.mean / HOUR:.0f}")
        for (_, share), cell in zip(columns, cells, strict=True):
            across = "left" if share == 0.0 else "right"
            draw.text((box.x0 + share * box.width, y), cell, size=_SMALL, across=across, up="top")
        y -= 3.8
