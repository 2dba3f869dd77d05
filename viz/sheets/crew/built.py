"""What is built beside and below the paving, on a part of its own: levels by rod, whom to ask.

What it takes, and what it still needs, stands with the order and the hours, and structure by
structure in the report.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations

import numpy as np
import shapely

from grading.crew.lines import STONES
from grading.geometry.arrays import Floats
from grading.geometry.tolerances import LEVEL
from grading.setout.model import AreaStakes, SetOut
from grading.setout.words import grid_words
from grading.structures.model import Solid, Structure
from grading.units import Unit
from grading.units.writing import run
from viz.sheets.blocks import (
    Block,
    Column,
    Page,
    drawing,
    heading,
    listed,
    table,
    together,
    words,
)
from viz.sheets.compile import Compiled
from viz.sheets.crew.rods import level_rod
from viz.sheets.crew.whole_yard import off_their_plans, whole_yard_plan
from viz.sheets.head import Job
from viz.words.lookouts import forbidden
from viz.words.paving.materials import material_words
from viz.words.plain import stopped

_CLOSE = 0.6  # mm above and below a row
_GAP = 0.1  # m: stone in a gap no wider is filled in with what stands beside it
_BEND = 0.01  # m: what goes on within this of where the part before it ends is one run
_OVER = 0.7  # share of the smaller footprint in common: one body lies on the other


def built_page(job: Job, found: SetOut, sheet: Compiled) -> Iterator[Page]:
    """Yield the page of what is built beside the paving; none where nothing is.

    Parameters
    ----------
    job : Job
    found : SetOut
        With the instrument that rods are stated for.
    sheet : Compiled
        Takes the drawing of what lies off the plans of its areas.
    """
    blocks: list[Block] = []
    kinds: list[str] = []
    for each in found.areas:
        for structure in job.order.of(each.area).takeoffs[each.area.chosen].structures:
            kinds.append(structure.kind)
            blocks += _told(job, found, each, structure)
    if blocks:
        seen = _seen(job, found, sheet)
        yield Page(f"Build: {', '.join(dict.fromkeys(kinds))}", (*seen, *blocks), flows=True)


def _seen(job: Job, found: SetOut, sheet: Compiled) -> Iterator[Block]:
    """Yield the plan of the whole yard, where what is built lies off those of its areas."""
    far = off_their_plans(job.plan, found)
    if far:
        made, scale = whole_yard_plan(job.plan, found, far)
        title = "Where it stands" + (", as you face the house" if job.plan.site.house else "")
        alt = "all paving, the house and what is built, from above"
        yield together([
            heading(title, f"{scale.words.partition(' (')[0]}, true scale"),
            drawing(sheet.drawing(made, alt)),
        ])  # fmt: skip


def _told(job: Job, found: SetOut, each: AreaStakes, structure: Structure) -> Iterator[Block]:
    levels = _levels(job, found, each, structure)
    yield together([
        heading(structure.name, structure.kind),
        *([words(stopped(structure.said))] if structure.said else []),
        *([levels] if levels else []),
    ])  # fmt: skip
    asked = [stopped(each) for each in structure.cautions]
    if asked:
        yield together([listed(asked, boxes=True)], whole=True)


def _levels(job: Job, found: SetOut, each: AreaStakes, structure: Structure) -> Block | None:
    """Return the rods of the parts of a structure, from the bottom up; without rods, none."""
    if not structure.solids or forbidden(job.plan):
        return None
    rows = []
    for chain in _chains(_stacks([each for each in structure.solids if not _in_a_gap(each)])):
        lows, highs = ([stack[end] for stack in chain] for end in (0, -1))
        high = len(chain[0])
        count = f"{high} x " if high > 1 else ""
        ends = each.grid.measured(_downward(lows))
        rows.append([f"{count}{material_words(lows[0].material)}", _where(ends, job.unit),
                     _rods(job, found, lows, 0), _rods(job, found, highs, 1)])  # fmt: skip
    return table(
        [Column("Part", kind="words"),
         Column(f"from, to: {grid_words(each.area)}", 1.7, "words"),
         Column("bottom, rod", strong=True), Column("top, rod", strong=True),
         Column("is", 13.0, "box")],
        rows, gap=_CLOSE,
    )  # fmt: skip


def _in_a_gap(solid: Solid) -> bool:
    """Whether a body is stone in a gap behind masonry: it is filled in with that, to no level."""
    wide = 2 * float(solid.footprint.area) / float(solid.footprint.length)
    return solid.material in STONES and wide < _GAP


def _stacks(solids: Sequence[Solid]) -> list[list[Solid]]:
    """Return solids with those that lie on one another as courses of one kind, the lowest first."""
    stacks: list[list[Solid]] = []
    for solid in sorted(solids, key=lambda each: _middle(each)):
        under = next((stack for stack in stacks if _lies_on(solid, stack[-1])), None)
        if under is None:
            stacks.append([solid])
        else:
            under.append(solid)
    return stacks


def _chains(stacks: Sequence[list[Solid]]) -> list[list[list[Solid]]]:
    """Return stacks with those that go on where another ends, as a pipe does round a bend."""
    chains: list[list[list[Solid]]] = []
    for stack in stacks:
        on = [chain for chain in chains if any(_goes_on(stack, other) for other in chain)]
        joined = [other for chain in on for other in chain] + [stack]
        chains = [chain for chain in chains if not any(chain is each for each in on)]
        chains.append(joined)
    return chains


def _goes_on(stack: Sequence[Solid], other: Sequence[Solid]) -> bool:
    one, before = stack[0], other[0]
    if len(stack) != len(other) or one.material != before.material:
        return False
    if shapely.distance(one.footprint, before.footprint) > LEVEL:
        return False
    near = shapely.get_coordinates(shapely.shortest_line(one.footprint, before.footprint))[:1]
    ends = zip(one.between(near), before.between(near), strict=True)
    return all(abs(float(a[0] - b[0])) < _BEND for a, b in ends)


def _middle(solid: Solid) -> float:
    bottom, _ = solid.between(np.array(solid.footprint.representative_point().coords))
    return float(bottom[0])


def _lies_on(solid: Solid, under: Solid) -> bool:
    if solid.material != under.material:
        return False
    common = solid.footprint.intersection(under.footprint)
    if common.area < _OVER * min(solid.footprint.area, under.footprint.area):
        return False
    at = np.array(common.representative_point().coords)
    bottom, top = (values[0] for values in solid.between(at))
    low, high = (values[0] for values in under.between(at))
    alike = abs((top - bottom) - (high - low)) < LEVEL
    return bool(alike and abs(bottom - high) < LEVEL)


def _downward(solids: Sequence[Solid]) -> Floats:
    """Return the ends of solids that are one run, the higher first as its rods are told, (2, 2)."""
    ends = _ends(shapely.union_all([each.footprint for each in solids]))

    def bottom(at: Floats) -> float:
        point = shapely.Point(at)
        nearest = min(solids, key=lambda each: float(each.footprint.distance(point)))
        return float(nearest.between(at[None])[0][0])

    return ends if bottom(ends[0]) >= bottom(ends[1]) else ends[::-1]


def _ends(footprint: shapely.Geometry) -> Floats:
    """Return the two corners of a footprint that lie farthest apart, (2, 2). [m]"""
    hull = np.asarray(shapely.get_coordinates(shapely.convex_hull(footprint)))
    pairs = list(combinations(range(len(hull)), 2))
    apart = [float(np.hypot(*(hull[b] - hull[a]))) for a, b in pairs]
    return hull[list(pairs[int(np.argmax(apart))])]


def _where(ends: Floats, unit: Unit) -> str:
    points = [", ".join(run(round(float(far), 6) + 0.0, unit, 1 if unit == "ft" else 16)
                        for far in end) for end in ends]  # fmt: skip
    return " to ".join(dict.fromkeys(points))


def _rods(job: Job, found: SetOut, solids: Sequence[Solid], side: int) -> str:
    """Write the rod on the bottom (0) or the top (1) of solids: where they fall at both ends."""
    found_at = [solid.between(shapely.get_coordinates(solid.footprint))[side] for solid in solids]
    levels = np.unique(np.round(np.concatenate(found_at), 4))
    told = [level_rod(job, found, float(z), solids[0].material) for z in (levels[-1], levels[0])]
    return " to ".join(dict.fromkeys(told))
