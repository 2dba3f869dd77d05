"""Edges that two areas share: flush, or a step of so many risers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
import shapely
from numpy.typing import NDArray

from grading.layout import Block
from grading.outline import ASIDE, LEAST_EDGE, shared_edge
from grading.site import Area, Step
from grading.units import INCH, Unit, length, size
from grading.wish import Wish

Floats = NDArray[np.float64]

_MISSED = 6 * INCH  # areas nearer than this, but not joined, were meant to be


@dataclass(frozen=True)
class Seam:
    """An edge shared by two areas, and the step down from the first to the second, if any.

    Attributes
    ----------
    upper, lower : str
        Names of the areas; the order says nothing where they are flush.
    lines : tuple of (k, 2) float
        The edge on the plan, as drawn for the first area. [m]
    step : Step or None
    """

    upper: str
    lower: str
    lines: tuple[Floats, ...]
    step: Step | None


def seams_of(areas: Sequence[Area], steps: Sequence[Step]) -> tuple[Seam, ...]:
    """Return the edges that areas share.

    Parameters
    ----------
    areas : sequence of Area
    steps : sequence of Step
        Those declared; an edge with none is flush.
    """
    declared = {frozenset(step.down): step for step in steps}
    found = []
    for first, second in combinations(areas, 2):
        step = declared.get(frozenset((first.name, second.name)))
        upper, lower = first, second
        if step is not None and step.down[0] == second.name:
            upper, lower = second, first
        lines = shared_edge(upper.polygon, lower.polygon)
        if lines:
            found.append(Seam(upper.name, lower.name, lines, step))
    return tuple(found)


def near_misses(areas: Sequence[Area], unit: Unit) -> list[str]:
    """Say which areas run so close beside each other that one edge must have been meant.

    Parameters
    ----------
    areas : sequence of Area
    unit : "ft" or "m"
        What the sentences are written in.
    """
    said = []
    for first, second in combinations(areas, 2):
        apart = first.polygon.distance(second.polygon)
        if not ASIDE < apart <= _MISSED:
            continue
        beside = shapely.intersection(first.polygon.boundary, second.polygon.buffer(_MISSED))
        if shapely.length(beside) >= LEAST_EDGE:
            said.append(
                f"{first.name} and {second.name} run {size(apart, unit)} apart over "
                f"{length(float(shapely.length(beside)), unit)} and so share no edge: draw both "
                "to the same corners to have them meet, or farther apart"
            )
    return said


def _points(seam: Seam, upper: Block, lower: Block) -> Floats:
    """Return the corners of a seam, and where folds of either side cross it, (k, 2). [m]"""
    folds = shapely.union_all(
        [domain.boundary for block in (upper, lower) for domain in block.shape.domains]
    )
    points = list(seam.lines)
    for line in seam.lines:
        crossed = shapely.intersection(shapely.LineString(line), folds)
        points.append(shapely.get_coordinates(crossed))
    return np.vstack(points)


def seam_wish(seam: Seam, upper: Block, lower: Block, unit: Unit) -> Wish:
    """Return the wish that two areas meet along a seam, flush or by equal risers."""
    at = _points(seam, upper, lower)
    rows = upper.level_rows(at) - lower.level_rows(at)
    names = f"{seam.upper} and {seam.lower}"
    step = seam.step
    if step is None:
        return Wish(
            text=f"{names} flush along their shared edge",
            complaint=f"edge of {names}: a step of {{by}}",
            rule="shared-edge",
            about=names,
            limit=0.0,
            at_least=False,
            rows=rows,
            lower=np.zeros(len(at)),
            upper=np.zeros(len(at)),
            area=seam.upper,
            unit=unit,
        )
    return _riser_wish(seam, step, rows, unit, at_least=True)


def _riser_wish(seam: Seam, step: Step, rows: Floats, unit: Unit, *, at_least: bool) -> Wish:
    """Bound the drop of a step from below or from above."""
    count = step.risers
    drop = count * (step.riser[0] if at_least else step.riser[1])
    which, way = ("at least", "too low") if at_least else ("at most", "too high")
    names = f"{seam.upper} down to {seam.lower}"
    free = np.full(len(rows), np.inf)
    return Wish(
        text=f"{count} riser{'s' if count > 1 else ''} of {which} "
        f"{size(drop / count, unit)} from {names}, in all",
        complaint=f"step from {names}: {{by}} {way}",
        rule="riser",
        about=f"{seam.upper} and {seam.lower}",
        limit=drop,
        at_least=at_least,
        rows=rows,
        lower=np.full(len(rows), drop) if at_least else -free,
        upper=free if at_least else np.full(len(rows), drop),
        area=seam.upper,
        unit=unit,
    )


def seam_wishes(seam: Seam, upper: Block, lower: Block, unit: Unit) -> list[Wish]:
    """Return all that is wished of a seam: flush, or risers within their limits and alike."""
    wishes = [seam_wish(seam, upper, lower, unit)]
    if seam.step is not None:
        at = _points(seam, upper, lower)
        rows = upper.level_rows(at) - lower.level_rows(at)
        wishes.append(_riser_wish(seam, seam.step, rows, unit, at_least=False))
    alike = alike_wish(seam, upper, lower, unit)
    return wishes if alike is None else [*wishes, alike]


# Risers along one edge are alike to 3/8 in: IRC R311.7.5.1.
ALIKE = 3 / 8 * INCH


def alike_wish(seam: Seam, upper: Block, lower: Block, unit: Unit) -> Wish | None:
    """Return the wish that the risers of a step are alike all along it, where it is long."""
    if seam.step is None:
        return None
    at = np.vstack([line[[0, -1]] for line in seam.lines])
    rows = upper.level_rows(at) - lower.level_rows(at)
    across = rows[1:] - rows[:1]
    most = np.full(len(across), ALIKE * seam.step.risers)
    return Wish(
        text=f"risers alike within {size(ALIKE, unit)} from {seam.upper} down to {seam.lower}",
        complaint=f"risers from {seam.upper} down to {seam.lower}: {{by}} too unlike",
        rule="riser-alike",
        about=f"{seam.upper} and {seam.lower}",
        limit=ALIKE * seam.step.risers,
        at_least=False,
        rows=across,
        lower=-most,
        upper=most,
        area=seam.upper,
        unit=unit,
    )
