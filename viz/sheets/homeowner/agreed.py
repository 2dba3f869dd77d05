"""What is agreed, to be signed: what is built, its heights and steps, and what is not in it."""

from __future__ import annotations

from typing import Any

from grading.design.area import AreaPlan
from grading.design.door_steps import door_steps
from grading.geometry.tolerances import SEEN
from grading.units import size
from grading.water.plain import called
from viz.sheets.compile import printable
from viz.sheets.head import Job, area_title
from viz.sheets.homeowner.hero import paved_words
from viz.sheets.homeowner.told import whole
from viz.words.paving.pavers import laid_words
from viz.words.paving.structures import structures_in
from viz.words.plain import stopped
from viz.words.uncounted import not_included


def agreed(job: Job) -> dict[str, Any]:
    """Return what is agreed on, area by area, and what is not included.

    Parameters
    ----------
    job : Job
    """
    areas = job.plan.areas
    laid = [_laid(job, area) for area in areas]
    alike = len(set(laid)) == 1
    return {
        "areas": [_area(job, area) for area in areas],
        "laid": whole(
            [f"Pavers: {laid[0]}."]
            if alike
            else [
                f"Pavers of {called(area.area.name)}: {each}."
                for area, each in zip(areas, laid, strict=True)
            ]
        ),
        "built": whole(stopped(each.plain or each.said) for each in structures_in(job.plan.order)),
        "not_included": whole(not_included(job.plan)),
    }


def _area(job: Job, area: AreaPlan) -> dict[str, Any]:
    unit = job.unit
    steps = [
        f"{step.door.name or 'door'} {step.words(lambda metres: size(metres, unit))}"
        for step in door_steps(area)
    ]
    above, below = area.edge_heights
    edge = f"{size(max(above, 0.0), unit)} above the lawn at its highest"
    if below > SEEN:
        edge += f", {size(below, unit)} below it at its lowest"
    return {
        "title": area_title(area),
        "size": paved_words(area.paving, unit),
        "base": printable(area.chosen_dig.system.title, 60),
        "steps": [printable(each, 300) for each in steps] or ["no door"],
        "edge": edge if area.edge_runs else "no free edge",
    }


def _laid(job: Job, area: AreaPlan) -> str:
    """Say what an area is laid with."""
    pavers = job.order.of(area).takeoffs[area.chosen].pavers.pavers
    filled = job.plan.advice.area(area.area.name).joint_plain
    return laid_words(pavers, filled, job.unit)
