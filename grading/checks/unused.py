"""What a site file says and its plan makes no use of: each thing fails a check that says so.

A door out of reach drops its step, a vent out of reach its clearance: a plan that passed without
them would pass for the wrong yard. What can be told from the file alone is refused at reading.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely

from grading.checks.maker import Check, maker_of
from grading.choice.advice import Advice
from grading.conditions.outlets import built_at
from grading.conditions.seats import stands_words
from grading.design.model import Design
from grading.finish.wishes.lowered import lowered_points
from grading.finish.wishes.of_site import NEARBY, nearest_area
from grading.geometry.tolerances import TOGETHER
from grading.site.feature_tables import Backfill
from grading.site.tables import FOLLOWED, Ceiling, Floor, Meet
from grading.site.water_tables import AT_PAVING, OF_A_DRAIN
from grading.structures.holding.holds import LOWER, SHOULDER, holding_of
from grading.units import FOOT, run, size
from grading.worded import Said, Worded, in_plan, joined

OFF_SURVEY = 3 * FOOT
"""What lies farther off the ground than this takes and sends no water on it. [m]"""

_SLIVER = 0.01  # m2: less paving than this behind a wall comes of rounding

_Unused = tuple[str, Said, Said]  # name of the thing or of its area, the reason, how to mend it


def unused_checks(plan: Design, advice: Advice) -> tuple[Check, ...]:
    """Return a failed check for each thing of a site that its plan makes no use of.

    Parameters
    ----------
    plan : Design
    advice : Advice
        On it.
    """
    make = maker_of(plan)
    said = [
        *_doors(plan),
        *_walls(plan),
        *_levels(plan),
        *_things(plan, advice),
        *_water(plan),
        *_edges(plan),
        *_holds(plan),
        *_backfill(plan, advice),
    ]
    areas = {area.name for area in plan.areas}
    return tuple(
        make.of(name if name in areas else "").check(
            "not-used", "fail", None, f"{name} is not used: " + why + ": " + mend, where=name
        )
        for name, why, mend in said
    )


def _doors(plan: Design) -> Iterator[_Unused]:
    site = plan.site
    for door in site.doors:
        if nearest_area(site, door.at) is None:
            here = shapely.Point(door.at)
            gap = min(float(area.polygon.distance(here)) for area in site.areas)
            yield (
                door.name,
                f"it is {run(gap, site.unit)} from any paving, so no step down from its sill is "
                "held",
                f"bring it and the paving within {run(NEARBY, site.unit)} of each other, or leave "
                "out a door that does not open onto it",
            )


def _walls(plan: Design) -> Iterator[_Unused]:
    """Tell paving on the side of a wall that `inside` says is the house."""
    house, unit = plan.site.house, plan.site.unit
    if house is None:
        return
    reach = plan.limits["foundation-reach"]
    body = house.polygon(reach)
    for area in plan.areas:
        fronts = shapely.union_all([wall.wall.front for wall in area.walls])
        behind = shapely.difference(
            shapely.intersection(area.outline, body), fronts.buffer(TOGETHER)
        )
        if shapely.area(behind) > _SLIVER:
            wall = house.wall_of(np.asarray(behind.centroid.coords[0]))
            yield (
                f"wall {wall.number}",
                f"{area.name} lies within {run(reach, unit)} behind it, on the side that "
                + Worded("`inside` says is the house", "is said to be the house")
                + ", so no fall away from it is held there",
                in_plan(
                    "check `inside` and the foundation line",
                    "check on which side of its wall the house is, and the foundation line",
                ),
            )


def _levels(plan: Design) -> Iterator[_Unused]:
    site = plan.site
    wanted: dict[type, str] = {
        Ceiling: "nothing is kept below it",
        Floor: "nothing is kept above it",
    }
    ground = plan.ground.outline
    lines: tuple[Ceiling | Floor | Meet, ...] = (*site.ceilings, *site.floors, *site.meets)
    for line in lines:
        what = wanted.get(type(line), "nothing is brought to meet it")
        shape = shapely.LineString(line.at) if len(line.at) > 1 else shapely.Point(line.at[0])
        areas = [area for area in site.areas if line.area in (None, area.name)]
        gap = min((float(area.polygon.distance(shape)) for area in areas), default=np.inf)
        paving = f"the paving of {line.area}" if line.area else "any paving"
        if gap > NEARBY:
            # Water may run a long way to an outlet or a swale: it is followed there.
            if getattr(line, "kind", "") in FOLLOWED:
                yield from _too_high(plan, line)
            else:
                yield (
                    line.name,
                    f"it is {run(gap, site.unit)} from {paving}, so {what}",
                    f"bring the two within {run(NEARBY, site.unit)} of each other, or leave it out",
                )
        elif isinstance(line, Floor) and line.z is None and not ground.intersects(shape):
            yield (
                line.name,
                f"it has no level and lies beyond the survey, so {what}",
                "give its z, or shoot spots as far as it",
            )


def _too_high(plan: Design, line: Ceiling | Floor | Meet) -> Iterator[_Unused]:
    """Tell a far place for water that stands above all paving: none of it can run there."""
    if line.z is None:
        return
    corners = [
        area.finish.surface.at(shapely.get_coordinates(area.outline)).max() for area in plan.areas
    ]
    above = float(np.min(line.z)) - float(max(corners))
    if above > TOGETHER:
        yield (
            line.name,
            f"it stands {size(above, plan.site.unit)} above the highest paving, so no water runs "
            "to it",
            "correct its z, or leave it out",
        )


def _things(plan: Design, advice: Advice) -> Iterator[_Unused]:
    unit = plan.site.unit
    for thing in plan.site.features:
        areas = [area for area in plan.areas if thing.area in (None, area.name)]
        if not any(area.outline.intersection(thing.polygon).area > 0 for area in areas):
            gap = min(float(area.outline.distance(thing.polygon)) for area in areas)
            paving = f"the paving of {thing.area}" if thing.area else "any paving"
            yield (
                thing.name,
                f"it stands {run(gap, unit)} off {paving}, so nothing is made level under it",
                "move it onto the paving, or leave it out",
            )
    for seat in advice.features:
        # What is given against `stands` is refused at reading.
        if seat.given:
            continue
        if seat.stands == "own base" and seat.feature.bedding:
            idle, other = "bedding", "bedding"
        elif seat.stands == "bedding" and seat.feature.base is not None:
            idle, other = "base", "own base"
        else:
            continue
        yield (
            seat.name,
            Worded(f"its `{idle}`", f"its {idle}") + f" is of no use: it stands "
            f"{stands_words(seat)}",
            in_plan(
                f'leave `{idle}` out, or write stands = "{other}"',
                f"leave its {idle} empty, or have it stand on {other}",
            ),
        )


def _water(plan: Design) -> Iterator[_Unused]:
    site, ground = plan.site, plan.ground.outline
    for outfall in site.outfalls:
        off = float(shapely.distance(ground, outfall.geometry))
        if off > OFF_SURVEY:
            yield (
                outfall.name,
                f"it lies {run(off, site.unit)} off the survey, so no water is followed to it",
                "shoot spots as far as it, or leave it out",
            )
        given = [key for key in OF_A_DRAIN if getattr(outfall, key) is not None]
        if given and built_at(plan, outfall) is None:
            of = joined([Worded(f"`{key}`", key) for key in given], " and ")
            yield (
                outfall.name,
                "it is not built with the paving, so nothing comes of its " + of,
                f"bring it within {run(AT_PAVING, site.unit)} of the paving, or name its "
                + Worded("`outlet`", "outlet")
                + " and shoot the ground round it",
            )
    for spout in site.downspouts:
        end = spout.at if spout.to is None else spout.to
        off = float(shapely.distance(ground, shapely.Point(end)))
        if off > OFF_SURVEY:
            ends = "is" if spout.to is None else "ends"
            yield (
                spout.name,
                f"it {ends} {run(off, site.unit)} off the survey, so its water is not followed",
                "shoot spots as far as it, or correct its place",
            )


def _edges(plan: Design) -> Iterator[_Unused]:
    """Tell a lawn or an edge that is given for paving without an open edge."""
    for area in (area for area in plan.areas if not area.edge_runs):
        mend = "out, or check the outlines beside it"
        if area.area.lawn is not None:
            why = Worded("its `lawn`", "its lawn") + " has no open edge to be brought to"
            yield area.name, why, in_plan(f"leave `lawn` {mend}", f"leave its lawn {mend}")
        if area.area.edge is not None:
            given = area.area.edge
            why = Worded(f'its edge = "{given}"', f"its edge, {given},")
            yield (
                area.name,
                why + " has no open edge to hold",
                in_plan(f"leave `edge` {mend}", f"leave its edge {mend}"),
            )


def _holds(plan: Design) -> Iterator[_Unused]:
    """Tell a table that says what holds an edge of which nothing stands high enough."""
    unit = plan.site.unit
    for area in plan.areas:
        holding = holding_of(plan, area, area.chosen)
        system = area.chosen_dig.system
        for hold in plan.site.holds_of(area.name):
            if hold.kind == LOWER:
                used = bool(len(lowered_points(plan.site, area.area, hold, plan.ground)))
                why = "no free edge of it lies beside surveyed ground there"
            elif hold.kind == SHOULDER and not holding.of(hold):
                used = system.edge == SHOULDER
                why = f"it is no edge of {system.called}"
            else:
                used = bool(holding.of(hold))
                least = plan.limits["lawn-shoulder"]
                why = f"no edge of it there stands more than {size(least, unit)} above the ground"
            if not used:
                yield (
                    area.name,
                    Worded(f'its [[hold]] of kind "{hold.kind}"', f"its {hold.kind}")
                    + f" holds nothing: {why}",
                    in_plan(
                        "leave it out, or check `at`" if hold.at else "leave it out",
                        "leave it out, or check where it is" if hold.at else None,
                    ),
                )


def _backfill(plan: Design, advice: Advice) -> Iterator[_Unused]:
    site, unit = plan.site, plan.site.unit
    if site.backfill == Backfill.model_validate({}) or advice.backfill:
        return
    if site.backfill.treatment == "strip" and site.house is not None:
        return  # as it asks, no paving lies there
    width = site.backfill.width or plan.limits["backfill-zone"]
    yield (
        "[backfill]",
        f"no paving lies on the {run(width, unit)} of it by the foundation",
        "leave it out, or check its width and the foundation line",
    )
