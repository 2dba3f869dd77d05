"""Marks of a fixed size on paper: levels, section ends, spots, axes."""

from __future__ import annotations

import numpy as np

from grading.geometry.arrays import Floats
from viz.paper.drawing import FINE, OUTLINE, THIN, Pen
from viz.paper.ink import arrow_head, circle

Shape = tuple[tuple[Floats, ...], Pen | None, str, bool]  # rings, pen, fill, closed


def symbol(kind: str, size: float) -> list[Shape]:
    """Return the shapes of a mark about (0, 0), pointing along +x where it has a direction. [mm]

    Raises KeyError for a kind that is not known.
    """
    return _KINDS[kind](size)


def _level(size: float) -> list[Shape]:
    """A triangle standing on its tip: an elevation is given here."""
    half = size * 0.5
    ring = np.array([(0, 0), (half, size * 0.85), (-half, size * 0.85)])
    solid = np.array([(0, 0), (half, size * 0.85), (0, size * 0.85)])
    return [((ring,), THIN, "#ffffff", True), ((solid,), None, "#1a1a1a", True)]


def _spot(size: float) -> list[Shape]:
    arm = size / 2
    cross = (np.array([(-arm, 0), (arm, 0)]), np.array([(0, -arm), (0, arm)]))
    return [(cross, FINE, "", False)]


def _hub(size: float) -> list[Shape]:
    """A square with a cross in it: a stake beyond the hole, with a nail on its line."""
    return [((_square(size),), THIN, "#ffffff", True), *_spot(size)]


def _slanting(arm: float) -> tuple[Floats, ...]:
    return np.array([(-arm, -arm), (arm, arm)]), np.array([(-arm, arm), (arm, -arm)])


def _square(size: float) -> Floats:
    half = size / 2
    return np.array([(-half, -half), (half, -half), (half, half), (-half, half)])


def _finished(size: float) -> list[Shape]:
    """A solid dot in a ring: a level of the finish is given here."""
    return [
        ((circle(size / 2),), THIN, "#ffffff", True),
        ((circle(size * 0.28),), None, "#1a1a1a", True),
    ]


def _existing(size: float) -> list[Shape]:
    """A slanting cross: a level of the existing ground is given here."""
    return [(_slanting(size * 0.36), OUTLINE, "", False)]


def _vent(size: float) -> list[Shape]:
    """A square with bars: a vent, a window well or the like in the wall."""
    half = size / 2
    bars = tuple(np.array([(-half, half * y), (half, half * y)]) for y in (-0.35, 0.35))
    return [((_square(size),), THIN, "#ffffff", True), (bars, FINE, "", False)]


def _corner(size: float) -> list[Shape]:
    return [((circle(size / 2),), THIN, "#ffffff", True)]


def _dot(size: float) -> list[Shape]:
    return [((circle(size / 2),), None, "#1a1a1a", True)]


def _section(size: float) -> list[Shape]:
    """End of a section line: a ring with an arrow in the direction looked."""
    ring = circle(size / 2)
    tip = np.array([size * 0.95, 0.0])
    arrow = arrow_head(tip, np.array([1.0, 0.0]), size * 0.62) * (1.0, 2.2)
    return [((arrow,), None, "#1a1a1a", True), ((ring,), OUTLINE, "#ffffff", True)]


def _axes(size: float) -> list[Shape]:
    shapes: list[Shape] = []
    for way in ((1.0, 0.0), (0.0, 1.0)):
        tip = np.array(way) * size
        shapes.append(((np.array([(0, 0), tip]),), OUTLINE, "", False))
        shapes.append(((arrow_head(tip, np.array(way), size * 0.28),), None, "#1a1a1a", True))
    return [*shapes, ((circle(0.5),), None, "#1a1a1a", True)]


def _break(size: float) -> list[Shape]:
    """A zigzag along x: the thing goes on."""
    z = size * 0.16
    line = np.array(
        [(-size, 0), (-z, 0), (-z * 0.4, z * 1.6), (z * 0.4, -z * 1.6), (z, 0), (size, 0)]
    )
    return [((line,), THIN, "", False)]


def _place(size: float) -> list[Shape]:
    """A diamond: a place that water is meant to reach."""
    half = size / 2
    ring = np.array([(half, 0), (0, half), (-half, 0), (0, -half)])
    return [((ring,), OUTLINE, "#ffffff", True), ((ring * 0.35,), None, "#1a1a1a", True)]


def _spout(size: float) -> list[Shape]:
    """A ring with a cross: water comes down here."""
    cross = _slanting(size * 0.35)
    return [((circle(size / 2),), OUTLINE, "#ffffff", True), (cross, THIN, "", False)]


def _spill(size: float) -> list[Shape]:
    """A black triangle on its tip: water spills over this point."""
    half = size * 0.5
    return [((np.array([(0, 0), (half, size * 0.8), (-half, size * 0.8)]),), None, "#1a1a1a", True)]


def _least(size: float) -> list[Shape]:
    ring = _square(size)
    return [((ring,), THIN, "#ffffff", True), ((ring[:3],), None, "#1a1a1a", True)]


_KINDS = {
    "finished": _finished,
    "existing": _existing,
    "vent": _vent,
    "place": _place,
    "spout": _spout,
    "spill": _spill,
    "least": _least,
    "level": _level,
    "spot": _spot,
    "hub": _hub,
    "corner": _corner,
    "dot": _dot,
    "section": _section,
    "axes": _axes,
    "break": _break,
}
