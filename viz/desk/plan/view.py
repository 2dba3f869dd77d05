"""The plan as the page draws it: the yard as it is written, with what is planned of it.

Places are in the unit of the site, as the file has them; every figure is a string that is ready to
be shown. What cannot be planned yet is drawn all the same, so far as it can be read.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Any

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from grading.design.door_steps import DoorStep, door_steps
from grading.geometry.tolerances import TOGETHER
from grading.pipeline import Plan
from grading.reading.partly import Partly
from grading.site.house import House
from grading.site.step_tables import Door
from grading.site.walls import named_walls
from grading.units import FOOT, METRES, Unit, length, size
from viz.desk.places import place, ring
from viz.desk.plan.areas import area_view, areas_planned
from viz.desk.plan.marks import marks_view, spots_view, structures_view

TURN_OF_NOTHING = 180
"""Of a yard without a house: x runs along its wall and y out of it, as it is mostly taped, so that
the wall is to be drawn at the top. [degrees]"""

BEHIND = 40 * FOOT
"""How far behind an open wall line the house is hatched. [m]"""

AROUND = 6 * FOOT
"""What is shown round what matters most. [m]"""

ALONG = 16 * FOOT
"""Of a wall, no more is looked at than so far from the paving. [m]"""

EMPTY = (-4 * FOOT, -8 * FOOT, 36 * FOOT, 24 * FOOT)
"""What is shown of a yard of which nothing is written. [m]"""


def plan_view(
    document: Mapping[str, Any], partly: Partly, plan: Plan | None, stale: bool,
    suspects: Collection[str] | None = None,
) -> dict[str, Any]:  # fmt: skip
    """Return a yard in plan as plain data.

    Parameters
    ----------
    document : mapping
        The site file as TOML has it.
    partly : Partly
        What of it can be read.
    plan : Plan or None
        The last plan that could be made.
    stale : bool
        Whether the document has moved on since.
    suspects : collection of str, optional
        What settles each spot that stands out, its id or its line; as the plan has them where it
        is left out.

    Returns
    -------
    dict
        `turn` is how far it is turned, anticlockwise, so that the house is at the top [degrees].
        `bounds` holds all that is drawn, `built` all of it but the spots of the survey, and `fit`
        what is looked at first, as [x0, y0, x1, y1].
    """
    unit = partly.unit
    turn = turn_of(partly)
    structures = structures_view(plan, stale)
    built = [*_written(partly), *_far(structures, unit)]
    return {
        "unit": unit,
        "turn": turn,
        "stale": stale,
        "planned": plan is not None,
        "bounds": _box(shapely.union_all([*built, *_surveyed(partly)]), unit),
        "built": _box(shapely.union_all(built), unit),
        "fit": _box(_looked_at(partly), unit),
        "house": None if partly.house is None else _house(document, partly.house, unit),
        "doors": _doors(partly, plan, stale),
        "areas": [
            area_view(document, partly, way, area, areas_planned(plan).get(area.name), stale)
            for way, area in partly.areas.items()
        ],
        "marks": marks_view(document, partly),
        "spots": spots_view(document, partly, _suspects(plan) if suspects is None else suspects),
        **structures,
    }


def _suspects(plan: Plan | None) -> Collection[str]:
    shots = None if plan is None else plan.ground.shots
    return () if shots is None else [each.key for each in shots.suspects]


def turn_of(partly: Partly) -> int:
    """Return how far the plan is turned, anticlockwise, for the house to be at its top. [degrees]

    By a quarter of a turn, or two, or three: what is square in the file is square on the page.
    """
    house = partly.house
    if house is None:
        return TURN_OF_NOTHING
    segments = house.segments()
    long = np.array([np.hypot(*(end - start)) for start, end, _ in segments])
    out = long @ np.array([outward for _, _, outward in segments])
    if np.hypot(*out) < 0.2 * long.sum():
        # The walls of a closed line face all ways: the paving tells where the yard is.
        yard = shapely.union_all([area.polygon for area in partly.areas.values()])
        middle = house.polygon(FOOT).centroid if yard.is_empty else house.polygon(0.01).centroid
        if not yard.is_empty:
            out = np.array(yard.centroid.coords[0]) - np.array(middle.coords[0])
    if not np.hypot(*out) > 0:
        return TURN_OF_NOTHING
    quarter = round((-90.0 - float(np.degrees(np.arctan2(out[1], out[0])))) / 90.0)
    return int(quarter * 90 % 360)


def _looked_at(partly: Partly) -> BaseGeometry:
    """Return what is looked at first: the paving with its doors, else what there is. [m]"""
    shapes = [area.polygon for area in partly.areas.values()]
    if shapes:
        near = shapely.union_all(shapes).buffer(ALONG, join_style="mitre", cap_style="flat")
        doors = [shapely.Point(door.at) for door in partly.doors.values()]
        return shapely.union_all([*shapes, *(each for each in doors if near.intersects(each))])
    if partly.house is not None:
        wall = shapely.LineString(partly.house.walls)
        return shapely.union_all([wall, partly.house.yard(AROUND * 2)])
    return shapely.union_all([*_written(partly), *_surveyed(partly)])


def _far(structures: Mapping[str, Any], unit: Unit) -> list[BaseGeometry]:
    """Return what is built beside the paving, and where water stands, far as it may lie. [m]"""
    return [
        shapely.MultiPoint(METRES[unit] * np.asarray(ring))
        for each in (*structures["structures"], *structures["low_spots"])
        for ring in each["rings"]
    ]


def _surveyed(partly: Partly) -> list[BaseGeometry]:
    spots = partly.spots
    return [] if spots is None or not len(spots.xyz) else [shapely.MultiPoint(spots.xyz[:, :2])]


def _written(partly: Partly) -> list[BaseGeometry]:
    """Return all that is written but the survey. [m]"""
    found: list[BaseGeometry] = [area.polygon for area in partly.areas.values()]
    if partly.house is not None:
        found.append(shapely.LineString(partly.house.walls))
    for table in (partly.doors, partly.downspouts):
        found += [shapely.Point(each.at) for each in table.values()]
    for lines in (partly.ceilings, partly.floors, partly.meets, partly.outfalls):
        found += [shapely.MultiPoint(each.at) for each in lines.values()]
    found += [shapely.Point(each.to) for each in partly.downspouts.values() if each.to is not None]
    found += [each.polygon for each in partly.features.values()]
    return found


def _box(shape: BaseGeometry, unit: Unit) -> list[float]:
    x0, y0, x1, y1 = EMPTY if shape.is_empty else shape.bounds
    around = 0.0 if shape.is_empty else AROUND
    low = place((x0 - around, y0 - around), unit)
    return [*low, *place((x1 + around, y1 + around), unit)]


def _house(document: Mapping[str, Any], house: House, unit: Unit) -> dict[str, Any]:
    """Return the foundation line with its corners, its walls by name, and what lies behind it."""
    body = house.behind(BEHIND) if not house.closed else house.polygon(BEHIND)
    written = document.get("house", {}).get("walls", [])
    return {
        "at": "house/walls",
        "corners": [
            {"at": f"house/walls/{k}", "xy": place(xy, unit), "written": written[k]}
            for k, xy in enumerate(house.walls)
            if k < len(written)
        ],
        "closed": house.closed,
        "walls": [
            {
                "name": name,
                "from": place(start, unit),
                "to": place(end, unit),
                "outward": outward.tolist(),
            }
            for name, start, end, outward in named_walls(house)
        ],
        "body": [ring(part.exterior, unit) for part in shapely.get_parts(body)],
        "courts": [
            ring(inner, unit) for part in shapely.get_parts(body) for inner in part.interiors
        ],
    }


def _doors(partly: Partly, plan: Plan | None, stale: bool) -> list[dict[str, Any]]:
    """Return each door in its wall, with its sill and the step down from it."""
    unit = partly.unit
    steps = {} if plan is None else _steps(plan)
    return [
        {
            "at": way,
            "name": door.name or "door",
            "sill": f"sill {length(door.sill, unit)}",
            "step": _step_words(steps.get(way), door, partly.unit, stale),
            **_in_its_wall(partly.house, door, partly.unit),
        }
        for way, door in partly.doors.items()
    ]


def _steps(plan: Plan) -> Mapping[str, DoorStep]:
    numbers = {id(door): k for k, door in enumerate(plan.site.doors)}
    return {
        f"door/{numbers[id(step.door)]}": step for area in plan.areas for step in door_steps(area)
    }


def _step_words(step: DoorStep | None, door: Door, unit: Unit, stale: bool) -> str:
    """Say the step down at a door; nothing where it is that of another door, since moved."""
    if step is None or float(np.hypot(*(step.door.at - door.at))) > TOGETHER:
        return ""
    if stale and step.door.sill != door.sill:
        return ""
    words = step.words(lambda metres: size(metres, unit))
    return words if step.risers > 1 else f"step down {words}"


def _in_its_wall(house: House | None, door: Door, unit: Unit) -> dict[str, Any]:
    """Return where a door stands, and which ways its wall runs and faces."""
    if house is None:
        return {"xy": place(door.at, unit), "foot": None, "along": None, "outward": None}
    wall = house.wall_of(door.at)
    return {
        "xy": place(door.at, unit),
        "foot": place(wall.foot, unit),
        "along": wall.along.tolist(),
        "outward": wall.outward.tolist(),
    }
