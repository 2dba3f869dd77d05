"""A surface that is linear on triangles, cut into bands and level lines: exact, no grid.

The lines of equal level on a finish are straight on each of its planes.
"""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from grading.geometry.arrays import Floats
from grading.geometry.facets import Surface
from grading.geometry.tolerances import NOTHING, ROUNDING, TOUCH

_LEVEL = 1e-15  # own: m, what rises less is level but for the last digit
SNAP = 1e-6  # own: m: pieces of neighbouring triangles meet exactly on this grid


def band(xy: Floats, value: Floats, low: float, high: float) -> BaseGeometry:
    """Return the area (shapely) where a value lies from low to high.

    Parameters
    ----------
    xy : (k, 3, 2) corners of triangles. [m]
    value : (k, 3) value at the corners.
    low, high : Limits of the band.
    """
    least, most = value.min(axis=1), value.max(axis=1)
    # A level triangle on the limit of two bands belongs to the upper one.
    met = ((most > low) | ((most == low) & (least == low))) & (least < high)
    xy, value = xy[met], value[met]
    if not len(xy):
        return shapely.Polygon()
    # Each side of a triangle is cut to the band; what is left of the three spans the piece.
    first, last = xy, np.roll(xy, -1, axis=1)
    start, rise = value, np.roll(value, -1, axis=1) - value
    flat = np.abs(rise) < _LEVEL
    safe = np.where(flat, 1.0, rise)
    one, two = (low - start) / safe, (high - start) / safe
    enter = np.where(flat, 0.0, np.clip(np.minimum(one, two), 0.0, None))
    leave = np.where(flat, 1.0, np.clip(np.maximum(one, two), None, 1.0))
    within = np.where(flat, (start >= low) & (start <= high), enter <= leave)
    ends = np.stack([enter, leave], axis=2)[..., None]
    points = first[:, :, None, :] + ends * (last - first)[:, :, None, :]
    owner = np.broadcast_to(np.arange(len(xy))[:, None, None], points.shape[:3])
    kept = np.broadcast_to(within[:, :, None], points.shape[:3])
    clusters = shapely.multipoints(points[kept], indices=owner[kept])
    pieces = shapely.convex_hull(clusters)
    pieces = pieces[shapely.get_dimensions(pieces) == 2]
    return shapely.union_all(pieces, grid_size=SNAP)


def level_lines(xy: Floats, value: Floats, level: float) -> list[shapely.LineString]:
    """Return the lines (shapely, longest first) on which a value equals a level."""
    gap = value - level
    gap = np.where(gap == 0.0, NOTHING, gap)
    ahead = np.roll(gap, -1, axis=1)
    crosses = gap * ahead < 0
    cut = crosses.sum(axis=1) == 2
    if not cut.any():
        return []
    share = np.where(crosses, gap / np.where(crosses, gap - ahead, 1.0), 0.0)
    points = xy + share[..., None] * (np.roll(xy, -1, axis=1) - xy)
    ends = points[cut][crosses[cut]].reshape(-1, 2, 2)
    long = np.hypot(*(ends[:, 1] - ends[:, 0]).T) > SNAP
    if not long.any():
        return []
    snapped = np.round(ends[long] / SNAP) * SNAP
    merged = shapely.line_merge(shapely.multilinestrings(list(snapped)))
    return sorted(shapely.get_parts(merged), key=lambda line: (-round(line.length, 6), line.bounds))


def level_lines_of(
    surface: Surface, outline: shapely.Polygon, levels: Floats
) -> list[list[Floats]]:
    """Return the lines on which a finish has each level.

    Parameters
    ----------
    surface : Surface
    outline : shapely polygon
        The paving. [m]
    levels : (l,) float
        [m]

    Returns
    -------
    list of list of (k, 2) float
        For each level its lines, joined across folds. [m]
    """
    left, bottom, right, top = outline.bounds
    middle = np.array([(left + right) / 2, (bottom + top) / 2])
    reach = float(np.hypot(right - left, top - bottom))
    found: list[list[Floats]] = []
    for level in np.asarray(levels, dtype=float):
        pieces: list[shapely.LineString] = []
        for facet in surface.facets:
            gradient = np.asarray(facet.plane.gradient, dtype=float)
            steep = float(gradient @ gradient)
            if steep < ROUNDING**2:
                continue
            rise = level - float(facet.plane.at(middle[None])[0])
            foot = middle + gradient * rise / steep
            along = np.array([-gradient[1], gradient[0]]) / np.sqrt(steep) * 2 * reach
            if abs(rise) > np.sqrt(steep) * reach:
                continue
            region: shapely.Geometry = outline
            if surface.folded:
                region = shapely.intersection(facet.domain, outline)
            line = shapely.LineString([foot - along, foot + along])
            pieces += [
                part
                for part in shapely.get_parts(shapely.intersection(line, region))
                if isinstance(part, shapely.LineString) and part.length > TOUCH
            ]
        merged = shapely.line_merge(shapely.MultiLineString(pieces))
        found.append([shapely.get_coordinates(part) for part in shapely.get_parts(merged)])
    return found
