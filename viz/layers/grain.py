"""What a surface shows: pavers in their bond, the seams of panels, grains of stone, lettering."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from grading.units import FOOT, INCH
from viz.layers.shell import Floats, Ints

if TYPE_CHECKING:
    from viz.layers.shell import Shape

PAVER = (9 * INCH, 6 * INCH)
"""Length along the courses and width across them of the paver drawn. [m]"""

JOINT = INCH / 4
"""Width of the joint drawn between pavers, chamfers included. [m]"""

PANEL = (3 * FOOT, 2 * FOOT)
"""Size of the panel whose seams are drawn. [m]"""


def _triangles(shapes: NDArray[Any]) -> tuple[Floats, Ints, Ints]:
    """Triangulate many small polygons: points (n, 2), triangles (m, 3), owner of each (m,)."""
    import shapely

    parts, owner = shapely.get_parts(
        shapely.constrained_delaunay_triangles(shapes), return_index=True
    )
    corners = shapely.get_coordinates(parts).reshape(-1, 4, 2)[:, :3]
    first, second = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    turned = first[:, 0] * second[:, 1] < first[:, 1] * second[:, 0]
    corners[turned] = corners[turned][:, ::-1]
    points, index = np.unique(corners.reshape(-1, 2), axis=0, return_inverse=True)
    return points, index.reshape(-1, 3), owner


def _courses(
    polygon: Shape, right: Floats, size: tuple[float, float], shift: float
) -> tuple[NDArray[Any], Ints, Ints]:
    """Return rectangles in running bond over a polygon, with the course and place of each."""
    import shapely

    near = np.array([-right[1], right[0]])
    local = shapely.get_coordinates(polygon) @ np.column_stack([right, near])
    low, high = local.min(axis=0), local.max(axis=0)
    courses = np.arange(int(np.ceil((high[1] - low[1]) / size[1])))
    places = np.arange(-1, int(np.ceil((high[0] - low[0]) / size[0])) + 1)
    course, place = (grid.ravel() for grid in np.meshgrid(courses, places, indexing="ij"))
    r = low[0] + (place + shift * (course % 2)) * size[0]
    n = low[1] + course * size[1]
    corners = np.stack(
        [
            np.column_stack([r + dr * size[0], n + dn * size[1]])
            for dr, dn in ((0, 0), (1, 0), (1, 1), (0, 1))
        ],
        axis=1,
    )
    return shapely.polygons(corners @ np.stack([right, near])), course, place


def pavers(
    polygon: Shape, right: Floats, tones: int, facets: Sequence[Shape] = ()
) -> list[tuple[Floats, Ints]]:
    """Lay pavers to size in running bond over a polygon, a joint between them.

    Parameters
    ----------
    polygon : shapely polygon or multipolygon
        What is paved. [m]
    right : (2,) float
        Direction of the courses.
    tones : int
        How many tones the pavers come in.
    facets : sequence of shapely polygon, optional
        What pavers are cut along: the planes of the finish in plan. [m]

    Returns
    -------
    list of ((n, 2), (m, 3))
        For each tone the points in plan [m] and the triangles.
    """
    import shapely

    units, course, place = _courses(polygon, right, PAVER, 0.5)
    shapely.prepare(polygon)
    met = shapely.intersects(polygon, units)
    inner = shapely.buffer(units[met], -JOINT / 2, join_style="mitre")
    cut = shapely.intersection(inner, polygon)
    course, place = course[met], place[met]
    if len(facets) > 1:
        pieces = shapely.intersection(np.array(facets)[:, None], cut)
        facet, unit = np.nonzero(shapely.area(pieces) > 0)
        cut, course, place = pieces[facet, unit], course[unit], place[unit]
    points, faces, owner = _triangles(cut)
    # A fixed scramble of course and place: the same paver has the same tone in every picture.
    scrambled = np.sin(course * 12.9898 + place * 78.233) * 43758.5453
    tone = np.floor((scrambled % 1.0) * tones).astype(int)[owner]
    return [(points, faces[tone == i]) for i in range(tones)]


def panel_seams(polygon: Shape, right: Floats) -> list[Floats]:
    """Return the seams of panels laid over a polygon, each a line (k, 2). [m]"""
    import shapely

    units, _, _ = _courses(polygon, right, PANEL, 0.5)
    lines = shapely.intersection(shapely.union_all(shapely.boundary(units)), polygon)
    return [shapely.get_coordinates(part) for part in shapely.get_parts(shapely.line_merge(lines))]


def grains(
    polygon: Shape, size: float, share: float, tones: int, seed: int, most: int = 1400
) -> list[tuple[Floats, Ints]]:
    """Scatter flat grains over a polygon, clear of its edge.

    Parameters
    ----------
    polygon : shapely polygon or multipolygon
    size : float
        Mean width of a grain. [m]
    share : float
        How much of the polygon they cover; less where that takes more than `most` grains.
    tones, seed : int
        How many tones they come in; the scatter is the same for the same seed.

    Returns
    -------
    list of ((n, 2), (m, 3))
        For each tone the points in plan [m] and the triangles.
    """
    import shapely

    inner = polygon.buffer(-size / 2)
    if inner.is_empty or not tones:
        return []
    random = np.random.default_rng(seed)
    left, bottom, right, top = inner.bounds
    wanted = min(most, int(share * inner.area / (0.6 * size**2)))
    tries = int(wanted * (right - left) * (top - bottom) / inner.area) + 1
    middle = random.uniform((left, bottom), (right, top), (tries, 2))
    shapely.prepare(inner)
    middle = middle[shapely.contains_xy(inner, middle)]
    count, sides = len(middle), 5
    turn = random.uniform(0, 2 * np.pi, (count, 1)) + np.arange(sides) * 2 * np.pi / sides
    radius = size / 2 * random.uniform(0.6, 1.25, (count, 1)) * random.uniform(0.75, 1, turn.shape)
    ring = middle[:, None] + radius[..., None] * np.stack([np.cos(turn), np.sin(turn)], axis=-1)
    fan = np.column_stack([np.zeros(sides - 2), np.arange(1, sides - 1), np.arange(2, sides)])
    faces = fan.astype(np.int64)[None] + sides * np.arange(count)[:, None, None]
    tone = np.arange(count) % tones
    found = []
    for i in range(tones):
        chosen = faces[tone == i]
        if len(chosen):
            used, index = np.unique(chosen.ravel(), return_inverse=True)
            found.append((ring.reshape(-1, 2)[used], index.reshape(-1, 3)))
    return found


@cache
def _glyph_path(text: str) -> tuple[Floats, Ints]:
    import shapely
    from matplotlib.font_manager import FontProperties
    from matplotlib.textpath import TextPath

    face = FontProperties(family=["DejaVu Sans"], weight="bold")
    path = TextPath((0, 0), text, size=1.0, prop=face)
    loops = [np.asarray(loop, float) for loop in path.to_polygons(closed_only=True)]
    # Fonts wind counters against outlines; even-odd filling needs no winding at all.
    filled: Shape = shapely.Polygon()
    for loop in loops:
        if len(loop) > 3:
            filled = filled.symmetric_difference(shapely.Polygon(loop).buffer(0))
    points, faces, _ = _triangles(np.array([filled]))
    return points, faces


def lettering(text: str, size: float) -> tuple[Floats, Ints]:
    """Return a text as triangles, its middle at the origin, `size` [m] high: (n, 2), (m, 3)."""
    points, faces = _glyph_path(text)
    low, high = points.min(axis=0), points.max(axis=0)
    scaled = (points - [(low[0] + high[0]) / 2, 0.36]) * size
    return scaled, faces
