"""The detail where paving on one base meets paving on another: both build-ups, cut square to it."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

from grading.rules import Limits
from grading.units import Unit, run
from viz.drawings.compose import View
from viz.drawings.cut import Cut, cut_through
from viz.drawings.detail_cuts import Detail, Label
from viz.drawings.drawing import HIDDEN, OUTLINE
from viz.drawings.figures import level, small

if TYPE_CHECKING:
    from grading.joins import Join
    from grading.pipeline import AreaPlan, Plan

SHOWN = 0.42  # m of either side, where nothing reaches farther
BELOW, ABOVE = 0.07, 0.08  # m shown under the deeper subgrade and over the finish
_IN = 0.02  # m: how far inside its paving a cut begins
_LAYERS_AT = 0.62  # of what is shown of a side: where its layers are named


def join_detail(plan: Plan, join: Join, number: int, unit: Unit) -> Detail | None:
    """Return the section across a join, the deeper build-up on the right.

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
        None where one side is there already: what lies under it is not known but by name.
    """
    if join.there:
        return None
    areas = {area.area.name: area for area in plan.areas}
    one, other = (areas[name] for name in join.areas)
    if one.chosen_dig.build_up > other.chosen_dig.build_up:
        one, other = other, one
    found = _square_cut(plan, one, other, join)
    if found is None:
        return None
    cut, at = found
    taper = Limits(plan.site.limits)["join-taper"] if join.below else 0.0
    low = max(at - max(SHOWN, 1.1 * taper), cut.ends[0])
    high = min(at + SHOWN, cut.ends[1])

    def finish(area: AreaPlan, s: float) -> float:
        return float(area.finish.surface.at(np.array([cut.plan_point(s)]))[0])

    # Where each side's subgrade ends against the other.
    ends = finish(one, at) - one.chosen_dig.build_up, finish(other, at) - other.chosen_dig.build_up
    roof = max(finish(one, low), finish(other, high), finish(one, at)) + ABOVE
    window = (low, min(*ends, _deepest(cut, low, high)) - BELOW, high, roof)
    labels: list[Label] = [
        *_of_layers(one, at - _LAYERS_AT * min(SHOWN, at - low), finish, unit, beside=other),
        *_of_layers(other, at + _LAYERS_AT * (high - at), finish, unit),
        (at, finish(other, at) - 0.01, "soldier course along the join"),
    ]
    if "geotextile" in join.detail:
        labels.append((at, sum(ends) / 2 + 0.02, "geotextile on the face"))
    if taper:
        middle = at - taper / 2
        words = f"taper over {run(taper, unit)} or more"
        labels.append((middle, ends[1] + (ends[0] - ends[1]) / 2, words))

    def marks(view: View) -> None:
        draw = view.drawing
        draw.line([(at, ends[1]), (at, finish(other, at))], OUTLINE, "join")
        if taper:
            foot = finish(one, at - taper) - one.chosen_dig.build_up
            draw.line([(at, ends[1]), (at - taper, foot)], HIDDEN, "taper")

    name = f"Join {number}: {one.area.name} on {one.chosen_dig.system.called}, "
    name += f"{other.area.name} on {other.chosen_dig.system.called}"
    return Detail(name, cut, window, tuple(labels), marks)


def _square_cut(plan: Plan, one: AreaPlan, other: AreaPlan, join: Join) -> tuple[Cut, float] | None:
    """Return a cut from one area into the other, square to the longest side of their edge.

    With where it crosses the edge [m]; None where it does not.
    """
    sides = [
        side
        for line in shapely.get_parts(join.edge)
        for side in pairwise(shapely.get_coordinates(line))
    ]
    start, end = max(sides, key=lambda side: float(np.hypot(*(side[1] - side[0]))))
    along = (end - start) / float(np.hypot(*(end - start)))
    middle, normal = (start + end) / 2, np.array([-along[1], along[0]])
    if not other.outline.buffer(1e-6).contains(shapely.Point(middle + normal * _IN)):
        normal = -normal
    if not one.outline.buffer(1e-6).contains(shapely.Point(middle - normal * _IN)):
        return None
    cut = cut_through(plan, one, one.chosen_dig, middle - normal * _IN, normal, "", "")
    here = float((middle - cut.start) @ normal)
    ends = [last for first, last in cut.paved if first - 1e-6 <= here - _IN <= last + 1e-6]
    return (cut, ends[0]) if ends else None


def _deepest(cut: Cut, low: float, high: float) -> float:
    """Return the lowest that is dug in what is shown. [m]"""
    holes = [hole for hole in cut.holes if hole.start < high and hole.end > low]
    return min(
        float(cut.floor_of(hole, np.clip([low, high], hole.start, hole.end)).min())
        for hole in holes
    )


def _of_layers(
    area: AreaPlan, s: float, finish: Any, unit: Unit, beside: AreaPlan | None = None
) -> list[Label]:
    """Name the finish and every layer of an area where it is cut.

    Of the layers at its top those that go on as they are `beside` it are named there.
    """
    z = finish(area, s)
    found: list[Label] = [(s, z, f"{area.area.name} {level(z, unit)}")]
    others = () if beside is None else beside.chosen_dig.system.layers
    going_on = True
    for number, layer in enumerate(area.chosen_dig.system.layers):
        words = f"{layer.name} {small(layer.thickness, unit)}"
        going_on = going_on and number < len(others) and layer == others[number]
        if not going_on:
            found.append((s, z - layer.thickness / 2, words))
        z -= layer.thickness
    return found
