"""The edges that areas share, as they come out in a plan: flush, or a step of so much."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from grading.units import Unit, size

if TYPE_CHECKING:
    from grading.pipeline import AreaPlan, Plan

Floats = NDArray[np.float64]

_FLUSH = 5e-4  # m: less is no step


@dataclass(frozen=True)
class SharedEdge:
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
    """

    upper: str
    lower: str
    lines: tuple[Floats, ...]
    drop: tuple[float, float]
    risers: int

    @property
    def flush(self) -> bool:
        """Whether the areas meet flush all along it."""
        return max(abs(self.drop[0]), abs(self.drop[1])) < _FLUSH

    def words(self, unit: Unit) -> str:
        """Say how the areas meet: "flush", or what the step and its risers are."""
        if self.flush:
            return "flush"
        least, most = self.drop
        low, step = size(least, unit), size(most, unit)
        if low != step:
            step = f"{low} to {step}"
        if not self.risers:
            return f"NOT flush: {step}"
        if self.risers == 1:
            return f"1 riser of {step}"
        each = size(most / self.risers, unit)
        return f"{self.risers} risers of {each}, {step} in all"

    def other(self, name: str) -> str:
        """Return the name of the area on the other side."""
        return self.lower if name == self.upper else self.upper


def shared_edges(plan: Plan) -> Iterator[SharedEdge]:
    """Yield the edges that areas of a plan share, with the step that came out along each."""
    areas: dict[str, AreaPlan] = {each.area.name: each for each in plan.areas}
    for group in plan.groups:
        for seam in group.group.seams:
            upper, lower = areas[seam.upper].finish.surface, areas[seam.lower].finish.surface
            at = np.vstack([lower.breaks(upper.breaks(line)) for line in seam.lines])
            drops = upper.at(at) - lower.at(at)
            yield SharedEdge(
                seam.upper, seam.lower, seam.lines, (float(drops.min()), float(drops.max())),
                0 if seam.step is None else seam.step.risers,
            )  # fmt: skip
