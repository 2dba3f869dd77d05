"""What lies along the edge of paving in a section: concrete and units, or what has to hold it."""

from __future__ import annotations

import shapely

from grading.section.cut import Cut

HOLDER, BURIED = 0.25, 0.15
"""What holds a raised edge is taken to be so thick, and so deep in the ground: nobody has designed
it. [m]"""


def concrete_of(cut: Cut, at: float, out: float) -> tuple[shapely.Geometry, shapely.Polygon]:
    """Return the concrete of an edge and the unit of a border before it, in section. [m]

    Parameters
    ----------
    cut : Cut
    at : float
        The edge of the paving, a distance along the cut. [m]
    out : float
        +1 where the yard lies after it, -1 before it.
    """
    how, finish, slant = cut.edging, float(cut.finish_at(at)), cut.slant_at(at)
    near, far = how.unit * slant, how.wide * slant
    foot = finish - how.deep
    unit = upright(at, out, finish - how.tall, 0.0, near, how.tall)
    bed = upright(at, out, foot, 0.0, near, how.deep - how.tall)
    behind = upright(at, out, foot, near, far, max(how.deep - how.top, 0.0))
    return (shapely.union_all([bed, behind]) if how.unit else behind), unit


def holder(cut: Cut, at: float, out: float) -> shapely.Polygon:
    """Return the outline of what has to hold a raised edge: outside the dig, into the ground. [m]

    Parameters
    ----------
    cut : Cut
    at : float
        The edge of the paving, a distance along the cut. [m]
    out : float
        +1 where the yard lies after it, -1 before it.
    """
    face = cut.face_of(at, out)
    ground = float(cut.ground_at(face + out * HOLDER))
    foot = min(ground, float(cut.ground_at(face))) - BURIED
    return upright(face, out, foot, 0.0, HOLDER, float(cut.finish_at(face)) - foot)


def upright(
    at: float, out: float, z: float, near: float, far: float, high: float
) -> shapely.Polygon:
    """Return an upright box beside a place: from so near it to so far, from a level up. [m]"""
    a, b = at + out * near, at + out * far
    return shapely.box(min(a, b), z, max(a, b), z + high)
