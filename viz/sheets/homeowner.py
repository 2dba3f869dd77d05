"""The homeowner's papers as data: the sheet that is left behind, and the six questions answered.

The sheet tells what is built, why, where the water goes and what it moves.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING, Any

from grading.choice.sills import ways_words
from grading.design.door_steps import door_steps
from grading.errors import CannotDraw
from grading.site.walls import wall_name
from grading.units import percent, run, size
from grading.water.joints import soaked_words
from grading.water.words import around_sentences, pocket_words, rain_words
from viz.sheets.as_one import whole
from viz.sheets.compile import Compiled, printable
from viz.sheets.head import Job, area_title, head_of, size_words
from viz.sheets.plain import paver_size, stopped, table
from viz.sheets.reasons import others, why
from viz.tables.order import heavy
from viz.words.figures import DIRT, earth, small
from viz.words.folds import falls_words

if TYPE_CHECKING:
    from grading.choice.advice import AreaAdvice
    from grading.design.area import AreaPlan
    from grading.dig.hole import Dig
    from grading.order.hauling import Haul
    from grading.order.model import AreaOrder
    from grading.order.model import Job as Work
    from grading.units import Unit
    from grading.water.model import AreaWater
    from viz.drawings.answers import Answer

Say = Callable[[str], None]

_SHOWN = 4  # base systems side by side in figures


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
        "whole": _whole(job),
        "cost": _cost(job),
    }


def questions_data(job: Job, sheet: Compiled, say: Say) -> dict[str, Any]:
    """Return what the template of the six questions reads.

    Parameters
    ----------
    job, sheet, say : as for `homeowner_data`
    """
    from viz.drawings.answers import answers_of

    say("answering the homeowner's questions ...")
    areas = [
        {
            "title": area_title(order.area),
            "answers": {
                each.key: answered(each, sheet) for each in answers_of(job.plan, order.area)
            },
        }
        for order in job.order.areas
    ]
    return {**head_of(job, sheet), "areas": areas}


def answered(answer: Answer, sheet: Compiled) -> dict[str, Any]:
    """Return a question with its answer in plain words and its picture."""
    return {
        "question": answer.question,
        "words": printable(answer.words, len(answer.words)),
        "picture": sheet.drawing(answer.sheet, f"{answer.question} {answer.words}"),
    }


def _shots(job: Job, say: Say) -> list[dict[str, Any]] | None:
    from viz.sheets.stills import before_and_after

    try:
        return before_and_after(job.plan)
    except CannotDraw as error:
        say(str(error))
        return None


def _area(
    job: Job, order: AreaOrder, sheet: Compiled, shot: dict[str, Any] | None, several: bool
) -> dict[str, Any]:
    from viz.drawings.answers import Answer
    from viz.drawings.answers.under import under_answer
    from viz.sheets.paving_drawing import paving_sheet

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
        "pavers": _pavers(pavers, _advice(job, plan).joint_plain, unit),
        "build_up": small(plan.chosen_dig.build_up, unit),
        "why": why(job, plan),
        "falls": _falls(job, plan),
        "water": _water(job, plan),
        "steps": _steps(job, plan),
        "steps_why": _steps_why(job, plan),
        "edge": _edge(job, plan),
        "stands": _stands(job, plan),
        "moves": _moves(job, order, several),
        "table": _table(job, order),
        "others": others(job, plan),
        "under": answered(Answer(*under_answer(job.plan, plan, reasons=False)), sheet),
        "heights": _heights(job, plan),
    }


def _before_after(
    job: Job, plan: AreaPlan, sheet: Compiled, shot: dict[str, Any] | None
) -> dict[str, Any]:
    if shot is None:
        from viz.sheets.plain_plan import plain_plan

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


def _pavers(pavers: Any, filled: str, unit: Any) -> str:
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


def _water(job: Job, plan: AreaPlan) -> str:
    whole = job.plan.water
    water = whole.of(plan)
    said = [
        f"All in all it slopes {falls_words(plan, percent)}.",
        f"R{rain_words(whole, water)[1:]}.",
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


def _steps_why(job: Job, plan: AreaPlan) -> str:
    """Say the two ways to meet a sill high over the lawn, where a door has one."""
    ways = [way for way in job.plan.sill_ways if plan.area.name in way.areas]
    priced = job.plan.crew.card.show_prices
    words = ways_words(ways, job.unit, job.plan.crew.currency if priced else "")
    return printable(words, len(words))


def _edge(job: Job, plan: AreaPlan) -> str:
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
            said += f" {check.text[:1].upper()}{stopped(check.text[1:])}"
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


def _moves(job: Job, order: AreaOrder, several: bool) -> list[dict[str, str]]:
    """Return what an area moves; where there are several, of it alone: bins are shared."""
    if not several:
        return _moved(job, order.chosen.haul, job.order.total, "eight jobs in ten take that")
    return _moved(job, order.chosen.haul, order.chosen, "of the crew, this area alone")


def _moved(job: Job, haul: Haul, work: Work, days_of: str) -> list[dict[str, str]]:
    trips = haul.trips + haul.pavers.count
    loads = "barrow loads" if haul.way.carrier == "barrow" else f"trips by {haul.way.carrier}"
    bins = "bin of soil" if haul.bins.count == 1 else "bins of soil"
    loose = earth(haul.spoil.loose, job.unit)
    return [
        {"number": f"{haul.bins.count}", "unit": bins, "words": f"{loose} loose"},
        {"number": f"{trips}", "unit": loads, "words": "of soil, stone and pavers"},
        {"number": _days(job, work), "unit": "days on site", "words": days_of},
    ]


def _days(job: Job, work: Work) -> str:
    """Return the days that eight jobs in ten take."""
    low, high = (f"{job.order.days(work, share):.1f}" for share in (0.1, 0.9))
    return low if low == high else f"{low} to {high}"


def _whole(job: Job) -> str:
    """Say what the whole job moves, where it has several areas: they share bins and days."""
    if len(job.order.areas) < 2:
        return ""
    parts = _moved(job, job.order.total.haul, job.order.total, "")
    bins, loads, days = (f"{part['number']} {part['unit']}" for part in parts)
    said = f"{bins}, {loads} {parts[1]['words']}, {days}"
    return f"The whole job, all areas together: {said} (eight jobs in ten take that)."


def _down_to_soil(dig: Dig, unit: Any) -> str:
    """Say how deep the soil lies under the finish, the refill above it included."""
    if dig.refill is None:
        return small(dig.build_up, unit)
    return f"up to {small(dig.build_up + dig.refill.greatest, unit, DIRT)}"


def _table(job: Job, order: AreaOrder) -> dict[str, Any]:
    """Return the base systems side by side in figures."""
    plan, unit = order.area, job.unit
    names = [plan.chosen, *(name for name in plan.digs if name != plan.chosen)][:_SHOWN]
    works: dict[str, Work] = dict(order.bases)
    heavy_word = {"ft": "ton", "m": "tonne"}[unit]
    most = max(plan.digs[name].cut for name in names) or 1.0

    note = "This area alone, without setting up and cleaning up, alike on every base."
    if len(names) < len(plan.digs):
        note += f" Bases beyond the first {_SHOWN} are in the report."
    digs = {name: plan.digs[name] for name in names}
    rows = [
        ("Top of the paving down to the soil", [_down_to_soil(dig, unit) for dig in digs.values()]),
        ("Deepest dig below today's ground",
         [small(dig.max_dig, unit, DIRT) for dig in digs.values()]),
        ("Earth to dig, as it lies", [earth(dig.cut, unit) for dig in digs.values()]),
        ("Earth to cart away, loose", [earth(dig.spoil_loose, unit) for dig in digs.values()]),
        ("Stone put back to fill the hole up",
         [earth(dig.fill, unit) if dig.fill > 5e-3 else "none" for dig in digs.values()]),
        ("Stone and sand brought in",
         [f"{heavy(works[name].haul.stone_mass, unit):.1f} {heavy_word}" for name in names]),
        ("Bins of soil", [str(works[name].haul.bins.count) for name in names]),
        ("Loads of soil and stone", [str(works[name].haul.trips) for name in names]),
        ("Days of the crew, eight jobs in ten", [_days(job, works[name]) for name in names]),
    ]  # fmt: skip
    if job.plan.crew.card.show_prices:
        sign = job.order.crew.currency
        costs = [f"{sign}{works[name].cost.total:,.0f}" for name in names]
        rows.append(("Cost, all counted", costs))
    return {
        "heads": [printable(dig.system.title, 40) for dig in digs.values()],
        "bars": [100 * dig.cut / most for dig in digs.values()],
        "rows": [{"name": head, "cells": cells} for head, cells in rows],
        "note": note,
    }


def _heights(job: Job, plan: AreaPlan) -> list[dict[str, str]]:
    """Return the finish at each corner, with the letters of the plan of levels."""
    from grading.design.levels import levels_at
    from grading.design.points import named_points
    from viz.words.figures import level

    points = named_points(plan)
    levels = levels_at(job.plan, plan, points.xy)
    return [
        {"name": name, "finish": level(float(z), job.unit)}
        for name, z in zip(points.names, levels.finish, strict=True)
    ]


def _not_included(job: Job) -> list[str]:
    from grading.catalogue.rules import Limits

    words = table("not-included")
    found = [str(item) for item in words["items"]]
    limit = Limits(job.plan.site.limits)["raised-edge"]
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
    return [*found, _deeper(job)]


def _cost(job: Job) -> str:
    """Say what the job costs, where the crew wants it told."""
    if not job.plan.crew.card.show_prices:
        return ""
    cost, sign = job.order.total.cost, job.order.crew.currency
    return (
        f"Worked out for the whole job: {sign}{cost.total:,.0f}; eight times in ten "
        f"{sign}{cost.low:,.0f} to {sign}{cost.high:,.0f}. Material, hauling and hours; an "
        "estimate, not an offer."
    )


def _deeper(job: Job) -> str:
    """Say what topsoil takes that goes deeper than is reckoned with."""
    from grading.answers.card import deeper_of
    from grading.answers.card_words import deeper_words

    plan = job.plan
    said = deeper_words(plan, deeper_of(plan), plan.crew.card.show_prices)
    return printable(said, len(said))
