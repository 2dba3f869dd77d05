"""The sheets of a mixed site: what stands on what, in plan, and a section across every join.

The section has both build-ups where they meet, cut square to their join.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import shapely
from shapely.geometry.base import BaseGeometry

from grading.answers.site import SiteAnswer, joins_words, site_answer, standing_words
from grading.conditions.joins import Join
from grading.design.area import AreaPlan
from grading.pipeline import Plan
from grading.section.cut import Cut
from grading.section.square import Side, join_cut, with_what_is_there
from grading.units import Unit, counted, run
from viz.drawings.details.cuts import Detail, draw_cut_detail
from viz.drawings.placing import Label, end_plan, end_sheet, plan_sheet
from viz.drawings.plan.column import Column
from viz.drawings.plan.site_marks import draw_features, own_bases
from viz.drawings.plan.view import HOUSE, draw_house, hatch_lines, name_area
from viz.drawings.section.led import named
from viz.paper.compose import Sheet, View
from viz.paper.drawing import CUT, FAINT, HIDDEN, OUTLINE
from viz.paper.page import Box, Page
from viz.words.figures import earth, level, small

TITLE = "What stands on what"
SIDE = 96.0  # mm: the words beside the plan
AROUND = 1.2  # m
MARK = 2.6  # mm: radius of the mark of a join
HATCH = 3.2  # mm between lines
MOST = 2  # sections on a sheet: they are long and low

SHOWN = 0.42  # m of either side, where nothing reaches farther
BELOW, ABOVE = 0.07, 0.08  # m shown under the deeper subgrade and over the finish
_LAYERS_AT = 0.62  # of what is shown of a side: where its layers are named


def bases_sheets(plan: Plan, page: Page) -> Iterator[Sheet]:
    """Yield the plan of what stands on what, then the sections across its joins, two to a sheet.

    None where one area stands on one base, and nothing on it has a base of its own.

    Parameters
    ----------
    plan : Plan
    page : Page
    """
    answer = site_answer(plan)
    if not answer.mixed:
        return
    yield _plan_sheet(plan, answer, page)
    yield from joins_sheets(plan, answer, page)


def join_details(plan: Plan, answer: SiteAnswer) -> Iterator[Detail]:
    """Yield a section across each join of areas.

    Parameters
    ----------
    plan : Plan
    answer : SiteAnswer
    """
    for number, join in enumerate(answer.joins, start=1):
        found = join_detail(plan, join, number, plan.site.unit)
        if found is not None:
            yield found


def _plan_sheet(plan: Plan, answer: SiteAnswer, page: Page) -> Sheet:
    window = bases_window(plan)
    sheet, view, side = plan_sheet(page, "bases", TITLE, window, SIDE, 3, plan.site.unit)
    bases_plan(view, plan, answer, window)
    _words(Column(sheet, side), plan, answer)
    return end_plan(
        sheet, plan, plan.areas,
        "Hatched: on stone, rising where it has fines, falling where it is clean; not hatched: on "
        "panels. Dashed: what has a base of its own.",
    )  # fmt: skip


def joins_sheets(plan: Plan, answer: SiteAnswer, page: Page) -> Iterator[Sheet]:
    """Yield the sections across the joins, two to a sheet.

    Parameters
    ----------
    plan : Plan
    answer : SiteAnswer
    page : Page
    """
    details = list(join_details(plan, answer))
    for first in range(0, len(details), MOST):
        there = any(join.there for join in answer.joins)
        key = f"joins-{first // MOST + 1}" if first else "joins"
        sheet = Sheet(page, key, "Where two bases meet")
        yield _details_sheet(sheet, plan, details[first : first + MOST], there)


def bases_window(plan: Plan) -> BaseGeometry:
    """Return all paving with a little around it. [m]"""
    paving = shapely.union_all([area.outline for area in plan.areas])
    return paving.envelope.buffer(max(AROUND, HOUSE), join_style="mitre")


def bases_plan(view: View, plan: Plan, answer: SiteAnswer, window: BaseGeometry) -> None:
    """Draw every area with what it stands on, and the joins by their numbers.

    Parameters
    ----------
    view : View
    plan : Plan
    answer : SiteAnswer
    window : shapely geometry
        What is shown. [m]
    """
    draw = view.drawing
    draw_house(view, plan, window, sills=False)
    for area in plan.areas:
        draw.area(area.outline, fill="#f7f5f1", layer="paving")
        draw.lines(_hatch(view, area), FAINT, "base hatch")
        draw.lines(area.outline.boundary, OUTLINE, "outline of paving")
    for base in own_bases(plan, window):
        draw.area(base, fill="#ffffff", layer="own base")
        draw.lines(base.boundary, HIDDEN, "own base")
    draw_features(view, plan, window)
    for area in plan.areas:
        dig = area.chosen_dig
        words = f"{area.area.name}\non {dig.system.called}"
        name_area(view, words, area.outline)
    _joins(view, answer)


def _hatch(view: View, area: AreaPlan) -> shapely.Geometry:
    """Return lines over paving on stone: rising on what has fines, falling on clean stone."""
    system, step = area.chosen_dig.system, view.scale.metres(HATCH)
    stone = {layer.material for layer in system.layers if layer.role == "base"}
    lines = [
        hatch_lines(area.outline, step, rising=material != "open-graded")
        for material in sorted(stone)
    ]
    return shapely.union_all(lines)


def _joins(view: View, answer: SiteAnswer) -> None:
    """Draw each join heavy, with its number in a circle at its middle."""
    draw = view.drawing
    for number, join in enumerate(answer.joins, start=1):
        draw.lines(join.edge, CUT, "join")
        longest = max(shapely.get_parts(join.edge), key=lambda part: float(part.length))
        at = longest.interpolate(0.5, normalized=True)
        mark = at.buffer(view.scale.metres(MARK))
        draw.area(mark, fill="#ffffff", pen=OUTLINE, layer="join mark")
        draw.text(at.coords[0], str(number), size=2.8, bold=True, layer="join mark")


def _words(column: Column, plan: Plan, answer: SiteAnswer) -> None:
    """Write what each area stands on, why, what stands on it, and what is built at each join."""
    unit = plan.site.unit
    for one, area in zip(answer.areas, plan.areas, strict=True):
        dig = area.chosen_dig
        column.head(one.area)
        column.row(f"on {one.title}, {small(dig.build_up, unit)} below the finish", bold=True)
        column.row(one.why)
        standing = standing_words(one)
        if standing:
            column.row(standing)
        column.row(
            f"{earth(one.takes.cut, unit)} dug, {counted(one.takes.trips, 'trip')}", quiet=True
        )
    if answer.joins:
        column.head("Where two bases meet")
    for words in joins_words(answer, unit):
        column.row(words)


def _details_sheet(sheet: Sheet, plan: Plan, details: Sequence[Detail], there: bool) -> Sheet:
    said = [
        draw_cut_detail(sheet, box, detail, plan.site.unit).scale.words.split(" (")[0]
        for box, detail in zip(_rows(sheet.page.body, len(details)), details, strict=True)
    ]
    note = "Cut square to the join, at the middle of its longest side. Dashed: the taper of the "
    note += "stone, which dig and order do not count."
    if there:
        note += " What is there already was not surveyed: pavers on the base given for it."
    return end_sheet(sheet, plan, plan.areas, ", ".join(dict.fromkeys(said)), note)


def _rows(body: Box, count: int) -> list[Box]:
    """Return a box across the sheet for each section, from the top down."""
    high = body.height / count
    tops = [body.y1 - k * high for k in range(count)]
    return [Box(body.x0, top - high + 3.0, body.x1, top) for top in tops]


def join_detail(plan: Plan, join: Join, number: int, unit: Unit) -> Detail | None:
    """Return the section across a join, on its right the deeper build-up or what is there.

    Parameters
    ----------
    plan : Plan
    join : Join
    number : int
        Of the join, as the plan marks it.
    unit : "ft" or "m"

    Returns
    -------
    Detail or None
        None where the edge runs so that no line square to it goes from one side to the other.
    """
    made = join_cut(plan.sections, join)
    if made is None:
        return None
    at, left, right, taper = made.at, made.left, made.right, made.taper
    low = max(at - max(SHOWN, 1.1 * taper), made.cut.ends[0])
    high = min(at + SHOWN, made.cut.ends[1])
    if join.there:
        made = with_what_is_there(made, high)
    # Where each side's subgrade ends against the other.
    cut, ends, top = made.cut, made.subgrades, right.finish(made.cut, at)
    roof = max(left.finish(cut, low), right.finish(cut, high), left.finish(cut, at)) + ABOVE
    window = (low, min(*ends, cut.deepest_in(low, high)) - BELOW, high, roof)
    labels: list[Label] = [
        *_of_layers(left, cut, at - _LAYERS_AT * min(SHOWN, at - low), unit, beside=right),
        *_of_layers(right, cut, at + _LAYERS_AT * (high - at), unit),
        (at, top - 0.01, "the step between them" if join.at_step else "soldier course along it"),
    ]
    if "geotextile" in join.detail:
        labels.append((at, sum(ends) / 2 + 0.02, "geotextile on the face"))
    if taper:
        labels.append((at - taper / 2, sum(ends) / 2, f"taper over {run(taper, unit)} or more"))

    def marks(view: View) -> None:
        view.drawing.line([(at, min(ends)), (at, top)], OUTLINE, "join")
        if taper:
            start = at - taper
            view.drawing.line([(at, ends[1]), (start, left.subgrade(cut, start))], HIDDEN, "taper")

    name = f"Join {number}: {left.name} on {left.dig.system.called}, "
    name += f"{right.name} on {right.dig.system.called}"
    name += ", which is there already" if join.there else ""
    return Detail(name, cut, window, tuple(map(named, labels)), marks)


def _of_layers(
    side: Side, cut: Cut, s: float, unit: Unit, beside: Side | None = None
) -> Iterator[Label]:
    """Name the finish and every layer of a side where it is cut.

    Of the layers at its top those that go on as they are `beside` it are named there.
    """
    z = side.finish(cut, s)
    yield s, z, f"{side.name} {level(z, unit)}"
    others = () if beside is None else beside.dig.system.layers
    system, going_on = side.dig.system, True
    for number, (layer, top) in enumerate(zip(system.layers, system.tops(), strict=True)):
        going_on = going_on and number < len(others) and layer == others[number]
        if not going_on:
            words = f"{layer.name} {small(layer.thickness, unit)}"
            yield s, z - top - layer.thickness / 2, words
