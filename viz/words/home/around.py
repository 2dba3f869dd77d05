"""What roofs, ground and standing water do to a house, said to who lives there.

The crew's sentence of the same thing says where to put the rod; this one says what would be seen.
"""

from __future__ import annotations

from collections.abc import Iterator

from grading.geometry.tolerances import FLAT
from grading.pipeline import Plan
from grading.signs import listed
from grading.units import area as area_words
from grading.units import run, size
from grading.units.rates import water_volume
from grading.water.course import FOUNDATION, LowSpot
from grading.water.model import AreaWater
from grading.water.plain import called
from grading.water.run_on import GroundAtWall
from grading.water.spouts import SpoutWater
from grading.water.words import by_house, spouts_to_house, to_words
from viz.words.paving.falls import wall_called


def around_told(plan: Plan, one: AreaWater) -> Iterator[str]:
    """Yield what roofs and ground do to the house and to an area, whole sentences, the house first.

    Parameters
    ----------
    plan : Plan
    one : AreaWater
        Of it.
    """
    water = plan.water
    yield from (_spout(each) for each in spouts_to_house(water))
    yield from (ground_told(plan, each) for each in water.at_walls if each.reaches)
    yield from (
        ground_told(plan, each) for each in water.at_walls if each.falls_back and not each.reaches
    )
    here = (spot for spot in water.low_spots if spot.on_paving > 0 and one.name in spot.touching)
    yield from (standing_told(plan, spot) for spot in dict.fromkeys((*by_house(water), *here)))
    if one.told_run_on and one.run_on is not None:
        wide = area_words(one.run_on.area, plan.site.unit)
        yield f"Water from {wide} of the ground around runs onto {called(one.name)}."
    yield from (
        _spout(each)
        for each in water.downspouts
        if one.name in each.crosses and each.kind != FOUNDATION
    )


def _spout(spout: SpoutWater) -> str:
    over = f", over {listed([called(each) for each in spout.crosses])}" if spout.crosses else ""
    return f"Roof water: {spout.name} runs {to_words(spout.destination, spout.kind)}{over}."


def ground_told(plan: Plan, found: GroundAtWall) -> str:
    """Say what the open ground in front of a wall does to the house.

    Parameters
    ----------
    plan : Plan
    found : GroundAtWall
        To which ground sends its water, or falls back.
    """
    unit, wall = plan.site.unit, wall_called(plan, found.wall)
    if found.reaches:
        return (
            f"Rain on {area_words(found.area, unit)} of the ground runs to the foundation of the "
            f"house at {wall}."
        )
    return (
        f"The ground in front of {wall} falls back towards the house, "
        f"{size(found.back, unit)} over {run(found.length, unit, 1)}; its water goes "
        f"{to_words(found.end, found.kind)}."
    )


def standing_told(plan: Plan, spot: LowSpot) -> str:
    """Say how deep water would stand, on what, how much of it, and how near to the house.

    Parameters
    ----------
    plan : Plan
    spot : LowSpot
        Of its water.
    """
    unit = plan.site.unit
    deep, paved = size(spot.depth, unit), size(spot.on_paving, unit)
    areas = listed([called(each) for each in spot.touching]) if spot.touching else ""
    if not spot.on_paving > 0:
        what = f"{deep} deep on the ground{f' beside {areas}' if areas else ''}"
    elif paved == deep:
        what = f"{paved} deep on {areas or 'the paving'}"
    else:
        # It is deepest beside the paving: that is not how deep anybody there stands in it.
        what = f"{paved} deep on {areas or 'the paving'} and {deep} deep beside it"
    said = f"After rain, water would stand up to {what}: {water_volume(spot.volume, unit)}"
    if spot.from_house is None or spot not in by_house(plan.water):
        return f"{said}."
    near = run(spot.from_house, unit, 1) if spot.from_house > FLAT else ""
    # To a whole inch: nearer than half of one it is told as at the house.
    if not near or near == run(0.0, unit, 1):
        return f"{said}, right at the house."
    return f"{said}, {near} from the house at the nearest."
