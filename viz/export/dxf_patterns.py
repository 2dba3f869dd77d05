"""Hatch patterns of our own for materials in section: families of lines, carried in the file."""

from __future__ import annotations

from collections.abc import Sequence
from math import cos, radians, sin

Line = tuple[float, tuple[float, float], tuple[float, float], tuple[float, ...]]
"""Angle [degrees], a point on the first line, the step to the next, and dashes [mm on paper]."""

PATTERNS: dict[str, tuple[Line, ...]] = {
    "paver": ((45.0, (0, 0), (0, 0.9), ()),),
    "bedding sand": (
        (0.0, (0, 0), (0.55, 0.5), (0.05, -1.05)),
        (0.0, (0.3, 0.25), (0.55, 0.5), (0.05, -1.25)),
    ),
    "chips": (
        (30.0, (0, 0), (0.9, 0.9), (0.4, -1.4)),
        (120.0, (0.3, 0.2), (0.9, 0.9), (0.4, -1.4)),
    ),
    "dense-graded": (
        (15.0, (0, 0), (1.1, 0.9), (0.7, -1.5)),
        (105.0, (0.5, 0.3), (1.1, 0.9), (0.7, -1.5)),
        (0.0, (0.2, 0.6), (0.7, 0.6), (0.05, -1.35)),
    ),
    "open-graded": (
        (0.0, (0, 0), (0.75, 1.3), (1.5, -1.5)),
        (60.0, (0, 0), (0.75, 1.3), (1.5, -1.5)),
        (120.0, (1.5, 0), (0.75, 1.3), (1.5, -1.5)),
    ),
    "panel": ((0.0, (0, 0), (0, 0.5), ()), (90.0, (0, 0), (0, 0.5), ())),
    "geotextile": ((0.0, (0, 0), (0, 0.3), (0.6, -0.3)),),
    "refill": (
        (0.0, (0, 0), (1.2, 0.8), (1.2, -1.2)),
        (45.0, (0.4, 0.4), (1.2, 1.2), (0.5, -1.9)),
    ),
    "backfill": ((60.0, (0, 0), (0.8, 1.0), (0.8, -0.8)),),
    "soil": (
        (45.0, (0, 0), (0, 3.0), (2.4, -1.8)),
        (45.0, (0.35, -0.35), (0, 3.0), (2.4, -1.8)),
        (135.0, (1.5, 0), (2.1, 3.0), (1.2, -3.0)),
    ),
    "topsoil": ((90.0, (0, 0), (0.5, 0.7), (0.5, -0.5)), (0.0, (0, 0.4), (0.6, 0.9), (0.4, -0.8))),
    "concrete": (
        (50.0, (0, 0), (1.3, 1.1), (0.5, -2.1)),
        (0.0, (0.5, 0.6), (0.8, 0.9), (0.05, -1.55)),
    ),
    "house": ((45.0, (0, 0), (0, 2.0), ()),),
}


def pattern(kind: str, mm: float) -> Sequence[Sequence[object]]:
    """Return a pattern as a hatch takes it.

    Parameters
    ----------
    kind : str
        Key of `PATTERNS`.
    mm : float
        A millimetre of paper in units of the document.

    Notes
    -----
    The format wants the step between lines on the axes of the drawing; here it is along and
    across the lines, so it is turned by their angle.
    """
    found = []
    for angle, base, (along, across), dashes in PATTERNS[kind]:
        c, s = cos(radians(angle)), sin(radians(angle))
        step = ((along * c - across * s) * mm, (along * s + across * c) * mm)
        found.append([angle, (base[0] * mm, base[1] * mm), step, [each * mm for each in dashes]])
    return found
