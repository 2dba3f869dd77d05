"""Bases of what stands on the paving: pads and footings, and the wedge under what stands level."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

import shapely

from grading.catalogue.bases import BaseSystem
from grading.conditions.features import base_material, things_on, wedge_under
from grading.conditions.level_words import LINE
from grading.conditions.seats import stands_on
from grading.crew.lines import Line, Maker, Work, stone_line, with_more
from grading.crew.model import Crew
from grading.design.area import AreaPlan
from grading.design.model import Design
from grading.design.underfoot import Earth, between, flat, level_at
from grading.dig.hole import Dig
from grading.geometry.tolerances import SLIVER, TOLD_EARTH
from grading.site.model import Feature
from grading.structures.model import Dug, Structure
from grading.structures.pads import Pad, dug_for, pads_of, refilled_in
from grading.units import Unit, area, run, size, volume


def standing_things(plan: Design, area_plan: AreaPlan, dig: Dig, crew: Crew) -> Iterable[Structure]:
    """Return the base of each thing that stands on an area, or the wedge that levels it.

    Parameters
    ----------
    plan : Design
    area_plan : AreaPlan
    dig : Dig
    crew : Crew
        How far fill shrinks from the bank.
    """
    pads = pads_of(plan, area_plan, dig)
    dug = dug_for(plan, area_plan, dig, pads)
    owned = {id(pad.of): (pad, earth) for pad, earth in zip(pads, dug, strict=True)}
    for feature in things_on(plan, area_plan):
        pad, earth = owned.get(id(feature), (None, None))
        if pad is not None and earth is not None:
            yield _based(plan, area_plan, dig, feature, pad, earth, crew)
        elif stands_on(plan, area_plan, feature, dig.system.name) == "bedding":
            yield from _bedded(plan, area_plan, feature)


def _name(feature: Feature) -> str:
    return feature.name or feature.kind


def _based(
    plan: Design, area_plan: AreaPlan, dig: Dig, feature: Feature, pad: Pad, earth: Earth,
    crew: Crew,
) -> Structure:  # fmt: skip
    unit, name = plan.site.unit, _name(feature)
    thick, covered = pad.top - pad.bottom, float(shapely.area(pad.where))
    material = base_material(feature)
    spared = 0.0 if material == "concrete" else refilled_in(plan, area_plan, dig, pad)
    up_to, below, soil = _filled_round(plan, area_plan, dig, feature.polygon, pad)
    kind = "footing" if material == "concrete" else "base"
    given = "" if feature.stands is not None else ", advised, for the site does not say"
    said = (
        f"{name} stands on a {kind} of its own{given}: {size(thick, unit)} of "
        f"{'concrete' if material == 'concrete' else 'compacted base'} over {area(covered, unit)}, "
        f"its top {size(_highest(area_plan, feature) - pad.top, unit)} below the highest finish "
        "beside it; no paver lies under it"
    )
    if earth.bank > TOLD_EARTH:
        said += f"; {volume(earth.bank, unit)} dug for it beyond the hole of the paving"
    stone = max(covered * thick - spared, 0.0)
    makers = [Maker(_base, (name, material, stone, spared, covered, thick, unit))]
    fill = up_to + below
    if fill > TOLD_EARTH and material != "concrete":
        makers.append(Maker(_round, (name, up_to, below, dig.stone, unit)))
    return Structure(
        kind="base of its own",
        name=f"{kind} of {name}",
        area=area_plan.name,
        makers=tuple(makers),
        dug=Dug(earth.bank, earth.topsoil, soil / crew["fill-shrink"]),
        said=said,
        plain=f"{name} stands level on a base of its own, so that it does not lean with the paving",
        cautions=tuple(_cautions(feature)),
        not_counted=tuple(_needs(feature)),
    )


def _filled_round(
    plan: Design, area_plan: AreaPlan, dig: Dig, feet: shapely.Polygon, pad: Pad
) -> tuple[float, float, float]:
    """Return what fills in round a thing: stone up to the pavers, stone below its base, soil. [m3]

    The soil is what was dug above its base beyond the hole of the paving, in place.
    """
    round_it = shapely.difference(pad.where, feet)
    edge = dig.system.above_edge
    up_to = between(shapely.intersection(round_it, area_plan.outline), flat(pad.top),
                    lambda xy: level_at(area_plan, xy) - _pavers(dig.system))  # fmt: skip
    up_to += between(shapely.intersection(round_it, dig.beside), flat(pad.top),
                     lambda xy: level_at(area_plan, xy) - edge)  # fmt: skip
    hole = shapely.intersection(pad.where, dig.polygon)
    below = between(hole, lambda xy: level_at(area_plan, xy) - dig.build_up, flat(pad.bottom))
    above = Pad(pad.name, shapely.difference(round_it, dig.polygon), pad.top, pad.top, pad.of)
    return up_to, below, dug_for(plan, area_plan, dig, [above])[0].bank


def _cautions(feature: Feature) -> Iterator[str]:
    if feature.kind == "pergola post":
        yield (
            "what a footing carries, and what wind lifts, is for the drawing of the permit: ask "
            "the building department how deep and how wide it has to be"
        )
    if feature.kind == "hot tub":
        yield "a filled tub is for its maker's slab, or for an engineer's: hold the base to that"


def _needs(feature: Feature) -> Iterator[str]:
    name = _name(feature)
    if feature.kind in ("gas fire feature", "kitchen"):
        yield f"gas to {name}: a licensed gas fitter's, with its permit and its trench"
    if feature.kind in ("hot tub", "kitchen"):
        yield (
            f"power to {name}, and its bonding and disconnect: a licensed electrician's, with "
            "the permit"
        )
    if feature.kind == "pergola post":
        yield f"the thing itself, {name}, and the anchor that holds it down"
    elif feature.kind != "other":
        yield f"the thing itself, {name}"


def _highest(area_plan: AreaPlan, feature: Feature) -> float:
    return float(level_at(area_plan, shapely.get_coordinates(feature.polygon)).max())


def _pavers(system: BaseSystem) -> float:
    return sum(layer.thickness for layer in system.layers if layer.role == "paver")


def _base(
    name: str, material: str, stone: float, spared: float, covered: float, thick: float,
    unit: Unit, crew: Crew,
) -> Iterator[Line]:  # fmt: skip
    how = f"{size(thick, unit)} over {area(covered, unit)}"
    if material == "concrete":
        net = stone * crew["concrete-density"]
        yield with_more("concrete", f"footing of {name}", "kg", net, how, crew["concrete-waste"])
        return
    if spared > TOLD_EARTH:
        how += f", {volume(spared, unit)} of it counted as refill"
    yield stone_line("dense-graded", f"base of {name}", stone, how, crew)


def _round(
    name: str, up_to: float, below: float, stone: str, unit: Unit, crew: Crew
) -> Iterator[Line]:
    words = []
    if up_to > TOLD_EARTH:
        words.append(f"{volume(up_to, unit)} from the top of its base up to the pavers round it")
    if below > TOLD_EARTH:
        words.append(f"{volume(below, unit)} from the bottom of the hole up to its base")
    yield stone_line(stone, f"fill round the base of {name}", up_to + below, ", ".join(words), crew)


def _bedded(plan: Design, area_plan: AreaPlan, feature: Feature) -> Iterator[Structure]:
    wedge = wedge_under(area_plan, feature.polygon, feature.bedding)
    if wedge.greatest <= LINE:
        return
    unit, name = plan.site.unit, _name(feature)
    line = shapely.intersection(feature.polygon.boundary, area_plan.outline)
    cut = float(shapely.length(line))
    covered = float(feature.polygon.area)
    greatest = size(wedge.greatest, unit)
    yield Structure(
        kind="wedge of bedding",
        name=f"wedge under {name}",
        area=area_plan.name,
        makers=(Maker(_wedge, (name, wedge.volume, wedge.least, wedge.greatest, covered, unit)),)
        if covered > SLIVER
        else (),
        works=(Work(f"cut pavers to a line along {name}", cut, "m", "cut-pavers"),),
        said=(
            f"{name} stands level on the pavers' bed: a wedge of sand up to {greatest} thick "
            f"under it, and {run(cut, unit)} of cuts along it; or its lowest course is cut to the "
            "fall instead"
        ),
        plain=f"A wedge of sand sets {name} level, for the paving falls under it",
        not_counted=tuple(_needs(feature)),
    )


def _wedge(
    name: str, sand: float, least: float, greatest: float, covered: float, unit: Unit, crew: Crew
) -> Iterator[Line]:
    how = f"{size(least, unit)} to {size(greatest, unit)} thick over {area(covered, unit)}"
    yield stone_line("bedding sand", f"wedge under {name}", sand, how, crew)
