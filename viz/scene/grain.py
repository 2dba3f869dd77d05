"""What a surface shows: pavers as laid, seams and studs of panels, grains of stone, lettering."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

import numpy as np
import shapely

from grading.geometry.arrays import Floats
from grading.units import INCH
from viz.scene.shell import Mesh, Polygons, Shape, triangles_of, used

CHAMFER = INCH / 16
"""How far the face of a paver stays back from its side; beside a joint it is seen as joint. [m]"""

MOST_FACES = 12_000
"""More pavers than this are not drawn one by one."""

STUDS = (8 * INCH, 4.5 * INCH)
"""Spacing and width of the relief that a panel is drawn with. [m]"""


def pavers(faces: Polygons, polygon: Shape, tones: int, facets: Sequence[Shape] = ()) -> list[Mesh]:
    """Show the faces of pavers inside a polygon, their chamfers taken off.

    Parameters
    ----------
    faces : (k,) shapely polygons
        Every paver as it is laid, joints between them. [m]
    polygon : shapely polygon or multipolygon
        What is shown of them. [m]
    tones : int
        How many tones the pavers come in.
    facets : sequence of shapely polygon, optional
        What pavers are cut along: the planes of the finish in plan. [m]

    Returns
    -------
    list of ((n, 2), (m, 3))
        For each tone the points in plan [m] and the triangles.
    """
    if not len(faces) or len(faces) > MOST_FACES:
        return []
    # The same paver has the same tone in every picture: a fixed scramble of where it lies.
    middle = np.round(shapely.get_coordinates(shapely.centroid(faces)), 3)
    scrambled = np.sin(middle[:, 0] * 12.9898 + middle[:, 1] * 78.233) * 43758.5453
    tone = np.floor((scrambled % 1.0) * tones).astype(int)
    shapely.prepare(polygon)
    met = np.asarray(shapely.intersects(polygon, faces))
    inner = shapely.buffer(faces[met], -CHAMFER, join_style="mitre")
    whole = np.asarray(shapely.covers(polygon, inner))
    cut = np.where(whole, inner, shapely.intersection(inner, polygon))
    tone = tone[met]
    if len(facets) > 1:
        pieces = shapely.intersection(np.array(facets)[:, None], cut)
        facet, unit = np.nonzero(shapely.area(pieces) > 0)
        cut, tone = pieces[facet, unit], tone[unit]
    points, triangles, owner = triangles_of(cut)
    return [used(points, triangles[tone[owner] == i]) for i in range(tones)]


def seams(panels: Polygons, polygon: Shape) -> list[Floats]:
    """Return the seams between panels (k,) shapely polygons inside a polygon, lines (n, 2). [m]"""
    met = panels[np.asarray(shapely.intersects(polygon, panels))]
    lines = shapely.intersection(shapely.union_all(shapely.boundary(met)), polygon)
    merged = shapely.get_parts(shapely.line_merge(lines))
    return [shapely.get_coordinates(part) for part in merged if part.geom_type == "LineString"]


def studs(polygon: Shape, right: Floats) -> Mesh:
    """Return the relief of panels over a polygon, square studs in rows: (n, 2) [m], (m, 3)."""
    pitch, wide = STUDS
    near = np.array([-right[1], right[0]])
    local = shapely.get_coordinates(polygon) @ np.column_stack([right, near])
    (r0, n0), (r1, n1) = local.min(axis=0), local.max(axis=0)
    grid = np.meshgrid(np.arange(r0 + pitch / 2, r1, pitch), np.arange(n0 + pitch / 2, n1, pitch))
    middle = np.stack(grid, axis=-1).reshape(-1, 2)
    square = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * wide / 2
    shapes = shapely.polygons((middle[:, None] + square) @ np.stack([right, near]))
    shapely.prepare(polygon)
    kept = np.asarray(shapes)[np.asarray(shapely.contains_properly(polygon, shapes))]
    if not len(kept):
        return np.zeros((0, 2)), np.zeros((0, 3), np.int64)
    corners = shapely.get_coordinates(kept).reshape(-1, 5, 2)[:, :4]
    start = 4 * np.arange(len(kept))[:, None, None]
    return corners.reshape(-1, 2), (start + np.array([[0, 1, 2], [0, 2, 3]])).reshape(-1, 3)


def grains(
    polygon: Shape, size: float, share: float, tones: int, seed: int, most: int = 900
) -> list[Mesh]:
    """Scatter flat grains over a polygon, clear of its edge.

    Parameters
    ----------
    polygon : shapely polygon or multipolygon
    size : float
        Mean width of a grain. [m]
    share : float
        How much of the polygon they cover; less where that takes more than `most` grains, which
        keeps the page small enough to send by mail.
    tones, seed : int
        How many tones they come in; the scatter is the same for the same seed.

    Returns
    -------
    list of ((n, 2), (m, 3))
        For each tone the points in plan [m] and the triangles.
    """
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
    chosen = [faces[tone == i] for i in range(tones)]
    return [used(ring.reshape(-1, 2), each.reshape(-1, 3)) for each in chosen if len(each)]


@cache
def _glyph_path(text: str) -> Mesh:
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
    points, faces, _ = triangles_of(np.array([filled]))
    return points, faces


def lettering(text: str, size: float) -> Mesh:
    """Return a text as triangles, its middle at the origin, `size` [m] high: (n, 2), (m, 3)."""
    points, faces = _glyph_path(text)
    low, high = points.min(axis=0), points.max(axis=0)
    scaled = (points - [(low[0] + high[0]) / 2, 0.36]) * size
    return scaled, faces
