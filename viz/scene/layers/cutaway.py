"""The upright cut that opens the ground and the paving, so that every layer shows in its face."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import shapely
from msgspec import Struct

from grading.geometry.arrays import Floats, Region
from grading.geometry.tolerances import TOUCH
from viz.scene.frame import LONG, Frame
from viz.scene.shell import Shape, polygons

PLACES = np.linspace(0.52, 0.72, 9)
"""Where a cut may be, as a share of the paving's extent; where it meets most paving, it is."""

PIECE = 2.6
"""Of long paving a piece so many times longer than wide is shown."""


class Cutaway(Struct, frozen=True):
    """An upright cut through the paving: what is beyond it towards the eye is not shown.

    Attributes
    ----------
    frame : Frame
    axis : int
        What of the frame the cut is across: 0 for right, 1 for near.
    start, at : float
        Along that axis, from where to where things are shown. [m]
    reach : float
        A length that leaves every shape. [m]
    """

    frame: Frame
    axis: int
    start: float
    at: float
    reach: float

    def between(self, low: float, high: float) -> shapely.Polygon:
        """Return what lies between two places along the axis. [m]"""
        if self.axis:
            return self.frame.box(-self.reach, low, self.reach, high)
        return self.frame.box(low, -self.reach, high, self.reach)

    @property
    def kept(self) -> shapely.Polygon:
        """What is shown, in plan."""
        return self.between(self.start, self.at)

    @property
    def direction(self) -> Floats:
        """Unit vector (3,) to the eye."""
        right, near = (0.62, 1.0) if self.axis else (1.0, 0.72)
        return self.frame.towards(right, near, 27.0)

    @property
    def words(self) -> str:
        """What is not shown, as a sentence."""
        if self.start > -self.reach:
            return "A piece of the paving is shown, cut open across it so that the layers show."
        return "Cut open so that the layers show; what lies before the cut is left out."

    def face(self, region: Shape, share: float) -> Floats | None:
        """Return a point (2,) in the cut face of a region, at a share of its longest part.

        None where the cut does not meet the region.
        """
        ends = self.edge(region)
        return None if ends is None else np.asarray(ends[0] + share * (ends[1] - ends[0]))

    def edge(self, region: Shape) -> Floats | None:
        """Return the ends (2, 2) of the longest part of the cut face of a region, or None."""
        place = self.at - TOUCH
        ends = np.array([[-self.reach, place], [self.reach, place]])
        line = shapely.LineString(self.frame.site(ends if self.axis else ends[:, ::-1]))
        parts = [
            part
            for part in shapely.get_parts(region.intersection(line))
            if part.geom_type == "LineString" and part.length > 0
        ]
        if not parts:
            return None
        longest = max(parts, key=lambda part: float(part.length))
        return np.asarray(shapely.get_coordinates(longest)[[0, -1]])

    def bands(self, outline: Region, count: int) -> tuple[Region, ...]:
        """Return the paving in parts that are laid one after the other, towards the cut.

        What is shown of them has even areas; the last takes in what is not shown.
        """
        shown = outline.intersection(self.kept)
        bounds = self.frame.bounds(shown)
        low = bounds[self.axis]
        ends = [-self.reach]
        for number in range(1, count):
            near, far = low, self.at
            for _ in range(40):
                middle = (near + far) / 2
                area = shown.intersection(self.between(-self.reach, middle)).area
                near, far = (near, middle) if area > shown.area * number / count else (middle, far)
            ends.append(max(far, ends[-1]))
        ends.append(self.reach)
        found = [
            polygons(outline.intersection(self.between(one, two)), 0.0)
            for one, two in pairwise(ends)
        ]
        return tuple(band for band in found if not band.is_empty)


def cutaway_of(frame: Frame, outline: Region) -> Cutaway:
    """Return the cut through a paving: across its fall from the house, or across a long one.

    Parameters
    ----------
    frame : Frame
    outline : shapely polygon or multipolygon
        Edge of the paving. [m]
    """
    r0, n0, r1, n1 = frame.bounds(outline)
    low, high = np.array([r0, n0]), np.array([r1, n1])
    span = high - low
    axis = 0 if span[0] >= LONG * span[1] else 1
    reach = float(4 * span.max() + np.abs([r0, n0, r1, n1]).max())

    def met(share: float) -> float:
        place = float(low[axis] + share * span[axis])
        cut = Cutaway(frame, axis, -reach, place, reach)
        return float(outline.intersection(cut.between(place, place + 0.05)).area)

    best = max(PLACES, key=lambda share: (round(met(float(share)), 3), float(share)))
    at = float(low[axis] + best * span[axis])
    long = span[axis] >= LONG * span[1 - axis]
    start = at - PIECE * float(span[1 - axis]) if long else -reach
    return Cutaway(frame, axis, start, at, reach)
