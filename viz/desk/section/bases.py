"""Base systems side by side at one place: what lies under the finish there, to one scale.

The layers are those of a cut through the place, so that the page shows what the drawings show;
trips, hours and money are the order's.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
import shapely
import shapely.ops

from grading.catalogue.verdicts import Verdict
from grading.design.area import AreaPlan
from grading.geometry.arrays import Floats
from grading.order.model import Job
from grading.order.telling import telling_of
from grading.pipeline import Plan
from grading.section.cut import Cut
from grading.section.line import Line, down_and_across
from grading.units import Unit, size, volume
from viz.desk.places import in_unit
from viz.desk.section.cuts import known_material, tones_of
from viz.tables.order import site_choice, site_jobs
from viz.words.advice import LEVEL_WORDS
from viz.words.figures import DIRT
from viz.words.plain import opened
from viz.words.screen.led import base_called

_INSIDE = 0.02  # m: a place on the very edge of the paving is cut so far inside of it
_SOIL = 0.12  # m of soil shown below the deepest of all the columns


def area_at(plan: Plan, place: Floats) -> tuple[AreaPlan, Floats] | None:
    """Return the area that a place (2,) is on [m], and the place; the nearest within a step of it.

    Parameters
    ----------
    plan : Plan
    place : (2,) float

    Returns
    -------
    (AreaPlan, (2,) float) or None
        None where the place is on no paving.
    """
    point = shapely.Point(place)
    area = min(plan.areas, key=lambda each: float(each.outline.distance(point)))
    if area.outline.distance(point) > _INSIDE:
        return None
    inner = area.outline.buffer(-_INSIDE)
    if not inner.is_empty and not inner.covers(point):
        point = shapely.ops.nearest_points(inner, point)[0]
    return area, np.array([point.x, point.y])


def usual_place(plan: Plan, area: AreaPlan) -> Floats:
    """Return the place at which bases are set side by side where nobody taps: mid-way down. [m]

    Parameters
    ----------
    plan : Plan
    area : AreaPlan
    """
    cut = plan.sections.along(area, down_and_across(plan, area)[0])
    first, last = max(cut.paved, key=lambda span: span[1] - span[0])
    return np.asarray(cut.plan_point((first + last) / 2))


def bases_record(
    plan: Plan, area: AreaPlan, place: Floats, *, counted: bool = True, prices: bool = True
) -> dict[str, Any]:
    """Return every base system of an area at a place on it, for the browser.

    Parameters
    ----------
    plan : Plan
    area : AreaPlan
    place : (2,) float
        On its paving. [m]
    counted : bool
        Whether the order and the advice are there to be told.
    prices : bool
        Whether money is shown.
    """
    unit = plan.site.unit
    line = Line(place, down_and_across(plan, area)[0].along)
    cuts = {name: plan.sections.along(area, line, name) for name in area.digs}
    s = float((place - cuts[area.chosen].start) @ line.along)
    columns = [_column(plan, area, name, cut, s, counted, prices) for name, cut in cuts.items()]
    deepest = max(float(cut.finish_at(s) - cut.dug_at(s)) for cut in cuts.values())
    ground = max(float(cut.ground_at(s) - cut.finish_at(s)) for cut in cuts.values())
    number = plan.site.areas.index(area.area)
    materials = [bed["material"] for column in columns for bed in column["beds"]]
    return {
        "at": f"area/{number}/base",
        "where": f"{opened(area.name)}, {plan.places.at(place)}.",
        "scale": "All to one scale, with the finish at the same level.",
        "about": _about(plan, area) if counted else "",
        "ground": "the ground today",
        "soil": "soil",
        "missed": "",
        "deepest": in_unit(deepest + _SOIL, unit),
        "highest": in_unit(max(ground, 0.0), unit),
        "columns": columns,
        "tones": tones_of((*materials, "soil")),
    }


def _about(plan: Plan, area: AreaPlan) -> str:
    """Say what the trips and the money of the columns are of."""
    if len(plan.areas) == 1:
        return "Dug, carried and paid: the whole job."
    return f"Dug, carried and paid: {area.name} alone, setting out and cleaning up not counted."


def _job(plan: Plan, area: AreaPlan, name: str) -> Job:
    if len(plan.areas) > 1:
        return plan.order.of(area).bases[name]
    jobs = site_jobs(plan.order)
    return jobs[name] if name in jobs else jobs[site_choice(plan.order)]


def _column(
    plan: Plan, area: AreaPlan, name: str, cut: Cut, s: float, counted: bool, prices: bool
) -> dict[str, Any]:
    unit = plan.site.unit
    top, dug = float(cut.finish_at(s)), float(cut.dug_at(s))
    ground, called = float(cut.ground_at(s)), base_called(name, cut.system.called)
    column: dict[str, Any] = {
        "base": name,
        "title": opened(called),
        "planned": name == area.chosen,
        "choose": f"Plan on {called}",
        "said": f"{called} under {area.name}",
        "tag": "planned" if name == area.chosen else "",
        "beds": list(_beds(cut, s, unit)),
        "ground": in_unit(ground - top, unit),
        "dug": in_unit(top - dug, unit),
        "dig": _dig_words(ground - dug, unit),
        "cut": volume(area.digs[name].cut, unit),
        "facts": [],
        "why": "",
    }
    if not counted:
        return column
    job = _job(plan, area, name)
    column["cut"] = volume(job.cut, unit)
    carrier = {"barrow": "barrow trips"}.get(plan.order.way.carrier, "trips")
    column["facts"] = [f"{job.haul.trips} {carrier}"]
    if prices:
        telling = telling_of(plan.order)
        cost = telling.words(job.cost.total)
        column["facts"].append(cost if telling.priced else f"{cost} of the cost as planned")
    choice = plan.advice.of(area).base
    verdict, best = choice.of(name), choice.advised
    if verdict is best:
        column["tag"] = "planned and advised" if column["planned"] else "advised"
    column["why"] = _why(verdict, choice.passed_over(name), verdict is best, prices)
    return column


def _why(verdict: Verdict, passed: str, best: bool, prices: bool) -> str:
    """Return the first that is said of a base: for the one advised, what speaks for it."""
    told = [reason for reason in verdict.reasons if prices or "cost" not in reason.rule]
    mine = [reason for reason in told if (reason.level == "for") == best]
    for reason in (*mine, *told):
        return f"{opened(LEVEL_WORDS[reason.level])}: {reason.text}."
    return f"{opened(passed)}."


def _beds(cut: Cut, s: float, unit: Unit) -> Iterator[dict[str, Any]]:
    for bed in cut.beds_at(s):
        yield {
            "name": bed.name, "material": known_material(bed.material),
            "thick": size(bed.thickness, unit, DIRT if bed.role == "refill" else 16),
            "top": in_unit(bed.top, unit), "bottom": in_unit(bed.bottom, unit),
        }  # fmt: skip


def _dig_words(depth: float, unit: Unit) -> str:
    if depth > 0:
        return f"dug {size(depth, unit, DIRT)} deep here"
    return f"nothing dug here: the ground lies {size(-depth, unit, DIRT)} lower"
