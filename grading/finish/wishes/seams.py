"""Edges that two areas share: flush, or a step of so many risers."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from itertools import combinations, pairwise

import numpy as np
import shapely
from msgspec import Struct

from grading.finish.layout import Block
from grading.finish.wishes.model import Wish, wish_of
from grading.geometry.arrays import Floats
from grading.geometry.outline import LEAST_EDGE, shared_edge
from grading.geometry.tolerances import ROUNDING, TOGETHER
from grading.site.model import Area, Step
from grading.units import INCH, Unit, length, size

_MISSED = 6 * INCH  # areas nearer than this, but not joined, were meant to be
_STRAIGHT = INCH
"""An edge that strays from a straight line by less than this is straight: planes that are flush
along the line and differ by 8 % across it are then 2 mm apart at the most. Corners written to a
hundredth would otherwise ask two areas to be one plane. [m]"""


class Seam(Struct, frozen=True, dict=True):
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

    @cached_property
    def runs(self) -> tuple[Floats, ...]:
        """The edge as straight runs, (2, 2) each, those on one straight line wholly on it. [m]"""
        runs = [
            np.array(ends)
            for line in self.lines
            for ends in pairwise(
                shapely.get_coordinates(shapely.simplify(shapely.LineString(line), _STRAIGHT))
            )
        ]
        runs.sort(key=lambda run: -float(np.hypot(*(run[1] - run[0]))))
        straightened: list[Floats] = []
        while runs:
            group = [runs[0]]
            rest: list[Floats] = []
            for run in runs[1:]:
                (group if _on_one_line([*group, run]) else rest).append(run)
            straightened += _put_on_one_line(group)
            runs = rest
        return tuple(straightened)


def _longest_line(points: Floats) -> Floats:
    """Return the two points (2, 2) that lie farthest apart."""
    apart = np.hypot(*(points[:, None] - points[None]).transpose(2, 0, 1))
    return points[list(np.unravel_index(int(apart.argmax()), apart.shape))]


def _off_the_line(points: Floats) -> tuple[Floats, Floats]:
    """Return how far points (k, 2) lie off the longest line through them, and put on it. [m]"""
    start, end = _longest_line(points)
    along = (end - start) / np.hypot(*(end - start))
    on_it = start + ((points - start) @ along)[:, None] * along
    return np.hypot(*(points - on_it).T), on_it


def _on_one_line(runs: Sequence[Floats]) -> bool:
    return bool(_off_the_line(np.concatenate(runs))[0].max() <= _STRAIGHT)


def _put_on_one_line(runs: Sequence[Floats]) -> list[Floats]:
    if len(runs) == 1:
        return list(runs)
    return list(_off_the_line(np.concatenate(runs))[1].reshape(-1, 2, 2))


def seams_of(areas: Sequence[Area], steps: Sequence[Step]) -> tuple[Seam, ...]:
    """Return the edges that areas share.

    Parameters
    ----------
    areas : sequence of Area
    steps : sequence of Step
        Those declared; an edge with none is flush.
    """
    declared = {frozenset(step.down): step for step in steps if step.down is not None}
    found = []
    for first, second in combinations(areas, 2):
        step = declared.get(frozenset((first.name, second.name)))
        upper, lower = first, second
        if step is not None and step.down is not None and step.down[0] == second.name:
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
        if not TOGETHER < apart <= _MISSED:
            continue
        beside = shapely.intersection(first.polygon.boundary, second.polygon.buffer(_MISSED))
        if shapely.length(beside) >= LEAST_EDGE:
            said.append(
                f"{first.name} and {second.name} run {size(apart, unit)} apart over "
                f"{length(float(shapely.length(beside)), unit)} and so share no edge: draw both "
                "to the same corners to have them meet, or farther apart"
            )
    return said


def _rows(seam: Seam, upper: Block, lower: Block) -> Floats:
    """Return rows that give the drop along a seam, from which every other drop follows.

    At the ends of each straight run, and where folds of either side cross it: between these both
    finishes are straight. A fold that crosses so near to an end that the run is straight all the
    same parts nothing.
    """
    folds = shapely.union_all(
        [domain.boundary for block in (upper, lower) for domain in block.shape.domains]
    )
    points = []
    for run in seam.runs:
        points.append(run)
        crossed = shapely.get_coordinates(shapely.intersection(shapely.LineString(run), folds))
        for point in crossed:
            if min(np.hypot(*(np.concatenate(points[-1:]) - point).T)) > _STRAIGHT:
                points[-1] = np.vstack([points[-1], point])
    at = np.vstack(points)
    return upper.level_rows(at) - lower.level_rows(at)


def _independent(rows: Floats) -> Floats:
    """Return rows that say the same as all of these where each of them is nothing."""
    kept: list[int] = []
    basis = np.zeros((0, rows.shape[1]))
    for number, row in enumerate(rows / np.linalg.norm(rows, axis=1, keepdims=True)):
        rest = row - basis.T @ (basis @ row)
        left = float(np.linalg.norm(rest))
        if left > ROUNDING:
            kept.append(number)
            basis = np.vstack([basis, rest / left])
    return rows[kept]


def seam_wish(seam: Seam, upper: Block, lower: Block, unit: Unit) -> Wish:
    """Return the wish that two areas meet along a seam, flush or by equal risers."""
    rows = _rows(seam, upper, lower)
    names = f"{seam.upper} and {seam.lower}"
    step = seam.step
    if step is None:
        rows = _independent(rows)
        return wish_of(
            "shared-edge", f"{names} flush along their shared edge",
            f"edge of {names}: a step of {{by}}", rows, 0.0, 0.0, about=names, area=seam.upper,
            unit=unit,
        )  # fmt: skip
    return _riser_wish(seam, step, rows, unit, at_least=True)


def _riser_wish(seam: Seam, step: Step, rows: Floats, unit: Unit, *, at_least: bool) -> Wish:
    """Bound the drop of a step from below or from above."""
    count = step.count
    drop = count * (step.riser[0] if at_least else step.riser[1])
    which, way = ("at least", "too low") if at_least else ("at most", "too high")
    risers = f"{count} riser{'s' if count > 1 else ''}"
    names = f"{seam.upper} down to {seam.lower}"
    text = f"{risers} of {which} {size(drop / count, unit)} from {names}, in all"
    return wish_of(
        "riser", text, f"step from {names}: {{by}} {way}", rows,
        drop if at_least else -np.inf, np.inf if at_least else drop,
        about=f"{seam.upper} and {seam.lower}", limit=drop, at_least=at_least, area=seam.upper,
        unit=unit,
    )  # fmt: skip


def seam_wishes(seam: Seam, upper: Block, lower: Block, unit: Unit) -> list[Wish]:
    """Return all that is wished of a seam: flush, or risers within their limits and alike."""
    wishes = [seam_wish(seam, upper, lower, unit)]
    if seam.step is not None:
        rows = _rows(seam, upper, lower)
        wishes.append(_riser_wish(seam, seam.step, rows, unit, at_least=False))
    alike = alike_wish(seam, upper, lower, unit)
    return wishes if alike is None else [*wishes, alike]


# Risers along one edge are alike to 3/8 in: IRC R311.7.5.1.
ALIKE = 3 / 8 * INCH


def alike_wish(seam: Seam, upper: Block, lower: Block, unit: Unit) -> Wish | None:
    """Return the wish that the risers of a step are alike all along it, where it is long."""
    if seam.step is None:
        return None
    at = np.vstack(seam.runs)
    rows = upper.level_rows(at) - lower.level_rows(at)
    across = rows[1:] - rows[:1]
    most, names = ALIKE * seam.step.count, f"{seam.upper} down to {seam.lower}"
    return wish_of(
        "riser-alike", f"risers alike within {size(ALIKE, unit)} from {names}",
        f"risers from {names}: {{by}} too unlike", across, -most, most,
        about=f"{seam.upper} and {seam.lower}", limit=most, area=seam.upper, unit=unit,
    )  # fmt: skip
