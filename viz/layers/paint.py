"""What is painted on surfaces: arrows down the slope with the fall, and a scale bar."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from grading.units import FOOT, Unit, inches, millimetres, percent
from viz.layers.collect import add_pattern
from viz.layers.frame import Frame, Opening
from viz.layers.grain import lettering
from viz.layers.materials import material
from viz.layers.scene import VIEWS, Collected
from viz.layers.shell import Floats, triangulate

if TYPE_CHECKING:
    import shapely

    from grading.pipeline import AreaPlan
    from viz.layers.shell import Shape


def short(metres: float, unit: Unit, denominator: int = 16) -> str:
    """Write a short length [m] in the site's unit: 6 1/4 in, or 159 mm."""
    return inches(metres, denominator) if unit == "ft" else millimetres(metres)


def _rate(ratio: float, unit: Unit) -> str:
    return f"{inches(ratio * FOOT)} per foot" if unit == "ft" else f"{millimetres(ratio)} per metre"


def _slope_words(ratio: float, unit: Unit) -> str:
    return f"{percent(ratio)} ({_rate(ratio, unit)})"


def fall_words(area: AreaPlan, unit: Unit) -> str:
    """Say how the paving falls, and how much of it is away from each wall."""
    plane = area.finish.plane
    if plane.fall == 0:
        return "The paving is level."
    words = f"The paving falls {_slope_words(plane.fall, unit)}"
    ways: dict[str, list[str]] = {}
    for each in area.walls:
        way = "away from" if each.fall_away >= 0 else "TOWARDS"
        share = f"{_slope_words(abs(each.fall_away), unit)} {way}"
        ways.setdefault(share, []).append(each.wall.name)
    if not ways:
        return words + "."
    if len(ways) == 1:
        share, names = next(iter(ways.items()))
        whom = "the house" if len(names) == 1 else "each wall of the house"
        same = share.startswith(_slope_words(plane.fall, unit))
        return f"{words}, {share.rpartition(') ')[2] if same else share} {whom}."
    told = [f"{share} {' and '.join(names)}" for share, names in ways.items()]
    return f"{words}: {'; '.join(told)}."


def _flat_arrow(start: Floats, along: Floats, size: float, width: float) -> Floats:
    """Return the seven corners of an arrow in plan, (7, 2). [m]"""
    across = np.array([-along[1], along[0]])
    shape = np.array(
        [[0, 0.5], [0.62, 0.5], [0.62, 1.35], [1, 0], [0.62, -1.35], [0.62, -0.5], [0, -0.5]]
    )
    return np.asarray(start + shape[:, :1] * size * along + shape[:, 1:] * width / 2 * across)


def add_fall(
    collected: Collected,
    area: AreaPlan,
    frame: Frame,
    opening: Opening,
    origin: Floats,
    unit: Unit,
) -> None:
    """Paint the fall on the paving, with arrows down the slope around it."""
    import shapely

    plane = area.finish.plane
    if plane.fall == 0:
        return
    r0, n0, r1, n1 = frame.bounds(area.outline)
    side = float(np.sqrt(area.outline.area))
    size = 0.2 * min(side, r1 - r0, n1 - n0) + 0.06 * side
    words = f"{percent(plane.fall)}  {_rate(plane.fall, unit)}"
    down = np.asarray(plane.downhill, float)
    paint = material("paint").colour

    def level(xy: Floats) -> Floats:
        return np.asarray(plane.at(xy + origin[:2]) - origin[2])

    for view, free in (
        ("layers", area.outline.difference(opening.cut(0))),
        ("finished", area.outline),
    ):
        taken: Shape = shapely.Polygon()
        meshes = []
        place = _text_place(free.buffer(-0.01 * side), frame, words, 0.062 * side)
        if place is not None:
            at, height, taken = place
            points, faces = lettering(words, height)
            upright = np.stack([frame.right, -frame.near])
            meshes.append((points @ upright + at - origin[:2], faces))
        for spot in _arrow_places(free, frame):
            polygon = shapely.Polygon(_flat_arrow(spot - down * size / 2, down, size, size * 0.2))
            clear = polygon.buffer(0.12 * size)
            if free.covers(clear) and not taken.intersects(clear):
                taken = taken.union(polygon.buffer(0.6 * size))
                sheet, _ = triangulate(polygon)
                meshes.append((sheet.xy - origin[:2], sheet.faces))
        tones = [paint] * len(meshes)
        add_pattern(collected, "fall", "paint", tones, meshes, level, (view,), 0.004)


def _arrow_places(free: Shape, frame: Frame) -> list[Floats]:
    r0, n0, r1, n1 = frame.bounds(free)
    shares = [
        (0.12, 0.4), (0.38, 0.24), (0.64, 0.24), (0.88, 0.24), (0.2, 0.7), (0.5, 0.5),
        (0.8, 0.5), (0.1, 0.85), (0.3, 0.15), (0.7, 0.8), (0.5, 0.1), (0.9, 0.1),
    ]  # fmt: skip
    local = np.array([[r0 + r * (r1 - r0), n0 + n * (n1 - n0)] for r, n in shares])
    return list(frame.site(local))


def _text_place(
    free: Shape, frame: Frame, words: str, height: float
) -> tuple[Floats, float, shapely.Polygon] | None:
    """Return where words lie on free paving, how high they are, and the room they take."""
    r0, n0, r1, n1 = frame.bounds(free)
    wanted = np.array([r0 + 0.36 * (r1 - r0), n0 + 0.55 * (n1 - n0)])
    grid = np.stack(np.meshgrid(np.linspace(r0, r1, 25), np.linspace(n0, n1, 25)), axis=-1).reshape(
        -1, 2
    )
    grid = grid[np.argsort(np.hypot(*(grid - wanted).T))]
    points, _ = lettering(words, 1.0)
    half = np.ptp(points, axis=0) / 2 + 0.3
    for smaller in (1.0, 0.85, 0.7, 0.55):
        wide, high = half * height * smaller
        for r, n in grid:
            box = frame.box(r - wide, n - high, r + wide, n + high)
            if free.covers(box):
                return frame.site(np.array([[r, n]]))[0], height * smaller, box
    return None


def add_scale(
    collected: Collected,
    frame: Frame,
    free: Shape,
    ground_at: Any,
    origin: Floats,
    unit: Unit,
) -> None:
    """Lay a scale bar on the ground beside the dig, as near to the left front as it fits."""
    if free.is_empty:
        return
    r0, _, r1, _ = frame.bounds(free)
    step, words = (FOOT, "ft") if unit == "ft" else (1.0, "m")
    longest = 0.4 * (r1 - r0) / step
    for count in [count for count in (20, 10, 5, 4, 3, 2, 1) if count <= max(longest, 1)]:
        wide = min(max(0.07 * count * step, 0.012 * (r1 - r0)), 0.2)
        text = 1.9 * wide
        size = np.array([count * step, wide + 1.35 * text])
        corner = _room(frame, free, size + np.array([0.8 * wide, 0.0]))
        if corner is not None:
            r, n = corner
            _bar(collected, frame, (r + 0.4 * wide, n), (count, step, wide, text),
                 f"{count} {words}", ground_at, origin)  # fmt: skip
            return


def _room(frame: Frame, free: Shape, size: Floats) -> Floats | None:
    """Return where a rectangle fits, its least right and near: at the front, then at the left."""
    if free.is_empty:
        return None
    r0, n0, r1, n1 = frame.bounds(free)
    across, out = np.linspace(r0, r1 - size[0], 40), np.linspace(n1 - size[1], n0, 40)
    # A little in from the front edge, so that what is laid there is seen whole.
    for n in out - 0.15 * size[1]:
        for r in across + 0.02 * (r1 - r0):
            if free.covers(frame.box(r, n, r + size[0], n + size[1])):
                return np.array([r, n])
    return None


def _bar(
    collected: Collected,
    frame: Frame,
    corner: tuple[float, float],
    sizes: tuple[int, float, float, float],
    words: str,
    ground_at: Any,
    origin: Floats,
) -> None:
    count, step, wide, text = sizes
    r, n = corner
    n += 1.35 * text
    ink = material("ink").colour
    tones, meshes = [], []
    for i in range(count):
        left, right = r + i * step, r + (i + 1) * step
        corners = np.array([[left, n], [right, n], [right, n + wide], [left, n + wide]])
        tones.append(ink if i % 2 == 0 else "#ffffff")
        meshes.append((frame.site(corners) - origin[:2], np.array([[0, 1, 2], [0, 2, 3]])))
    points, faces = lettering(words, text)
    upright = np.stack([frame.right, -frame.near])
    place = frame.site(np.array([[r + count * step / 2, n - 0.62 * text]]))[0]
    tones.append(ink)
    meshes.append((points @ upright + place - origin[:2], faces))
    add_pattern(collected, "scale", "ink", tones, meshes, ground_at, VIEWS, 0.012)
