"""Whether doors stand in a wall of the house: one that does not has its place written wrong."""

from __future__ import annotations

from collections.abc import Iterator

from grading.checks.maker import Check, maker_of
from grading.design.model import Design
from grading.geometry.tolerances import TOGETHER
from grading.site.walls import wall_name
from grading.units import run
from grading.worded import Said, in_plan


def door_place_checks(plan: Design) -> Iterator[Check]:
    """Give a failed check for each door that stands too far off the foundation line.

    Parameters
    ----------
    plan : Design

    Notes
    -----
    A door whose x and y changed places may lie well on the paving: the step below its sill is then
    held at a place where no door is, and a plan that passed would be of another house.
    """
    house, make = plan.site.house, maker_of(plan)
    if house is None:
        return
    rule = "door-in-wall"
    for door in plan.site.doors:
        off = house.wall_of(door.at).off
        if off <= make.limits[rule]:
            continue
        swapped = house.wall_of(door.at[::-1])
        mend: Said = (
            f"with its x and y changed over it stands in {wall_name(swapped.number)}"
            if swapped.off <= TOGETHER
            else in_plan(
                "correct its `at`, or draw the foundation line to the wall that it is in",
                "place it in its wall, or draw the foundation line to that wall",
            )
        )
        text = f"{door.name} stands in no wall, {run(off, make.unit)} off the foundation line"
        yield make.judged(rule, False, "fail", off, text, ": " + mend, where=door.name)
