"""What the section view of the page is told: the cut that is asked for, the bases at a place."""

from __future__ import annotations

from typing import Any

import numpy as np

from grading.design.area import AreaPlan
from grading.pipeline import Plan
from grading.units import METRES
from viz.desk.places import placed
from viz.desk.section.bases import area_at, bases_record, usual_place
from viz.desk.section.cuts import Points, Way, cut_record, line_through, ways_of
from viz.desk.seen import Asked, Seen
from viz.file_names import slug
from viz.words.plain import opened
from viz.words.screen.led import base_called

NAMES = {
    "cut": "One cut",
    "bases": "Bases side by side",
    "save": "Save the picture",
    "one_scale": "Heights to scale",
    "systems": "On",
    "slide": "Move the line",
    "way": "Where it is cut",
    "own_way": "where its line was laid",
    "levels": "Levels along the cut",
    "keys": "The cut. Left and right arrow keys move its line.",
}
"""What stands on the buttons of the view."""

NONE_YET = "There is no section before a house, a survey and an outline make a plan."
NO_FINISH = "There is no section: no finish has all that is asked. The sheet says what conflicts."
MISSED = "That line meets no paving. The last cut that does is shown."
_OFF_PAVING = "That place is on no paving: the middle of it is shown."


def section(seen: Seen) -> dict[str, Any]:
    """Return what the section view shows; where there is no plan, the sentence in its place.

    Parameters
    ----------
    seen : Seen
    """
    plan = seen.plan
    if plan is None or not plan.areas:
        words = NO_FINISH if seen.conflict else NONE_YET
        return {"names": NAMES, "words": words, "cut": None, "bases": None, "ways": []}
    asked = seen.asked
    named = {each.name: each for each in plan.areas}.get(asked.area)
    area = named or plan.areas[0]
    own = tuple(ways_of(plan, area))
    ways = [
        (each.name, way)
        for each in plan.areas
        for way in (own if each is area else ways_of(plan, each))
    ]
    drawn = _line_asked(plan, asked)
    found = None if drawn is None else line_through(plan, drawn, named)
    missed = drawn is not None and found is None
    if found is None:
        found = line_through(plan, own[0].line, area)
    assert found is not None  # a way runs through its area
    cut = cut_record(plan, *found, base=asked.base_system or None, whole=seen.whole,
                     home=asked.who == "home")  # fmt: skip
    return {
        "names": {**NAMES, "file": f"{slug(plan.site.name)}-section.svg"},
        "words": "",
        "missed": MISSED if missed else "",
        "cut": cut,
        "ways": [_way(plan, name, way, drawn or own[0].line) for name, way in ways],
        "systems": _systems(found[0], cut["base"]),
        "reach": _reach(plan, area),
        "bases": _bases(plan, area, seen),
    }


def _line_asked(plan: Plan, asked: Asked) -> Points | None:
    if asked.cut is None:
        return None
    one = METRES[plan.site.unit]
    (x0, y0), (x1, y1) = asked.cut
    return (x0 * one, y0 * one), (x1 * one, y1 * one)


def _systems(area: AreaPlan, cut: str) -> list[dict[str, Any]]:
    """Return the base systems that an area may be cut with, that planned first."""
    names = sorted(area.digs, key=lambda name: name != area.chosen)
    return [
        {
            "name": name,
            "words": opened(base_called(name, area.digs[name].system.called)),
            "chosen": name == cut,
        }
        for name in names
    ]


def _way(plan: Plan, area: str, way: Way, drawn: Points) -> dict[str, Any]:
    line = placed(way.line, plan.site.unit)
    same = bool(np.allclose(np.asarray(way.line), np.asarray(drawn), rtol=0.0, atol=1e-3))
    words = way.words if len(plan.areas) == 1 else f"{area}: {way.words}"
    return {"name": way.name, "words": words, "line": line, "chosen": same}


def _reach(plan: Plan, area: AreaPlan) -> float:
    """Return how far a line may be moved to either side, in the unit of the site."""
    x0, y0, x1, y1 = area.outline.bounds
    return round(float(np.hypot(x1 - x0, y1 - y0)) / 2 / METRES[plan.site.unit], 1)


def _bases(plan: Plan, area: AreaPlan, seen: Seen) -> dict[str, Any]:
    one, missed = METRES[plan.site.unit], ""
    place = usual_place(plan, area)
    if seen.asked.place is not None:
        found = area_at(plan, np.asarray(seen.asked.place, float) * one)
        if found is not None:
            area, place = found
        else:
            missed = _OFF_PAVING
    made = bases_record(plan, area, place, counted=seen.whole, prices=seen.asked.prices)
    return {**made, "missed": missed}
