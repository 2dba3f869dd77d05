"""Where the water goes, in words and tables."""

from __future__ import annotations

from collections.abc import Iterator

from grading.design.places import FROM_THE_LEFT
from grading.pipeline import Plan
from grading.units import Unit, length, size, slope
from grading.units.rates import flow, water_volume
from grading.water.joints import joint_water_words
from grading.water.model import AreaWater
from grading.water.words import (
    edge_shares,
    ground_words,
    pocket_words,
    rain_words,
    run_on_words,
    spout_words,
    to_words,
)


def water_lines(plan: Plan) -> Iterator[str]:
    """Yield where the water of a site goes: each area, low spots, downspouts, walls."""
    water, unit, at = plan.water, plan.site.unit, plan.places.at
    yield "Water:"
    if water.walls:
        yield f"  {FROM_THE_LEFT}"
    for area in water.areas:
        yield from _area_lines(plan, area)
    for _, words in ground_words(water, plan.places):
        yield f"  {words}"
    for number, spot in enumerate(water.low_spots, start=1):
        yield (
            f"  low spot {number}, {at(spot.at)}: {size(spot.depth, unit)} deep, "
            f"{water_volume(spot.volume, unit)}, spills {at(spot.spill)}"
        )
    for spout in water.downspouts:
        yield f"  {spout_words(spout, unit)}"
    for wall in water.walls:
        parts = [
            f"{kind} {_fall(worst.fall, unit)}, {at(worst.at, wall.wall)}"
            for kind, worst in (("paving", wall.paved), ("ground", wall.ground))
            if worst is not None
        ]
        if parts:
            yield f"  least fall away from {wall.wall}: {'; '.join(parts)}"


def _fall(ratio: float, unit: Unit) -> str:
    return slope(ratio, unit) if ratio >= 0 else f"{slope(-ratio, unit)} BACK to it"


def _area_lines(plan: Plan, area: AreaWater) -> Iterator[str]:
    unit = plan.site.unit
    yield f"  {rain_words(plan.water, area)}"
    if area.joints is not None:
        yield f"    {joint_water_words(area.joints, unit)}"
    if area.runoff is not None:
        yield f"    {flow(area.runoff, unit)} of it in the storm"
    for edge, share in zip(area.edges, edge_shares(area), strict=True):
        yield (
            f"    {share} leaves {plan.places.at(edge.at)}, at level {length(edge.z, unit)}, "
            f"{to_words(edge.destination, edge.kind)}"
        )
    for bed in area.pockets:
        yield f"    {pocket_words(bed)}, {plan.places.at(bed.at)}"
    if area.told_run_on:
        yield f"    {run_on_words(area, plan.places)}"
