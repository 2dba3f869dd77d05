"""The detail where paving on one base meets paving on another: both build-ups, cut square to it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import shapely

from grading.catalogue.rules import Limits
from grading.units import Unit, run
from viz.drawings.details.cuts import Detail, Label
from viz.drawings.section.cut import Cut, Interval, cut_through, paving_there
from viz.paper.compose import View
from viz.paper.drawing import HIDDEN, OUTLINE
from viz.words.figures import level, small

if TYPE_CHECKING:
    from grading.conditions.joins import Join
    from grading.design.area import AreaPlan
    from grading.dig.hole import Dig
    from grading.geometry.facets import Surface
    from grading.pipeline import Plan

SHOWN = 0.42  # m of either side, where nothing reaches farther
BELOW, ABOVE = 0.07, 0.08  # m shown under the deeper subgrade and over the finish
_IN = 0.02  # m: how far inside its paving a cut begins
_NEAR = 1e-6  # m
_LAYERS_AT = 0.62  # of what is shown of a side: where its layers are named


@dataclass(frozen=True)
class Side:
    """One side of a join: what it is called, its base, and its finish."""

    name: str
    dig: Dig
    surface: Surface

    def finish(self, cut: Cut, s: float) -> float:
        """Return its finish at a distance along a cut, both in m."""
        return float(self.surface.at(np.array([cut.plan_point(s)]))[0])


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
    areas = {area.area.name: area for area in plan.areas}
    one = areas[join.areas[0]]
    other = one if join.there else areas[join.areas[1]]
    if not join.there and one.chosen_dig.build_up > other.chosen_dig.build_up:
        one, other = other, one
    found = _square_cut(plan, one, None if join.there else other, join)
    if found is None:
        return None
    cut, at = found
    left = Side(one.area.name, one.chosen_dig, one.finish.surface)
    right = Side(other.area.name, other.chosen_dig, other.finish.surface)
    if join.there:
        right = Side(join.areas[1], one.digs[join.bases[1]], one.finish.surface)
    deeper = right.dig.build_up - left.dig.build_up
    taper = Limits(plan.site.limits)["join-taper"] if deeper > 0 else 0.0
    low = max(at - max(SHOWN, 1.1 * taper), cut.ends[0])
    high = min(at + SHOWN, cut.ends[1])
    if join.there:
        there = paving_there(one, right.dig, cut, (at, high), right.name)
        cut = replace(cut, others=(*cut.others, there), dug=_ending(cut.dug, at))
    # Where each side's subgrade ends against the other.
    ends = tuple(side.finish(cut, at) - side.dig.build_up for side in (left, right))
    roof = max(left.finish(cut, low), right.finish(cut, high), left.finish(cut, at)) + ABOVE
    window = (low, min(*ends, _deepest(cut, low, high)) - BELOW, high, roof)
    top = right.finish(cut, at)
    labels: list[Label] = [
        *_of_layers(left, cut, at - _LAYERS_AT * min(SHOWN, at - low), unit, beside=right),
        *_of_layers(right, cut, at + _LAYERS_AT * (high - at), unit),
        (at, top - 0.01, "the step between them" if join.at_step else "soldier course along it"),
    ]
    if "geotextile" in join.detail:
        labels.append((at, sum(ends) / 2 + 0.02, "geotextile on the face"))
    if taper:
        middle = ends[1] + (ends[0] - ends[1]) / 2
        labels.append((at - taper / 2, middle, f"taper over {run(taper, unit)} or more"))

    def marks(view: View) -> None:
        draw = view.drawing
        draw.line([(at, min(ends)), (at, top)], OUTLINE, "join")
        if taper:
            foot = left.finish(cut, at - taper) - left.dig.build_up
            draw.line([(at, ends[1]), (at - taper, foot)], HIDDEN, "taper")

    name = f"Join {number}: {left.name} on {left.dig.system.called}, "
    name += f"{right.name} on {right.dig.system.called}"
    name += ", which is there already" if join.there else ""
    return Detail(name, cut, window, tuple(labels), marks)


def _ending(spans: tuple[Interval, ...], at: float) -> tuple[Interval, ...]:
    """Return what of some intervals lies before a place."""
    return tuple((low, min(high, at)) for low, high in spans if low < at)


def _square_cut(
    plan: Plan, one: AreaPlan, other: AreaPlan | None, join: Join
) -> tuple[Cut, float] | None:
    """Return a cut out of one area across a join, square to the longest side of their edge.

    With where it crosses the edge [m]; None where it does not go from one to the other.
    """
    sides = [
        side
        for line in shapely.get_parts(join.edge)
        for side in pairwise(shapely.get_coordinates(line))
    ]
    start, end = max(sides, key=lambda side: float(np.hypot(*(side[1] - side[0]))))
    along = (end - start) / float(np.hypot(*(end - start)))
    middle, normal = (start + end) / 2, np.array([-along[1], along[0]])
    # What is met may have been drawn a little off the paving.
    foot = one.outline.boundary.interpolate(one.outline.boundary.project(shapely.Point(middle)))
    middle = np.asarray(foot.coords[0])
    if one.outline.contains(shapely.Point(middle + normal * _IN)):
        normal = -normal
    if not one.outline.contains(shapely.Point(middle - normal * _IN)):
        return None
    if other is not None and not other.outline.buffer(_NEAR).contains(
        shapely.Point(middle + normal * _IN)
    ):
        return None
    cut = cut_through(plan, one, one.chosen_dig, middle - normal * _IN, normal, "", "")
    here = float((middle - cut.start) @ normal)
    ends = [last for first, last in cut.paved if first - _NEAR <= here - _IN <= last + _NEAR]
    return (cut, ends[0]) if ends else None


def _deepest(cut: Cut, low: float, high: float) -> float:
    """Return the lowest that is dug in what is shown. [m]"""
    holes = [hole for hole in cut.holes if hole.start < high and hole.end > low]
    return min(
        float(cut.floor_of(hole, np.clip([low, high], hole.start, hole.end)).min())
        for hole in holes
    )


def _of_layers(
    side: Side, cut: Cut, s: float, unit: Unit, beside: Side | None = None
) -> list[Label]:
    """Name the finish and every layer of a side where it is cut.

    Of the layers at its top those that go on as they are `beside` it are named there.
    """
    z = side.finish(cut, s)
    found: list[Label] = [(s, z, f"{side.name} {level(z, unit)}")]
    others = () if beside is None else beside.dig.system.layers
    going_on = True
    for number, layer in enumerate(side.dig.system.layers):
        words = f"{layer.name} {small(layer.thickness, unit)}"
        going_on = going_on and number < len(others) and layer == others[number]
        if not going_on:
            found.append((s, z - layer.thickness / 2, words))
        z -= layer.thickness
    return found
