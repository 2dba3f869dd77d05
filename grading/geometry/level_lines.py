"""The lines of equal level on a finish: straight on each of its planes."""

from __future__ import annotations

import numpy as np
import shapely

from grading.geometry.arrays import Floats
from grading.geometry.facets import Surface
from grading.geometry.tolerances import ROUNDING, TOUCH


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
