"""The edges that areas share, as they come out in a plan: flush, or a step of so much."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import cast

import numpy as np
import shapely
from numpy.typing import NDArray

from grading.design.area import AreaPlan
from grading.pipeline import Plan
from grading.units import FOOT, Unit, size
from viz.words.figures import small

Floats = NDArray[np.float64]
Tread = shapely.Polygon | shapely.MultiPolygon

TREAD = FOOT
"""Going of the tread of a step that has several risers: common practice, no source. [m]"""

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
    def flush(self) -> bool:
        """Whether the areas meet flush all along it."""
        return max(abs(self.drop[0]), abs(self.drop[1])) < _FLUSH

    @property
    def riser(self) -> float:
        """Height of each riser where the step is greatest. [m]"""
        return self.drop[1] / max(self.risers, 1)

    def words(self, unit: Unit) -> str:
        """Say how the areas meet: "flush", or what the step and its risers are."""
        return self._said(lambda metres: size(metres, unit))

    def words_in_both(self, unit: Unit) -> str:
        """Say it in both units, the site's own first."""
        return self._said(lambda metres: small(metres, unit))

    def _said(self, write: Callable[[float], str]) -> str:
        if self.flush:
            return "flush"
        low, step = map(write, self.drop)
        if low != step:
            step = f"{low} to {step}"
        if not self.risers:
            return f"NOT flush: {step}"
        if self.risers == 1:
            return f"1 riser of {step}"
        return f"{self.risers} risers of {write(self.riser)}, {step} in all"

    def other(self, name: str) -> str:
        """Return the name of the area on the other side."""
        return self.lower if name == self.upper else self.upper


def shared_edges(plan: Plan) -> Iterator[SharedEdge]:
    """Yield the edges that areas of a plan share, with the step that came out along each."""
    areas: dict[str, AreaPlan] = {each.area.name: each for each in plan.areas}
    for group in plan.groups:
        for seam in group.group.seams:
            upper, lower = areas[seam.upper].finish.surface, areas[seam.lower].finish.surface
            at = np.vstack([lower.breaks(upper.breaks(run)) for run in seam.runs])
            high, low = upper.at(at), lower.at(at)
            drops = high - low
            k = int(np.argmax(drops))
            yield SharedEdge(
                seam.upper, seam.lower, seam.lines, (float(drops.min()), float(drops.max())),
                0 if seam.step is None else seam.step.risers, at[k],
                (float(high[k]), float(low[k])),
            )  # fmt: skip


def treads_of(edge: SharedEdge, lower: AreaPlan) -> Iterator[tuple[int, Tread]]:
    """Yield each tread of a step of several risers: its number from below, and its plan [m].

    They lie on the lower area, out from the shared edge; one that is higher covers part of each
    that is lower.
    """
    line = shapely.union_all([shapely.LineString(each) for each in edge.lines])
    for number in range(1, edge.risers):
        out = line.buffer((edge.risers - number) * TREAD, cap_style="flat")
        yield number, cast("Tread", out.intersection(lower.outline))


def tread_level(edge: SharedEdge, number: int, low: Floats, high: Floats) -> Floats:
    """Return the level of a tread (n,), where both finishes go on to low and high (n,). [m]"""
    return np.asarray(low + (high - low) * number / edge.risers)
