"""Levels of an area at its corners and over a grid, one table for workbook and CSV."""

from __future__ import annotations

import numpy as np
import shapely

from grading.design.area import AreaPlan
from grading.design.door_steps import door_steps
from grading.design.levels import either_way, grid_of, levels_at
from grading.design.points import named_points
from grading.geometry.arrays import Floats
from grading.geometry.tolerances import TOGETHER
from grading.pipeline import Plan
from grading.units import INCH, METRES, feet_inches
from viz.table import Table


def points_of(plan: Plan, area: AreaPlan) -> tuple[list[str], list[str], Floats]:
    """Return name, kind and place (n, 2) [m] of the points that levels are told at.

    Corners and ends of folds carry the letters of the plan of levels; doors onto this area come
    next, each where its step is measured; then the grid of the crew's sheet, by its numbers.
    """
    points = named_points(area)
    steps = door_steps(area)
    grid = grid_of(area, plan.site.unit, points.xy)
    names = [*points.names, *(step.door.name for step in steps), *grid.names]
    counts = {
        "corner": points.corners,
        "end of a fold": len(points.names) - points.corners - points.middles,
        "middle of an arc": points.middles,
        "door": len(steps),
        "grid": len(grid.names),
    }
    kinds = [kind for kind, count in counts.items() for _ in range(count)]
    doors = np.array([step.at for step in steps]).reshape(-1, 2)
    return names, kinds, np.vstack([points.xy, doors, grid.xy])


def levels_table(plan: Plan, area: AreaPlan) -> Table:
    """Return existing ground, finish, and subgrade and dig of every base at each point.

    Elevations are in the site's unit, depths in inches or millimetres. A cell is empty where
    there is nothing of the kind: finish off the paving, subgrade and dig outside a hole.
    """
    unit = plan.site.unit
    per = METRES[unit]
    small, fine = ("in", INCH) if unit == "ft" else ("mm", 0.001)
    names, kinds, xy = points_of(plan, area)
    levels = levels_at(plan, area, xy)
    ground = levels.existing
    organics = plan.ground.under(area.area.name).organics_at(xy)
    places = np.asarray(shapely.points(xy))
    # A corner lies on the edge, and rounding must not put it outside.
    paved = shapely.distance(area.outline, places) <= TOGETHER
    finish = np.where(paved, levels.finish, np.nan)
    headers = ["point", "kind", f"x ({unit})", f"y ({unit})", f"existing ({unit})"]
    headers += [f"organics ({small})", f"finish ({unit})"]
    columns: list[list[object]] = [list(names), list(kinds)]
    columns += [_cells(each / per) for each in (xy[:, 0], xy[:, 1], ground)]
    columns += [_cells(organics / fine), _cells(finish / per)]
    if unit == "ft":
        headers.append("finish (feet and inches)")
        columns.append(["" if np.isnan(z) else feet_inches(float(z)) for z in finish])
    for base, dig in area.digs.items():
        inside = shapely.distance(dig.polygon, places) <= TOGETHER
        own = levels_at(plan, area, xy, base)
        subgrade, dug = (np.where(inside, each, np.nan) for each in (own.subgrade, own.dug))
        headers += [f"{base} subgrade ({unit})", f"{base} dug to ({unit})", f"{base} dig ({small})"]
        columns += [_cells(subgrade / per), _cells(dug / per), _cells((ground - dug) / fine)]
    headers.append(f"existing, plus or minus ({small})")
    columns.append(_cells(either_way(plan, xy) / fine, 3))
    return Table(tuple(headers), tuple(zip(*columns, strict=True)))


def _cells(values: Floats, digits: int = 8) -> list[object]:
    # Eight decimals of a foot are three millionths of a millimetre: no one's figure is rounded.
    return ["" if not np.isfinite(each) else round(float(each), digits) + 0.0 for each in values]


def spots_table(plan: Plan) -> Table:
    """Return the survey as it was read, in the site's unit."""
    spots, unit = plan.site.spots, plan.site.unit
    count = len(spots.xyz)
    ids, codes, notes = (words or ("",) * count for words in (spots.ids, spots.codes, spots.notes))
    rows = [
        (
            ids[i],
            *(round(float(each), 8) for each in spots.xyz[i] / METRES[unit]),
            codes[i],
            notes[i],
        )
        for i in range(count)
    ]
    return Table(("id", f"x ({unit})", f"y ({unit})", f"z ({unit})", "code", "note"), tuple(rows))
