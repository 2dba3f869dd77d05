"""What is painted on surfaces: arrows down the slope with the fall, and a scale bar."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from grading.design.folds import Pane, folds_of, panes_of, span_of, warped
from grading.geometry.arrays import Floats
from grading.units import FOOT, percent, taped_rate
from viz.look.materials import material
from viz.scene.collect import Collected
from viz.scene.frame import Frame
from viz.scene.grain import lettering
from viz.scene.model import BEHIND, IN_WORDS, VIEWS, Lines
from viz.scene.setting import Setting
from viz.scene.shell import Height, Mesh, Shape, triangulate

FOLD_LIFT = 0.006
"""How far the line of a fold is laid above the pavers. [m]"""


def _flat_arrow(start: Floats, along: Floats, size: float, width: float) -> Floats:
    """Return the seven corners of an arrow in plan, (7, 2). [m]"""
    across = np.array([-along[1], along[0]])
    shape = np.array(
        [[0, 0.5], [0.62, 0.5], [0.62, 1.35], [1, 0], [0.62, -1.35], [0.62, -0.5], [0, -0.5]]
    )
    return np.asarray(start + shape[:, :1] * size * along + shape[:, 1:] * width / 2 * across)


def add_fall(on: Setting, covered: Shape) -> None:
    """Paint the fall on every plane of the paving, with arrows down its slope around it.

    Nothing is painted where paving is `covered` by what stands on it. [m]
    """
    area, frame, opening, origin, unit = on.area, on.frame, on.opening, on.origin, on.unit
    panes = [pane for pane in panes_of(area) if pane.plane.fall > 0]
    if not panes:
        return
    r0, n0, r1, n1 = frame.bounds(area.outline)
    side = float(np.sqrt(area.outline.area))
    size = 0.2 * min(side, r1 - r0, n1 - n0) + 0.06 * side
    paint, level = material("paint").colour, on.found.level(on.finish)

    if warped(panes):
        least, most = (percent(fall) for fall in span_of(panes))
        told = [(panes, (f"{least} to {most}", least))]
    else:
        falls = [(percent(pane.plane.fall), taped_rate(pane.plane.fall, unit)) for pane in panes]
        told = [
            ([pane], (f"{fall}  {steep}", fall))
            for pane, (fall, steep) in zip(panes, falls, strict=True)
        ]
    for views, free in (
        (("layers",), area.outline.difference(opening.cut(0)).difference(covered)),
        (("finished", "yard"), area.outline.difference(covered)),
    ):
        meshes: list[Mesh] = []
        letters: list[Mesh] = []
        for group, words in told:
            own = free if len(told) == 1 else free.intersection(group[0].region)
            more, arrows = _painted(group, words, own, frame, (side, size), origin)
            letters += more
            meshes += arrows
        tones = [paint] * len(meshes)
        on.found.add_pattern("fall", "paint", tones, meshes, level, views, 0.004)
        _add_words(on.found, "fall", "paint", letters, level, views, 0.004)
    _add_folds(on)


def _add_words(
    found: Collected, name: str, kind: str, meshes: list[Mesh], level: Height,
    views: Sequence[str], over: float,
) -> None:  # fmt: skip
    """Add letters, and the same turned about their middle for whoever looks from the house."""
    tones = [material(kind).colour] * len(meshes)
    found.add_pattern(f"{name}{IN_WORDS}", kind, tones, meshes, level, views, over)
    turned = [(xy.min(axis=0) + xy.max(axis=0) - xy, faces) for xy, faces in meshes]
    behind = [view + BEHIND for view in views]
    found.add_pattern(name, kind, tones, turned, level, behind, over)


def _painted(
    panes: Sequence[Pane], words: tuple[str, str], free: Shape, frame: Frame,
    sizes: tuple[float, float], origin: Floats,
) -> tuple[list[Mesh], list[Mesh]]:  # fmt: skip
    """Return words, or shorter ones, and arrows down the slope, flat: (n, 2), (m, 3)."""
    if free.is_empty:
        return [], []
    side, size = sizes
    taken: Shape = shapely.Polygon()
    letters, meshes = [], []
    room = free.buffer(-0.01 * side)
    for text in words:
        place = _text_place(room, frame, text, 0.062 * side)
        if place is not None:
            at, height, taken = place
            points, faces = lettering(text, height)
            upright = np.stack([frame.right, -frame.near])
            letters.append((points @ upright + at - origin[:2], faces))
            break
    for spot in _arrow_places(free, frame):
        here = shapely.Point(spot)
        pane = min(panes, key=lambda each: float(each.domain.distance(here)))
        down = np.asarray(pane.plane.downhill, float)
        polygon = shapely.Polygon(_flat_arrow(spot - down * size / 2, down, size, size * 0.2))
        clear = polygon.buffer(0.12 * size)
        if free.covers(clear) and not taken.intersects(clear):
            taken = taken.union(polygon.buffer(0.6 * size))
            sheet, _ = triangulate(polygon)
            meshes.append((sheet.xy - origin[:2], sheet.faces))
    return letters, meshes


def _add_folds(on: Setting) -> None:
    """Draw the folds on the paving, each with its name."""
    area = on.area

    many = warped(panes_of(area))
    colour = material("paint").colour
    for number, fold in enumerate(folds_of(area)):
        for view in ("layers", "finished"):
            line: Shape = shapely.LineString(fold.line)
            if view == "layers":
                line = line.difference(on.opening.cut(0))
            if line.is_empty:
                continue
            longest = max(shapely.get_parts(line), key=lambda part: float(part.length))
            xy = shapely.get_coordinates(longest)
            z = on.finish.at(xy) - on.origin[2] + FOLD_LIFT
            points = np.column_stack([xy - on.origin[:2], z])
            shown = frozenset({"layers"} if view == "layers" else {"finished", "slice", "yard"})
            ends = np.array([[0, len(xy) - 1]])
            width = 1.0 if many else 3.0
            on.found.lines.append(Lines("fold", points, ends, colour, width, shown))
            if not many:
                words = f"{fold.kind} {percent(fold.fall)}"
                on.found.add_label(words, points.mean(axis=0), "level", shown, 5 + number)


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


def add_scale(on: Setting, free: Shape, ground_at: Height) -> None:
    """Lay a scale bar on the ground beside the dig, as near to the left front as it fits."""
    frame = on.frame
    if free.is_empty:
        return
    r0, _, r1, _ = frame.bounds(free)
    step, words = (FOOT, "ft") if on.unit == "ft" else (1.0, "m")
    longest = 0.4 * (r1 - r0) / step
    for count in [count for count in (20, 10, 5, 4, 3, 2, 1) if count <= max(longest, 1)]:
        wide = min(max(0.07 * count * step, 0.012 * (r1 - r0)), 0.2)
        text = 1.9 * wide
        size = np.array([count * step, wide + 1.35 * text])
        corner = _room(frame, free, size + np.array([0.8 * wide, 0.0]))
        if corner is not None:
            r, n = corner
            sizes = (count, step, wide, text)
            _bar(on, (r + 0.4 * wide, n), sizes, f"{count} {words}", ground_at)
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
    on: Setting, corner: tuple[float, float], sizes: tuple[int, float, float, float], words: str,
    ground_at: Height,
) -> None:  # fmt: skip
    frame, origin = on.frame, on.origin
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
    on.found.add_pattern("scale", "ink", tones, meshes, ground_at, VIEWS, 0.012)
    letters = [(points @ upright + place - origin[:2], faces)]
    _add_words(on.found, "scale", "ink", letters, ground_at, list(VIEWS), 0.012)
