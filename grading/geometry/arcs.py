"""The round edges of an outline: how far each bulges, its centre and its radius."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from grading.geometry.arrays import Floats
from grading.geometry.outline import Arc, Edge
from grading.geometry.tolerances import ROUNDING


def bulged(edges: Sequence[Edge]) -> list[tuple[float, float, float]]:
    """Return an outline as vertices (x, y, bulge), arcs kept as arcs.

    Parameters
    ----------
    edges : sequence of Edge
        [m]

    Notes
    -----
    A bulge is the tangent of a quarter of the angle that an arc turns through, positive to the
    left (DXF reference, LWPOLYLINE). An arc's point sees its chord at half the angle that is
    left to a full turn.
    """
    ends: list[complex] = []
    through: list[complex | None] = []
    for edge in edges:
        arc = edge["arc"] if isinstance(edge, Mapping) else edge if isinstance(edge, Arc) else None
        through.append(None if arc is None else complex(*arc[0]))
        ends.append(complex(*(edge if arc is None else arc[1])))
    found = []
    for place, start in enumerate(ends):
        following = (place + 1) % len(ends)
        end, middle = ends[following], through[following]
        if abs(end - start) < ROUNDING:
            continue
        bulge = 0.0
        if middle is not None:
            seen = (start - middle).conjugate() * (end - middle)
            angle = np.arctan2(seen.imag, seen.real)
            bulge = float(np.tan((np.pi - abs(angle)) / 2) * -np.sign(angle))
        found.append((start.real, start.imag, bulge))
    return found


def arcs_of(edges: Sequence[Edge]) -> list[tuple[Floats, Floats, float]]:
    """Return centre (2,), middle of the arc (2,) and radius of every round edge. [m]"""
    vertices, found = bulged(edges), []
    for place, (x, y, bulge) in enumerate(vertices):
        if not bulge:
            continue
        start, end = np.array([x, y]), np.array(vertices[(place + 1) % len(vertices)][:2])
        chord = end - start
        # A bulge is the rise of the arc over half its chord, to the right of the way along it.
        right = np.array([chord[1], -chord[0]]) / np.hypot(*chord)
        half, rise = np.hypot(*chord) / 2, bulge * np.hypot(*chord) / 2
        middle = (start + end) / 2 + right * rise
        radius = (half**2 + rise**2) / (2 * abs(rise))
        centre = middle - right * np.sign(rise) * radius
        found.append((centre, middle, float(radius)))
    return found
