"""The homeowner's paper as data: two pages for the whole job, however many areas it has.

The first shows it: finished and today, four figures, the cut from the door to the lawn, and the
three answers that come first. The second says why, how it goes, what could change, what is agreed.
"""

from __future__ import annotations

from typing import Any

from grading.answers.site import join_plain, site_answer
from grading.errors import CannotDraw
from grading.order.days import days_of
from grading.signs import listed
from grading.water.plain import called
from viz.drawings.homeowner.door_to_lawn import door_to_lawn
from viz.drawings.homeowner.front import front_views
from viz.drawings.homeowner.under import under_columns
from viz.sheets.compile import Compiled
from viz.sheets.head import Job, Say, against_told, area_title, head_of
from viz.sheets.homeowner import stills
from viz.sheets.homeowner.agreed import agreed
from viz.sheets.homeowner.changes import changes_told
from viz.sheets.homeowner.hero import hero, paved_words
from viz.sheets.homeowner.pace import days_told, figures_told, way_told
from viz.sheets.homeowner.plain_plan import plain_plan
from viz.sheets.homeowner.reasons import others_told, why_told
from viz.sheets.homeowner.told import (
    edge_told,
    heave_told,
    stands_told,
    steps_told,
    water_told,
    whole,
)
from viz.words.paving.structures import plainly_told
from viz.words.plain import begun, stopped, table

ON_PAGE = 3
"""Areas whose layers stand on the second page; where there are more, they have their own page."""

_PAGE = 184.0  # mm: width of what is drawn
_FRONTS = 2  # walls seen from the lawn; further ones are told in words
_GUTTER = 7.0  # mm between columns
_TITLE = 44  # letters of areas' names that a title may be made of


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
    say("drawing the job finished and as it is today ...")
    plan = job.plan
    cut = door_to_lawn(plan)
    several = len(plan.areas) > 1
    each = ", ".join(
        f"{area_title(area)} {paved_words(area.paving, job.unit)}" for area in plan.areas[:4]
    )
    return {
        **head_of(job, sheet),
        "title": _title(job),
        "against": against_told(plan),
        "hero": _shown(job, sheet, say),
        "figures": [
            *figures_told(job),
            {"large": paved_words(plan.paving, job.unit),
             "words": f"paved: {each}" if several and len(plan.areas) <= 4 else "paved"},
        ],
        "cut": sheet.drawing(cut.sheet, cut.about),
        "water": water_told(job),
        "steps": steps_told(job),
        "edge": edge_told(job),
        "stands": stands_told(job),
        "front": [
            sheet.drawing(view.sheet, view.about) for view in front_views(plan, _PAGE)[:_FRONTS]
        ],
        "under": _under(job, sheet),
        "on_page": len(plan.areas) <= ON_PAGE,
        "joins": whole(
            begun(stopped(join_plain(join)), plan.site) for join in site_answer(plan).joins
        ),
        "below": plainly_told(plan, ("base", "backfill")),
        "days": days_told(job, days_of(job.order, job.order.total).mean),
        "way": way_told(job),
        "heave": heave_told(job),
        "changes": changes_told(job),
        "agreed": agreed(job),
    }  # fmt: skip


def _title(job: Job) -> str:
    """Return what the paper is called: after the areas, where they are called by common names."""
    names = [area.area.name for area in job.plan.areas]
    said = listed(names)
    plain = all(called(name) == f"the {name}" for name in names)
    return f"Your {said}" if plain and len(said) <= _TITLE else "Your yard"


def _shown(job: Job, sheet: Compiled, say: Say) -> dict[str, Any]:
    """Return the picture, or where this machine has no means for it a plan of every area."""
    try:
        shots = stills.before_and_after(job.plan)
    except CannotDraw as error:
        say(str(error))
        plans = [
            {"title": area_title(area),
             **sheet.drawing(plain_plan(job.plan, area), f"Plan of {area.area.name}")}
            for area in job.plan.areas[:2]
        ]  # fmt: skip
        words = "Seen from above: this machine has no means to draw in three dimensions."
        return {"plans": plans, "words": words}
    return {
        **hero(job.plan, shots, sheet, job.unit), "plans": [],
        "words": str(table("picture")["true"]),
    }  # fmt: skip


def _under(job: Job, sheet: Compiled) -> list[dict[str, Any]]:
    """Return what lies under each area, and why not another base."""
    areas = job.plan.areas
    across = min(max(len(areas), 2), ON_PAGE)
    wide = (_PAGE - _GUTTER * (across - 1)) / across
    drawn = under_columns(job.plan, areas, min(wide, 88.0))
    return [
        {
            "title": area_title(area),
            "base": area.chosen_dig.system.title,
            "from": str(table("base-from")[area.base_from]),
            "picture": sheet.drawing(picture, f"What lies under {area.area.name}, layer by layer"),
            "why": why_told(job, area),
            "others": others_told(job, area),
        }
        for area, picture in zip(areas, drawn, strict=True)
    ]
