"""How well the ground is known, in words: of the plan, and of an area on the crew's sheet."""

from __future__ import annotations

from collections.abc import Iterator

from grading.design.area import AreaPlan
from grading.design.uncertainty import Interval, Uncertainty
from grading.order.model import Order, bins_between
from grading.pipeline import Plan
from grading.units import INCH, Unit, cubic_yards, percent, size, volume
from viz.table import CUBIC, cubic

DIRT = 8  # of an inch
_REFILL = 5e-3  # m3: less is no refill whose plus-or-minus is told

WORTH = 0.8
"""Further shots that leave more of the plus-or-minus than this are not worth a walk. [share]"""


def known_lines(plan: Plan) -> Iterator[str]:
    """Say how well the dig and the levels of the ground are known, and which shots would help."""
    known, unit = plan.uncertainty, plan.site.unit
    if known is None:
        return
    process = known.certainty.process
    used = len(process.xyz)
    spots = f"{used} of {process.of} spots" if used < process.of else f"{used} spots"
    yield f"Known from {spots}, nine times in ten: {_dig_and_level(known, known.cut, unit)}"
    shots = known.next_shots
    if shots and shots[-1].after <= WORTH * shots[0].before:
        where = "; ".join(f"({k}) {plan.places.at(shot.at)}" for k, shot in enumerate(shots, 1))
        yield (f"Shoot next: {where}: the dig would be known to {_either(shots[-1].after, unit)}")


def area_known(plan: Plan, area: AreaPlan) -> str:
    """Say how well the dig of an area and the ground at its corners are known; "" if not told."""
    known, unit = plan.uncertainty, plan.site.unit
    if known is None:
        return ""
    dig = known.digs[area.area.name, area.chosen]
    also = (
        f"the refill to {_either(dig.fill.either_way, unit)}, " if dig.fill.high > _REFILL else ""
    )
    also += f"the deepest of it to {_within(dig.deepest.either_way, unit)}, "
    return f"Known from the shots, nine times in ten: {_dig_and_level(known, dig.cut, unit, also)}."


def _within(metres: float, unit: Unit) -> str:
    """Write a plus-or-minus; never of nothing, which no survey knows a level to."""
    least = INCH / DIRT if unit == "ft" else 0.001
    under = "under " if metres < least else ""
    return f"{under}\N{PLUS-MINUS SIGN}{size(max(metres, least), unit, DIRT)}"


def _dig_and_level(known: Uncertainty, cut: Interval, unit: Unit, also: str = "") -> str:
    level = _within(known.certainty.deviations * known.deviation, unit)
    return (
        f"the dig to {_either(cut.either_way, unit)}, {also}a level of the ground under it "
        f"typically to {level}; topsoil is not looked at"
    )


def between_lines(plan: Plan, area: AreaPlan) -> Iterator[str]:
    """Say between what the cut, the refill, the deepest dig and the falls of an area may lie."""
    known, unit = plan.uncertainty, plan.site.unit
    if known is None:
        return
    dig = known.digs[area.area.name, area.chosen]
    low, high = dig.deepest.low, dig.deepest.high
    said = [
        f"cut {_volumes(dig.cut, unit)}",
        *([f"refill {_volumes(dig.fill, unit)}"] if dig.fill.high > _REFILL else []),
        f"deepest dig {size(low, unit, DIRT)} to {size(high, unit, DIRT)}",
    ]
    for wall in area.walls:
        fall = known.fall(wall)
        if fall is not None:
            low, high = fall.low, fall.high
            said.append(f"{wall.beyond_words} falls {percent(low)} to {percent(high)} away")
    yield f"As well as the ground is known, nine times in ten: {'; '.join(said)}"


def _volumes(between: Interval, unit: Unit) -> str:
    low, high = (cubic(each, unit) for each in (between.low, between.high))
    return f"{low:.2f} to {high:.2f} {CUBIC[unit]}"


def bins_known(order: Order) -> str:
    """Say how many bins of soil there may be, where that is not one number; else ""."""
    found = bins_between(order)
    if found is None or found[0] == found[1]:
        return ""
    return f"Bins of soil: {found[0]} to {found[1]}, as well as the ground is known"


def _either(cubic_metres: float, unit: Unit) -> str:
    told = cubic_yards(cubic_metres) if unit == "ft" else cubic_metres
    if told < (0.05 if unit == "ft" else 0.005):
        return f"under {'0.1 yd³' if unit == 'ft' else '0.01 m³'}"
    return f"\N{PLUS-MINUS SIGN}{volume(cubic_metres, unit)}"
