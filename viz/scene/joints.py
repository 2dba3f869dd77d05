"""The joints between units of masonry, as lines on their faces and tops: told from a plain body."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import shapely

from grading.geometry.arrays import Floats, Ints, unit_vector
from grading.geometry.tolerances import THREAD, TOUCH
from grading.structures.model import Solid as Built
from viz.scene.shell import Shape

TURN = np.radians(25.0)
"""From here on a bend in plan is a corner, where units start anew; less is a curve."""

PROUD = 0.0015
"""How far before its face a joint is drawn. [m]"""

SHORTEST = 0.05
"""A joint so near to a corner is not drawn. [m]"""


def joints_of(built: Built, along: float, shift: float, hidden: Shape) -> tuple[Floats, Ints]:
    """Return the joints of a course on its faces, and over its top from face to back.

    Parameters
    ----------
    built : grading.structures.model.Solid
    along : float
        Length of a unit along the face. [m]
    shift : float
        How far the first joint stands from a corner, in units: 0.5 in every second course.
    hidden : shapely geometry
        What the course stands against: faces within it are not seen. [m]

    Returns
    -------
    (n, 3) float, (k, 2) int
        Points on the site's axes [m], and the segments between them.
    """
    found: list[Floats] = []
    for polygon in shapely.get_parts(built.footprint):
        for ring in (polygon.exterior, *polygon.interiors):
            for run in _runs(shapely.get_coordinates(ring)):
                for at, out in _places(run, along, shift):
                    if shapely.intersects_xy(hidden, *at):
                        continue
                    found.append(_upright(built, at, out))
                    found += _over(built, polygon, at, out)
    points = np.concatenate(found) if found else np.zeros((0, 3))
    return points, np.arange(len(points)).reshape(-1, 2)


def _runs(ring: Floats) -> list[Floats]:
    """Cut a closed ring (n + 1, 2) at its corners, into lines that go on smoothly."""
    sides = np.diff(ring, axis=0)
    kept = np.hypot(*sides.T) > TOUCH
    points = ring[:-1][kept]
    heading = np.arctan2(*np.diff(np.vstack([points, points[:1]]), axis=0).T[::-1])
    bend = (heading - np.roll(heading, 1) + np.pi) % (2 * np.pi) - np.pi
    corners = np.flatnonzero(np.abs(bend) > TURN)
    if not len(corners):
        return [np.vstack([points, points[:1]])]
    points = np.roll(points, -corners[0], axis=0)
    cuts = [*(corners - corners[0]), len(points)]
    closed = np.vstack([points, points[:1]])
    return [closed[a : b + 1] for a, b in pairwise(cuts)]


def _places(run: Floats, along: float, shift: float) -> list[tuple[Floats, Floats]]:
    """Return where joints stand along a line, (2,) each, and which way its face looks there."""
    line = shapely.LineString(run)
    first = shift * along if shift else along
    found = []
    for s in np.arange(first, line.length - SHORTEST, along):
        a, at, b = (
            shapely.get_coordinates(line.interpolate(float(np.clip(s + d, 0, line.length))))[0]
            for d in (-0.01, 0.0, 0.01)
        )
        ahead = unit_vector(b - a)
        found.append((at, np.array([ahead[1], -ahead[0]])))
    return found


def _upright(built: Built, at: Floats, out: Floats) -> Floats:
    low, high = (float(z[0]) for z in built.between(at[None]))
    xy = at + PROUD * _outward(built, at, out)
    return np.array([[*xy, low], [*xy, max(high, low)]])


def _over(built: Built, polygon: shapely.Polygon, at: Floats, out: Floats) -> list[Floats]:
    """Return the joint over the top, from the face to the back: none where it is no strip."""
    inward = -_outward(built, at, out)
    line = shapely.LineString([at + THREAD * inward, at + 2.0 * inward]).intersection(polygon)
    for part in shapely.get_parts(line):
        ends = shapely.get_coordinates(part)
        if len(ends) == 2 and np.hypot(*(ends[0] - at)) < 0.01 and part.length < 1.0:
            _, high = built.between(ends)
            return [np.column_stack([ends, high + PROUD])]
    return []


def _outward(built: Built, at: Floats, out: Floats) -> Floats:
    """Turn a way so that it leads out of the footprint."""
    return -out if shapely.contains_xy(built.footprint, *(at + 1e-3 * out)) else out
