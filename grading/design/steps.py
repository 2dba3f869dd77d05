"""The edges that areas share, as they come out: flush, or a step of so many risers and treads."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from msgspec import Struct

from grading.design.model import Design
from grading.geometry.arrays import Floats
from grading.geometry.tolerances import SEEN


class SharedEdge(Struct, frozen=True):
    """An edge that two areas share.

    Attributes
    ----------
    upper, lower : str
        Names of the areas; the order says nothing where they are flush.
    lines : tuple of (k, 2) float
        [m]
    drop : (float, float)
        Least and greatest step down along it. [m]
    risers : int
        In how many risers; 0 where the edge is declared flush.
    at : (2,) float
        Where the step is greatest. [m]
    levels : (float, float)
        Finish of the upper and of the lower area there. [m]
    """

    upper: str
    lower: str
    lines: tuple[Floats, ...]
    drop: tuple[float, float]
    risers: int
    at: Floats
    levels: tuple[float, float]

    @property
    def greatest(self) -> float:
        """The greatest gap in height between the two finishes, whichever is higher there. [m]"""
        return max(abs(self.drop[0]), abs(self.drop[1]))

    @property
    def flush(self) -> bool:
        """Whether the areas meet flush all along it."""
        return self.greatest < SEEN

    @property
    def riser(self) -> float:
        """Height of each riser where the step is greatest. [m]"""
        return self.drop[1] / max(self.risers, 1)

    @property
    def length(self) -> float:
        """How long it is. [m]"""
        return sum(float(np.hypot(*np.diff(line, axis=0).T).sum()) for line in self.lines)

    def other(self, name: str) -> str:
        """Return the name of the area on the other side."""
        return self.lower if name == self.upper else self.upper


def shared_edges(plan: Design) -> Iterator[SharedEdge]:
    """Yield the edges that areas of a plan share, with the step that came out along each."""
    areas = {each.area.name: each for each in plan.areas}
    for group in plan.groups:
        for seam in group.group.seams:
            upper, lower = areas[seam.upper].finish.surface, areas[seam.lower].finish.surface
            at = np.vstack([lower.breaks(upper.breaks(run)) for run in seam.runs])
            high, low = upper.at(at), lower.at(at)
            drops = high - low
            k = int(np.argmax(drops))
            yield SharedEdge(
                seam.upper, seam.lower, seam.lines, (float(drops.min()), float(drops.max())),
                0 if seam.step is None else seam.step.count, at[k],
                (float(high[k]), float(low[k])),
            )  # fmt: skip
