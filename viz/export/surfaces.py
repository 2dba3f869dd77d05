"""The surfaces of a plan as triangles on the site's axes, for formats that carry surfaces."""

from __future__ import annotations

from typing import Literal

import numpy as np
from msgspec import Struct

from grading.design.area import AreaPlan
from grading.geometry.arrays import Floats, Ints
from grading.pipeline import Plan
from viz.scene.shell import Mesh, used
from viz.scene.solids import creased, hole_of, local_origin

_THIN = 1e-9  # own: m: a triangle no higher than this is a line
_PASSES = 10


class Surface(Struct, frozen=True):
    """Triangles that do not overlap in plan: points (n, 3) [m] and corners (m, 3).

    existing tells ground as it lies from what is to be made.
    """

    name: str
    about: str
    points: Floats
    faces: Ints
    existing: bool = False


def existing_ground(plan: Plan) -> list[Surface]:
    """Return the ground of the survey, and apart from it what was carried on beyond."""
    ground = plan.ground
    found = [
        Surface(
            "existing ground",
            f"{ground.spots} spots, {'smooth surface' if ground.surface == 'smooth' else 'TIN'}",
            *used(ground.points, ground.triangles[~ground.beyond]),
            existing=True,
        )
    ]
    if ground.beyond.any():
        about = "carried on beyond the survey: a guess, to be measured"
        points, faces = used(ground.points, ground.triangles[ground.beyond])
        found.append(Surface("existing ground beyond the survey", about, points, faces, True))
    return found


def finish_of(area: AreaPlan) -> Surface:
    """Return the top of the pavers of one area, with an edge along every fold."""
    origin = local_origin(area.chosen_dig)
    sheet = creased(area.outline, area.finish.surface, origin)
    xy = sheet.xy + origin[:2]
    points = np.column_stack([xy, area.finish.surface.at(xy)])
    name = f"{area.area.name}, finish"
    return Surface(name, "top of the pavers", *used(points, sheet.faces))


def dug_of(area: AreaPlan, base: str) -> Surface:
    """Return what one base system is dug to, organics out, over the whole over-dug hole."""
    about = f"{area.digs[base].system.title}: bottom of the hole, organics dug out"
    return Surface(f"{area.area.name}, {base}, dug to", about, *_hole(area, base, "floor"))


def subgrade_of(area: AreaPlan, base: str) -> Surface:
    """Return what the lowest layer of a base sits on; where the hole is deeper, on refill."""
    about = f"{area.digs[base].system.title}: underside of the lowest layer"
    return Surface(f"{area.area.name}, {base}, subgrade", about, *_hole(area, base, "level"))


def _hole(area: AreaPlan, base: str, which: Literal["floor", "level"]) -> Mesh:
    """Return the dug surface or the subgrade of a hole."""
    origin, hole = hole_of(area, base)
    points = np.column_stack([hole.sheet.xy, getattr(hole, which)]) + origin
    return used(*without_slivers(points, hole.sheet.faces))


def without_slivers(points: Floats, faces: Ints) -> Mesh:
    """Return the same surface without triangles that are a line in plan.

    Where a point lies on an edge to the last bit, the triangle beside it has no area, and
    programs that read surfaces stumble over it. Its long edge is turned over: its two neighbours
    then meet at the point. At the rim, where nothing lies beyond, it is left out.
    """
    for _ in range(_PASSES):
        sides = np.hypot(*np.moveaxis(_sides(points, faces), -1, 0))
        thin = np.flatnonzero(_twice_area(points, faces) < _THIN * sides.max(axis=1))
        if not len(thin):
            break
        faces = _turned(faces, thin.tolist(), sides)
    return points, faces


def _turned(faces: Ints, thin: list[int], sides: Floats) -> Ints:
    """Return triangles with the longest side of each thin one turned over."""
    listed = faces.tolist()
    owner = {
        (corners[k], corners[(k + 1) % 3]): number
        for number, corners in enumerate(listed)
        for k in range(3)
    }
    gone: set[int] = set()
    more: list[tuple[int, int, int]] = []
    for number in thin:
        corners, k = listed[number], int(sides[number].argmax())
        a, b, c = (corners[(k + turn) % 3] for turn in range(3))  # c lies on a to b
        beyond = owner.get((b, a))
        if number in gone or beyond in gone:
            continue
        gone.add(number)
        if beyond is not None:
            gone.add(beyond)
            (d,) = set(listed[beyond]) - {a, b}
            more += [(d, c, a), (d, b, c)]
    kept = [corners for number, corners in enumerate(listed) if number not in gone]
    return np.array([*kept, *more], np.int64)


def _sides(points: Floats, faces: Ints) -> Floats:
    """Return the sides of triangles in plan, the first from corner 0 to 1, (m, 3, 2)."""
    corners = points[faces][:, :, :2]
    return np.asarray(corners[:, [1, 2, 0]] - corners)


def _twice_area(points: Floats, faces: Ints) -> Floats:
    one, two = _sides(points, faces)[:, 0], _sides(points, faces)[:, 1]
    return np.asarray(np.abs(one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0]))
