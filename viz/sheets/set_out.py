"""What the crew sets out: corners and grid with their levels, arcs, and what stands level."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np

from grading.conditions.level_words import beside_words
from grading.conditions.seat_words import stands_words
from grading.design.area import AreaPlan
from grading.design.door_steps import door_steps
from grading.design.levels import Levels, either_way, grid_of, levels_at
from grading.design.points import circles_of, letters, named_points, with_holes
from grading.geometry.arrays import Floats
from grading.units import Unit, slope
from viz.sheets.blocks import (
    MARGIN,
    Cell,
    Section,
    drawing,
    listed,
    table,
    words,
)
from viz.sheets.compile import Compiled, printable
from viz.sheets.grid_plan import grid_plan
from viz.sheets.head import Job, section_title, size_words
from viz.words.falls import falls_words
from viz.words.figures import (
    DIRT,
    earth,
    ground_area,
    level_pair,
    small,
    small_pair,
    stretch,
)
from viz.words.finish import CHOSEN
from viz.words.known import area_known

_REFILL = 1e-3  # m: less refill is none


def setting_out(job: Job, sheet: Compiled) -> Iterator[Section]:
    """Yield the plan of each area, then its levels at every corner and along the grid."""

    for plan in job.plan.areas:
        points = with_holes(plan, named_points(plan))
        circles = circles_of(plan)
        centres = letters(len(points.names) + len(circles))[len(points.names) :]
        grid = grid_of(plan, job.unit, points.xy)
        names = (*points.names, *grid.names)
        xy = np.concatenate([points.xy, grid.xy])
        wide = job.page.width - 2 * MARGIN
        made = grid_plan(job.plan, plan, grid, points, wide, centres)
        alt = f"Plan of {plan.area.name}: corners lettered, grid points numbered, house hatched"
        yield Section(
            section_title(job, plan, "set out and dig"),
            (
                words(_summary_words(job, plan), bold=True),
                *(words(said) for said in [area_known(job.plan, plan)] if said),
                drawing(sheet.drawing(made, alt)),
                words(_walls_words(job, plan)),
                words(
                    f"Grid lines {stretch(grid.spacing, job.unit)} apart, along the house and out "
                    "from it, from the outermost edges of the paving. Elevations above the site's "
                    f"own datum, told {_nearest_words(job.unit)}."
                ),
                words(_below_words(job, plan)),
            ),
            fresh=True,
        )
        yield Section(
            section_title(job, plan, "levels"),
            (
                _level_table(
                    job,
                    names,
                    levels_at(job.plan, plan, xy),
                    either_way(job.plan, xy),
                    grid.measured(xy),
                ),
            ),
            fresh=True,
        )


def _below_words(job: Job, plan: AreaPlan) -> str:
    said = (
        f"Subgrade lies {small(plan.chosen_dig.build_up, job.unit)} below the finish, everywhere: "
        "it falls as the finish does. Dig is from the ground of today to the bottom of the hole"
    )
    if plan.chosen_dig.fill > 5e-3:
        said += (
            ", which is Dug to: where topsoil goes deeper than the subgrade, or the ground lies "
            "below it, the hole is filled up to subgrade in lifts"
        )
    return f"{said}."


def _nearest_words(unit: Unit) -> str:
    fine, rough = (f"1/{parts} in" for parts in (16, DIRT))
    if unit == "ft":
        return f"to the nearest {fine} for finish and subgrade, {rough} for earth"
    return "to the millimetre"


def _summary_words(job: Job, plan: AreaPlan) -> str:
    dig, unit = plan.chosen_dig, job.unit
    chosen = "" if plan.base_from == "given" else f" ({CHOSEN[plan.base_from]})"
    said = [
        f"{size_words(plan, unit)} on {dig.system.called}{chosen}",
        f"finish to subgrade {small(dig.build_up, unit)}",
        f"falls {falls_words(plan, lambda fall: slope(fall, unit))}",
        f"dig {earth(dig.cut, unit)} in the bank over {ground_area(dig.dig_area, unit)}, "
        f"{earth(dig.spoil_loose, unit)} loose",
        f"deepest {small(dig.max_dig, unit, DIRT)}",
        f"refill {earth(dig.fill, unit)}" if dig.fill > 5e-3 else "no refill",
    ]
    return "; ".join(said) + "."


def _walls_words(job: Job, plan: AreaPlan) -> str:
    parts = [
        f"{fall.wall.name} {slope(fall.fall_away, job.unit)}, "
        f"{small(fall.drop, job.unit)} in {stretch(fall.over, job.unit)}"
        for fall in plan.walls
    ]
    doors = [
        f"{step.door.name} {step.words(lambda metres: small(metres, job.unit))}"
        for step in door_steps(plan)
    ]
    said = [
        f"Away from the house: {'; '.join(parts)}." if parts else "No wall of the house in reach."
    ]
    if doors:
        said.append(f"Step down from the sill: {'; '.join(doors)}.")
    return " ".join(said)


def _level_table(
    job: Job, names: Sequence[str], levels: Levels, reach: Floats, measured: Floats
) -> dict[str, Any]:
    unit = job.unit
    # Where refill lies under the subgrade the hole has a bottom of its own.
    refilled = bool(np.any(levels.subgrade - levels.dug > _REFILL))
    rows: list[list[Cell]] = []
    for k, name in enumerate(names):
        # Adding zero turns a rounded -0.0 into 0.0.
        along, out = (level_pair(round(float(v), 6) + 0.0, unit, 16)[0] for v in measured[k])
        rows.append(
            [
                name,
                (f"{along} along", f"{out} out"),
                _known_pair(float(levels.existing[k]), float(reach[k]), unit),
                level_pair(float(levels.finish[k]), unit, 16),
                level_pair(float(levels.subgrade[k]), unit, 16),
                *([level_pair(float(levels.dug[k]), unit, DIRT)] if refilled else []),
                small_pair(float(levels.depth[k]), unit, DIRT),
            ]
        )
    heads = ["Point", "Where", "Existing", "Finish", "Subgrade", "Dig", "Subgrade is", "Finish is"]
    shares = [10.0, 22, 29, 30, 30, 18, 23, 23]
    if refilled:
        heads = ["", "Where", "Existing", "Finish", "Subgrade", "Dug to", "Dig", "Dug is",
                 "Finish is"]  # fmt: skip
        shares = [7, 21, 29, 27, 27, 25, 22, 14, 16]
    return table(heads, rows, shares, left=2, pencil=2, large=True)


def _known_pair(z: float, reach: float, unit: Unit) -> tuple[str, str]:
    """Write a level of the ground in both units, with its plus-or-minus beside the second."""
    first, second = level_pair(z, unit, DIRT)
    if not np.isfinite(reach):
        return first, second
    told = small_pair(reach, unit, DIRT)[1]
    return first, f"{second} \N{PLUS-MINUS SIGN}{told}"


def setting_level(job: Job, sheet: Compiled) -> Iterator[Section]:
    """Yield how what stands level is set: the sand at its corners, its line to cut, its courses."""
    unit = job.unit
    for thing in job.plan.advice.levels:
        masonry = any(corner.lost is not None for corner in thing.corners)
        bedded = thing.seat.stands == "bedding"
        rows: list[list[Cell]] = []
        for corner in thing.corners:
            under = corner.sand if bedded else corner.base_below
            cells = [under, *([corner.lost] if masonry else []), corner.shows]
            rows.append(
                [
                    corner.name,
                    printable(corner.where, 200),
                    level_pair(corner.finish, unit, 16),
                    *("" if each is None else small(each, unit) for each in cells),
                ]
            )
        heads = [
            "Where", "", "Finish", "Bedding under it" if bedded else "Base below finish",
            *(["Or off its lowest course"] if masonry else []), "Shows above", "Is",
        ]  # fmt: skip
        shares = [22.0, 52, 26, 26, *([26] if masonry else []), 24, 14]
        said = [f"it stands {stands_words(thing.seat)}", *beside_words(thing, unit)]
        yield Section(
            f"Set level: {printable(thing.seat.name, 60)}",
            (
                table(heads, rows, shares, left=2, pencil=1),
                listed([printable(each, len(each)) for each in said]),
            ),
        )
