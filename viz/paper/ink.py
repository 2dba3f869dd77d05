"""What lies on paper: rings and lines drawn with one pen, and the simple shapes among them."""

from __future__ import annotations

import numpy as np
from msgspec import Struct

from grading.geometry.arrays import Floats, unit_vector
from viz.paper.drawing import Pen


class Ink(Struct, frozen=True):
    """Rings or lines (n, 2) [mm] drawn with one pen and one fill."""

    rings: tuple[Floats, ...]
    pen: Pen | None = None
    fill: str = ""
    closed: bool = False
    name: str = ""


def arrow_head(tip: Floats, along: Floats, long: float) -> Floats:
    """Return a slim triangle (3, 2) at the tip of an arrow. [mm]"""
    unit = unit_vector(along)
    side = np.array([-unit[1], unit[0]]) * long * 0.21
    back = tip - unit * long
    return np.array([tip, back + side, back - side])


def circle(radius: float, count: int = 24) -> Floats:
    """Return a circle about (0, 0) as a ring (count, 2). [mm]"""
    turn = np.linspace(0, 2 * np.pi, count, endpoint=False)
    return radius * np.column_stack([np.cos(turn), np.sin(turn)])
