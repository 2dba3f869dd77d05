"""What is under it, and why not the other one? The build-ups side by side, to one scale."""

from __future__ import annotations

from collections.abc import Sequence

import shapely

from grading.catalogue.verdicts import Reason
from grading.design.area import AreaPlan
from grading.dig.beds import beds_of, depth_of
from grading.dig.hole import Dig
from grading.pipeline import Plan
from grading.units import Unit
from viz.drawings.answers.page import BODY, answer_sheet, foot
from viz.drawings.placing import Label, chosen_tag, chosen_width, label_column
from viz.paper.compose import Sheet, View
from viz.paper.drawing import OUTLINE, THIN, Drawing
from viz.paper.lettering import block, extent, fitting_size, fold
from viz.paper.page import Box, Scale, fitting_scale
from viz.words.figures import earth, earth_between, small
from viz.words.paving.beds import refill_words, thick_words

QUESTION = "What is under it, and why not the other one?"
MOST = 4  # columns
STACK = 11.0  # mm: width of a build-up
DIMENSION = 17.0  # mm beside it for its height
WORDS = 17.5  # mm under it for what it digs and the reason
REASON = 12.0  # mm of these for the reason
_HEAD = 4.5
_SOIL = 0.05  # m of soil shown below
_SIZE = 2.1
LEVELS = {
    "for": "For it", "care": "With care", "against": "Against it", "rules out": "Ruled out",
}  # fmt: skip


MORE = {
    "for": "for it", "care": "to know", "against": "against it", "rules out": "that rule it out",
}  # fmt: skip


def under_answer(plan: Plan, area: AreaPlan, reasons: bool = True) -> tuple[str, str, str, Sheet]:
    """Return key, question, words and sheet: the base systems side by side.

    The sheet is lower without the reason under each.
    """
    less = 0.0 if reasons else REASON
    sheet = answer_sheet("under", QUESTION, less)
    body = Box(BODY.x0, BODY.y0, BODY.x1, BODY.y1 - less)
    unit = plan.site.unit
    names = shown_of(area)
    tallest = max(depth_of(area.digs[name]) for name in names)
    room = (0.0, BODY.height - WORDS - _HEAD)
    scale = fitting_scale(unit, 0.0, tallest + _SOIL, room, at_most=4)
    for box, name in zip(body.columns([1] * max(len(names), 2), 3.0), names, strict=False):
        _column(sheet, box, plan, area, name, scale, unit, WORDS - less)
    about = "true scale, the same for each; compacted thicknesses"
    if any(area.digs[name].refill is not None for name in names):
        about += "; refill at its average, not in the height"
    foot(sheet, unit, scale, f"{about}.")
    return "under", QUESTION, words_of(plan, area), sheet


def shown_of(area: AreaPlan) -> list[str]:
    """Return the base systems that are shown: the chosen one first."""
    return [area.chosen, *(name for name in area.digs if name != area.chosen)][:MOST]


def _column(
    sheet: Sheet, box: Box, plan: Plan, area: AreaPlan, name: str, scale: Scale, unit: Unit,
    under: float,
) -> None:  # fmt: skip
    dig, chosen = area.digs[name], name == area.chosen
    title, draw = dig.system.title, sheet.paper
    tag = chosen_width(2.4, 3.0) if chosen else 0.0
    size = fitting_size(title, 2.8, box.width - tag - 2.0, 1.9)
    draw.text((box.x0 + 0.5, box.y1 - 1.8), title, size=size, bold=True, across="left")
    if chosen:
        chosen_tag(draw, (box.x1 - tag, box.y1 - 1.8), 2.4, 4.0, 3.0)
        edge = shapely.box(box.x0 - 1.2, box.y0 - 0.6, box.x1 + 1.2, box.y1 + 1.2)
        draw.lines(edge.boundary, OUTLINE, "chosen")
    top = box.y1 - _HEAD - 0.8
    wide = scale.metres(STACK)
    view = View(Drawing(title), scale, (box.x0 + DIMENSION, top))
    sheet.views.append(view)
    _stack(view, dig, wide)
    view.drawing.dimension((0.0, -dig.build_up), (0.0, 0.0), small(dig.build_up, unit),
                           offset=3.4, size=_SIZE)  # fmt: skip
    _layers(view, dig, wide, box, top, under, unit)
    _digs(sheet, box, dig, under, unit)
    if under >= WORDS:
        _reason(sheet, box, plan, area, name)


def _stack(view: View, dig: Dig, wide: float) -> None:
    draw = view.drawing
    for bed in beds_of(dig):
        draw.area(shapely.box(0.0, -bed.bottom, wide, -bed.top), bed.material, layer=bed.name)
    z = -depth_of(dig)
    draw.area(shapely.box(0.0, z - _SOIL, wide, z), "soil", layer="soil")
    draw.line([(0.0, 0.0), (wide, 0.0)], OUTLINE, "finish")


def _layers(
    view: View, dig: Dig, wide: float, box: Box, top: float, under: float, unit: Unit
) -> None:
    """Name and thickness of each layer beside it, and of the refill, from the top down."""
    column = box.x0 + DIMENSION + STACK + 3.0
    room = box.x1 - 0.8 - column  # the frame of the one chosen stands a hair beyond it
    labels: list[Label] = []
    for bed in beds_of(dig):
        name = f"{bed.name}," if bed.role == "refill" else bed.name
        thick = thick_words(dig, bed, unit)
        words = f"{name} {thick}"
        if extent(words, _SIZE)[0] > room:
            if extent(thick, _SIZE)[0] > room:
                thick = thick.replace(" (", "\n(")
            words = fold(f"{name}\n{thick}", _SIZE, room)
        labels.append((wide - view.scale.metres(1.5), -(bed.top + bed.bottom) / 2, words))
    label_column(view, labels, column, (box.y0 + under + 0.5, top + 1.0), _SIZE, 0.9)


def _digs(sheet: Sheet, box: Box, dig: Dig, under: float, unit: Unit) -> None:
    """Say what a base system digs and refills."""
    draw, y = sheet.paper, box.y0 + under - 1.0
    words = f"digs {earth(dig.cut, unit)}"
    if dig.fill > 5e-3:
        words += f", refills {earth(dig.fill, unit)}"
    size = fitting_size(words, 2.3, box.width - 1, 1.7, 0.05)
    draw.paragraph((box.x0 + 0.5, y), words, size=size, bold=True)
    draw.line([(box.x0, y + 1.0), (box.x1, y + 1.0)], THIN, "table")


def _reason(sheet: Sheet, box: Box, plan: Plan, area: AreaPlan, name: str) -> None:
    said, y, size = reason_of(plan, area, name), box.y0 + WORDS - 1.0, 2.3
    while block(fold(said, size, box.width - 1), size)[1] > WORDS - 5.0 and size > 1.5:
        size -= 0.05
    sheet.paper.paragraph((box.x0 + 0.5, y - 3.6), fold(said, size, box.width - 1), size=size,
                          layer="reason")  # fmt: skip


def reason_of(plan: Plan, area: AreaPlan, name: str) -> str:
    """Return the strongest reason against a base system, or where there is none, one for it."""
    advice = plan.advice.area(area.area.name)
    if name == area.area.base and advice.reason and advice.overruled:
        return f"Chosen: {advice.reason}"
    verdict = advice.base.of(name)
    if not verdict.reasons:
        return f"N{advice.base.passed_over(name)[1:]}."
    first, *rest = verdict.reasons
    # A homeowner reads it: in the plain words that the sheet beside it says it in.
    said = f"{LEVELS[first.level]}: {first.plain}."
    return f"{said} {_more(rest)}" if rest else said


def _more(rest: Sequence[Reason]) -> str:
    """Say how many reasons of each kind there is no room for."""
    counts = {level: sum(each.level == level for each in rest) for level in LEVELS}
    told = [f"{count} more {MORE[level]}" for level, count in counts.items() if count]
    return f"And {', '.join(reversed(told))}."


def words_of(plan: Plan, area: AreaPlan) -> str:
    """Say what the chosen build-up is, and what each other one digs beside it."""
    unit, dig = plan.site.unit, area.chosen_dig
    layers = ", ".join(
        f"{layer.name} {small(layer.thickness, unit)}" for layer in dig.system.layers
    )
    under = f", on {refill_words(dig, unit)}" if dig.refill is not None else ""
    said = [f"{dig.system.title}: {layers}; {small(dig.build_up, unit)} in all{under}."]
    others = [
        f"{area.digs[name].system.called} digs {earth_between(area.digs[name].cut, dig.cut, unit)}"
        for name in shown_of(area)[1:]
    ]
    if others:
        words = ", ".join(others)
        said.append(f"Against it, {words}; the reasons stand under each.")
    choice = plan.advice.area(area.area.name).base
    advised = choice.advised
    if choice.caveat and advised is not None and advised.option.name == area.chosen:
        said.append(f"To be said of it: {choice.caveat}.")
    return " ".join(said)
