"""Where what is written over a picture stands: near what it names, over what matters least."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from grading.geometry.arrays import Floats
from grading.geometry.tolerances import ROUNDING

Box = tuple[float, float, float, float]
"""Left, top, right, bottom. [mm]"""

_EVERY = 2.0  # mm between the places that are looked at
_APART = 1.2  # mm between two boxes
_NEAR = 5.0  # mm: a box nearer to what it names leaves no room to see the line to it
_CROSSES = 25.0
"""What a line over another one costs: as much as so many more mm of line."""


def stood(
    anchors: Floats, sizes: Sequence[tuple[float, float]],
    seen: Sequence[tuple[shapely.Geometry, float]], taken: Sequence[Box], frame: Box,
) -> list[Box | None]:  # fmt: skip
    """Return where each box stands, none over another; None where there is no room.

    Parameters
    ----------
    anchors : (n, 2) float
        What they name, what comes first first. [mm]
    sizes : sequence of (width, height)
        [mm]
    seen : sequence of (shapely geometry, float)
        What should be seen: paving, doors, walls, and how much hiding a mm2 of it costs: as much
        as so many more mm of line. A box stands over it only where there is no better place. [mm]
    taken : sequence of boxes
        No box stands over these.
    frame : box
        Boxes stay in it.
    """
    shut = [shapely.box(*each) for each in taken]
    shut += [shapely.Point(*each).buffer(1.4) for each in anchors]
    lines: list[shapely.LineString] = []
    stands: list[shapely.Polygon] = []
    found: list[Box | None] = []
    for anchor, (wide, high) in zip(anchors, sizes, strict=True):
        left = np.arange(frame[0], frame[2] - wide + ROUNDING, _EVERY)
        top = np.arange(frame[1], frame[3] - high + ROUNDING, _EVERY)
        if not (len(left) and len(top)):
            found.append(None)
            continue
        x, y = (each.ravel() for each in np.meshgrid(left, top))
        boxes = shapely.box(x, y, x + wide, y + high)
        ends = np.column_stack([
            np.clip(anchor[0], x + 2, x + wide - 2), np.clip(anchor[1], y, y + high),
        ])  # fmt: skip
        reach = np.hypot(*(ends - anchor).T)
        pairs = np.stack([np.broadcast_to(anchor, ends.shape), ends], axis=1)
        leads = np.asarray(shapely.linestrings(pairs))
        free = ~shapely.intersects(boxes, shapely.union_all([*shut, *stands]).buffer(_APART))
        if lines:
            free &= ~shapely.intersects(boxes, shapely.union_all(lines))
        if not free.any():
            found.append(None)
            continue
        hidden = np.zeros(len(x))
        for shape, worth in seen:
            hidden += worth * shapely.area(shapely.intersection(boxes, shape))
        crossed = np.zeros(len(x), int)
        for other in (*lines, *stands):
            crossed += shapely.intersects(leads, other)
        cost = reach + hidden + _CROSSES * crossed + 4 * np.maximum(_NEAR - reach, 0.0)
        best = int(np.argmin(np.where(free, cost, np.inf)))
        x0, y0, x1, y1 = (float(each) for each in boxes[best].bounds)
        box = x0, y0, x1, y1
        found.append(box)
        stands.append(shapely.box(*box))
        lines.append(leads[best])
    return found
