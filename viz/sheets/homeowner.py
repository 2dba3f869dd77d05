"""The homeowner's papers as data: the sheet that is left behind, and the six questions answered.

The sheet tells what is built, why, where the water goes and what it moves.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from grading.answers.card import deeper_of
from grading.answers.card_words import deeper_words
from grading.choice.advice import AreaAdvice
from grading.choice.sills import ways_words
from grading.design.area import AreaPlan
from grading.design.door_steps import door_steps
from grading.design.levels import levels_at
from grading.design.points import named_points
from grading.errors import CannotDraw
from grading.order.model import AreaOrder
from grading.site.paver_table import Pavers
from grading.site.walls import wall_name
from grading.units import Unit, percent, run, size
from grading.water.joints import soaked_words
from grading.water.model import AreaWater
from grading.water.words import around_sentences, pocket_words, rain_words
from viz.drawings.answers import Answer
from viz.drawings.answers.under import under_answer
from viz.sheets import stills
from viz.sheets.as_one import whole
from viz.sheets.compile import Compiled, printable
from viz.sheets.head import Job, Say, area_title, head_of, size_words
from viz.sheets.paving_drawing import paving_sheet
from viz.sheets.plain_plan import plain_plan
from viz.sheets.questions import answered
from viz.sheets.reasons import others, why
from viz.sheets.takes import cost_words, moves, side_by_side, whole_job_words
from viz.words.falls import slopes_words
from viz.words.figures import level, small
from viz.words.plain import opened, paver_size, stopped, table


def homeowner_data(job: Job, sheet: Compiled, say: Say) -> dict[str, Any]:
    """Return what the homeowner's template reads.

    Parameters
    ----------
    job : Job
    sheet : Compiled
        Takes the drawings and pictures.
    say : callable
        Told what is being done.
    """
    say("drawing before and after ...")
    shots = _shots(job, say)
    several = len(job.order.areas) > 1
    areas = []
    for index, order in enumerate(job.order.areas):
        shot = None if shots is None else shots[index]
        areas.append(_area(job, order, sheet, shot, several))
    return {
        **head_of(job, sheet),
        "as_one": whole(job, sheet),
        "areas": areas,
        "not_included": _not_included(job),
        "whole": whole_job_words(job),
        "cost": cost_words(job),
    }


def _shots(job: Job, say: Say) -> list[dict[str, Any]] | None:

    try:
        return stills.before_and_after(job.plan)
    except CannotDraw as error:
        say(str(error))
        return None


def _area(
    job: Job, order: AreaOrder, sheet: Compiled, shot: dict[str, Any] | None, several: bool
) -> dict[str, Any]:

    plan, unit = order.area, job.unit
    name = area_title(plan)
    pavers = order.takeoffs[plan.chosen].pavers.pavers
    drawing = paving_sheet(pavers, plan.chosen_dig, unit)
    layers = ", ".join(layer.name for layer in plan.chosen_dig.system.layers)
    return {
        "title": name,
        "use": plan.area.use,
        "size": size_words(plan, unit),
        "base": plan.chosen_dig.system.title + table("base-from")[plan.base_from],
        "shot": _before_after(job, plan, sheet, shot),
        "paving": sheet.drawing(
            drawing, f"The pattern of the pavers from above, and a cut through the layers: {layers}"
        ),
        "pavers": _pavers_words(pavers, _advice(job, plan).joint_plain, unit),
        "build_up": small(plan.chosen_dig.build_up, unit),
        "why": why(job, plan),
        "falls": _falls(job, plan),
        "water": _water_words(job, plan),
        "steps": _steps(job, plan),
        "steps_why": _ways_words(job, plan),
        "edge": _edge_words(job, plan),
        "stands": _stands(job, plan),
        "moves": moves(job, order, several),
        "table": side_by_side(job, order),
        "others": others(job, plan),
        "under": answered(Answer(*under_answer(job.plan, plan, reasons=False)), sheet),
        "heights": _heights(job, plan),
    }


def _before_after(
    job: Job, plan: AreaPlan, sheet: Compiled, shot: dict[str, Any] | None
) -> dict[str, Any]:
    if shot is None:
        drawing = plain_plan(job.plan, plan)
        return {
            "pictures": [],
            "plan": sheet.drawing(drawing, f"Plan of {plan.area.name} beside the house"),
            "words": "Seen from above: this machine has no means to draw in three dimensions.",
        }
    views = ("Today", "Finished")
    alts = ("the ground as it was measured", "the paving as it is planned")
    return {
        "pictures": [
            {
                "view": view,
                "words": words,
                "labels": labels,
                **sheet.picture(data, "png", f"{view}: {words}, seen from the yard"),
            }
            for view, words, data, labels in zip(
                views, alts, shot["pictures"], shot["labels"], strict=True
            )
        ],
        "plan": None,
        "words": f"Both from the same place, and nothing added. {shot['heights']}",
    }


def _pavers_words(pavers: Pavers, filled: str, unit: Unit) -> str:
    size = paver_size(pavers, unit)
    words = f"Pavers {size}, laid in {table('pattern')[pavers.pattern]}; joints "
    words += f"{small(pavers.joint, unit)}, filled with {filled}"
    if pavers.soldier == "all":
        words += ". A border row runs all round"
    elif pavers.soldier:
        words += ". A border row runs along some edges"
    return f"{words}."


def _advice(job: Job, plan: AreaPlan) -> AreaAdvice:
    return job.plan.advice.area(plan.area.name)


def _wall_name(job: Job, name: str) -> str:
    """Return a wall's name, with the door in it by which a homeowner knows it."""
    house = job.plan.site.house
    doors = [
        door.name
        for door in job.plan.site.doors
        if house is not None and wall_name(house.wall_of(door.at).number) == name
    ]
    return printable(f"{name} ({doors[0]})" if doors else name, 60)


def _falls(job: Job, plan: AreaPlan) -> list[dict[str, str]]:
    return [
        {
            "wall": _wall_name(job, wall.wall.name),
            "drop": small(wall.drop, job.unit),
            "over": run(wall.over, job.unit),
            "fall": percent(wall.fall_away),
        }
        for wall in plan.walls
    ]


def _water_words(job: Job, plan: AreaPlan) -> str:
    whole = job.plan.water
    water = whole.of(plan)
    said = [
        slopes_words(plan),
        f"{opened(rain_words(whole, water))}.",
        *(f"{pocket_words(bed)}." for bed in water.pockets),
        *_soaked(water, job.unit),
        *around_sentences(whole, water, job.plan.places),
    ]
    return " ".join(printable(each, len(each)) for each in said)


def _soaked(water: AreaWater, unit: Unit) -> Iterator[str]:
    """Yield what soaks in beside the house, where some does."""
    if water.joints is not None and water.joints.soaked_beside > 0:
        yield f"{soaked_words(water.joints, unit)}."


def _steps(job: Job, plan: AreaPlan) -> list[dict[str, str]]:
    return [
        {
            "door": printable(step.door.name),
            "step": step.words(lambda metres: small(metres, job.unit)),
        }
        for step in door_steps(plan)
    ]


def _ways_words(job: Job, plan: AreaPlan) -> str:
    """Say the two ways to meet a sill high over the lawn, where a door has one."""
    ways = [way for way in job.plan.sill_ways if plan.area.name in way.areas]
    priced = job.plan.crew.card.show_prices
    words = ways_words(ways, job.unit, job.plan.crew.currency if priced else "")
    return printable(words, len(words))


def _edge_words(job: Job, plan: AreaPlan) -> str:
    above, below = plan.edge_heights
    unit = job.unit
    words = []
    if above > 5e-4:
        words.append(
            f"At its highest free edge the paving stands {small(above, unit)} above the ground"
        )
    if below > 5e-4:
        lies = "where it is lowest it lies" if words else "Where its edge is lowest it lies"
        words.append(f"{lies} {small(below, unit)} below the ground beside it")
    if not words:
        words.append("Its free edges are level with the ground beside them")
    said = stopped("; ".join(words))
    said += f" Held by: {stopped(_advice(job, plan).holding_plain)}"
    for check in job.plan.checks:
        # What people may fall from is said to them, and not to the crew alone.
        if check.rule == "guard-height" and check.area == plan.area.name:
            said += f" {opened(stopped(check.text))}"
    return printable(said, len(said))


_HURTS = ("fire-distance", "panel-fire")
"""Rules of what stands on paving that are there so that nobody is hurt."""


def _stands(job: Job, plan: AreaPlan) -> list[str]:
    """Return what has to be settled of fires that stand on an area, a sentence each."""
    return [
        stopped(printable(check.text, len(check.text)))
        for check in job.plan.checks
        if check.rule in _HURTS and check.area == plan.area.name and check.status != "pass"
    ]


def _heights(job: Job, plan: AreaPlan) -> list[dict[str, str]]:
    """Return the finish at each corner, with the letters of the plan of levels."""

    points = named_points(plan)
    levels = levels_at(job.plan, plan, points.xy)
    return [
        {"name": name, "finish": level(float(z), job.unit)}
        for name, z in zip(points.names, levels.finish, strict=True)
    ]


def _not_included(job: Job) -> list[str]:
    words = table("not-included")
    found = [str(item) for item in words["items"]]
    limit = job.plan.limits["raised-edge"]
    if any(area.edge_heights[0] > limit for area in job.plan.areas):
        found.insert(0, str(words["raised"]))
    steps = [
        f"{step.words(lambda metres: size(metres, job.unit))} at {step.door.name}"
        for area in job.plan.areas
        for step in door_steps(area)
        if step.risers > 1
    ]
    if steps:
        found.insert(0, str(words["steps"]).format(steps=printable(", ".join(steps), 200)))
    # What is found underground and can be foretold: it is told with what it takes.
    return [*found, _deeper_words(job)]


def _deeper_words(job: Job) -> str:
    """Say what topsoil takes that goes deeper than is reckoned with."""

    plan = job.plan
    said = deeper_words(plan, deeper_of(plan), plan.crew.card.show_prices)
    return printable(said, len(said))
