"""What is written on a scene: doors, levels of the finish, topsoil, spots of the survey."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
import shapely

from grading.design.door_steps import door_steps
from grading.geometry.arrays import Floats
from grading.site.model import Door
from grading.units import INCH, length, size
from viz.look.materials import SPOT
from viz.scene.model import TRUE_SCALE, VIEWS, Body
from viz.scene.setting import Setting
from viz.scene.shell import Shape
from viz.scene.solids import Draped, height_over
from viz.scene.surroundings import (
    HEAD,
    TURF,
    WALL,
    WHOLE_HEAD,
    add_house,
    door_frame,
    doors_at,
    house_levels,
)

HOUSED = tuple(view for view in VIEWS if view not in ("apart", "yard"))
"""The views with the house wall beside the paving."""

_ROUND = 8  # corners of a spot


def add_walls(on: Setting, region: shapely.Polygon) -> None:
    """Add the house wall beside the paving, with its doors and the step down from each."""
    true = tuple(view for view in HOUSED if view in TRUE_SCALE)
    # Where heights are drawn larger, a whole wall would tower over the paving.
    _add_house(on, region, HEAD, tuple(view for view in HOUSED if view not in true))
    _add_house(on, region, WHOLE_HEAD, true)
    name_doors(on, doors_at(on.plan.site, region))


def name_doors(on: Setting, doors: Iterable[Door]) -> None:
    """Say at each door onto the paving what the step down from it is, and how high its sill is."""
    house, unit = on.plan.site.house, on.unit
    if house is None:
        return
    # The one step that the table, the details and the checks tell too.
    steps = {step.door.name: step for step in door_steps(on.area)}
    for door in doors:
        if door.name not in steps:
            continue  # a door that is not about this paving has no step down to it
        place = door_frame(house, door)
        step = steps[door.name]
        high = step.words(lambda metres: size(abs(metres), unit))
        how = f"{high} step" if step.risers == 1 else high
        if step.step < 0:
            how = f"sill {high} BELOW the finish"
        sill = f"sill {length(door.sill, unit)}"
        at = np.append(place.at - on.origin[:2], door.sill - on.origin[2])
        # Before there is any paving there is no step down to it.
        for said, shown in ((how, {*HOUSED, "yard"} - {"dig", "today"}), ("", {"dig", "today"})):
            words = f"{door.name}: {said}\n{sill}" if said else f"{door.name}\n{sill}"
            on.found.add_label(words, at, "house", shown, 20, f"{door.name}\n{said or sill}")


def add_yard_walls(on: Setting, yard: Shape) -> None:
    """Add all of the house's walls that stand at the yard."""
    _add_house(on, yard, WHOLE_HEAD, ("yard",))


def _add_house(on: Setting, region: Shape, head: float, views: tuple[str, ...]) -> None:
    house, site = on.plan.site.house, on.plan.site
    if house is not None:
        doors = doors_at(site, region)
        levels = house_levels(site, [on.area], doors, on.bottom + on.origin[2], head)
        around = region.buffer(WALL, join_style="mitre")
        add_house(on.found, house, doors, around, levels, views)


def add_topsoil(on: Setting, whole: Draped) -> None:
    """Name the topsoil where the opening has cut the lawn beside the dig."""
    lawn, opening = on.region.difference(on.others(on.region)), on.opening
    r0, _, _, n1 = on.frame.bounds(on.region)
    # The ground is cut along the opening up to the edge of the block.
    place = [opening.corners[0, 0], n1] if opening.along[0] else [r0, opening.corners[0, 1]]
    corner = on.frame.site(np.array([place]))
    if not lawn.buffer(2 * INCH).covers(shapely.Point(corner[0])):
        return
    at = corner - on.origin[:2]
    depth = float(height_over(whole.sheet, whole.organics)(at)[0])
    if depth < 2 * TURF:
        return
    z = float(height_over(whole.sheet, whole.ground)(at)[0]) - (depth + TURF) / 2
    words = f"topsoil {size(depth, on.unit, 8)}\nto be stripped"
    on.found.add_label(words, np.append(at[0], z), "ground", ("layers",), 30)


def add_levels(on: Setting) -> None:
    """Write the finish at the outline's corners that are not lifted away."""
    outline, cut = on.area.outline, on.opening.cut(0)
    r0, n0, r1, n1 = on.frame.bounds(outline)
    corners = shapely.get_coordinates(outline.exterior.simplify(2 * INCH))[:-1]
    local = on.frame.local(corners)
    for want_r, want_n, rank in ((r0, n0, 10), (r1, n0, 11), (r0, n1, 12), (r1, n1, 13)):
        i = int(np.argmin(np.hypot(local[:, 0] - want_r, local[:, 1] - want_n)))
        z = float(on.finish.at(corners[i][None])[0])
        shown = {"finished"} if cut.covers(shapely.Point(corners[i])) else {"layers", "finished"}
        at = np.append(corners[i], z) - on.origin
        on.found.add_label(f"finish {length(z, on.unit)}", at, "level", shown, rank)


def add_spots(on: Setting) -> None:
    """Mark the surveyed spots of existing ground, with their elevations."""
    xyz = on.plan.site.spots.xyz
    inside = shapely.contains_xy(on.region, xyz[:, :2])
    if not inside.any():
        return
    spots = xyz[inside] - on.origin
    turn = np.arange(_ROUND) * 2 * np.pi / _ROUND
    ring = 2 * INCH * np.column_stack([np.cos(turn), np.sin(turn)])
    points = (spots[:, None, :2] + ring).reshape(-1, 2)
    levels = np.repeat(spots[:, 2] + 0.01, _ROUND)
    more = np.arange(1, _ROUND - 1)
    fan = np.column_stack([np.zeros_like(more), more, more + 1])
    faces = (fan[None] + _ROUND * np.arange(len(spots))[:, None, None]).reshape(-1, 3)
    vertices, shown = np.column_stack([points, levels]), frozenset({"today"})
    on.found.bodies.append(Body("spots", "ink", vertices, faces, SPOT, shown, True))
    for rank, at in enumerate(_spread(spots[:, :2])):
        spot = spots[at]
        words = length(float(spot[2] + on.origin[2]), on.unit)
        on.found.add_label(words, spot, "spot", shown, 100 + rank)


def _spread(points: Floats) -> list[int]:
    """Return the numbers of points (n, 2), each the farthest from all before it: a few cover all.

    Equally far ones come in their order.
    """
    order = [int(np.argmin(points.sum(axis=1)))]
    far = np.hypot(*(points - points[order[0]]).T)
    while len(order) < len(points):
        far[order[-1]] = -1.0
        order.append(int(np.argmax(far)))
        far = np.minimum(far, np.hypot(*(points - points[order[-1]]).T))
    return order
