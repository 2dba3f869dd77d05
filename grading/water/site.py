"""The water of a planned site: its finished surfaces and what lies under them, put together."""

from __future__ import annotations

from collections.abc import Iterator

import shapely

from grading.design.area import AreaPlan
from grading.design.model import Design, kept
from grading.dig.lawn import lawn_level
from grading.site.walls import named_walls
from grading.units import FOOT
from grading.water.beneath import Beneath
from grading.water.course import Paved
from grading.water.destinations import destinations_of
from grading.water.grid.relief import Level
from grading.water.joints import joint_water_of
from grading.water.model import Water, water_of
from grading.water.spouts import end_of

_INTO_HOUSE = 10 * FOOT  # of a house with an open foundation line, how much is on the map


def _hidden(plan: Design, house: shapely.Geometry) -> shapely.Geometry | None:
    """Return what lies deeper behind an open foundation line than the house is known to go.

    A level that was read or drawn there is no ground that sheds water to a wall. None where the
    site itself has paving, or water, behind the line: there the house ends sooner.
    """
    site = plan.site
    if site.house is None or site.house.closed:
        return None
    spread = shapely.MultiPoint(plan.ground.points[:, :2])
    line = shapely.LineString(site.house.walls)
    behind = site.house.behind(float(shapely.hausdorff_distance(spread, line)) + _INTO_HOUSE)
    deep = shapely.difference(behind, house)
    there: list[shapely.Geometry] = [area.outline for area in plan.areas]
    there += [outfall.geometry for outfall in site.outfalls]
    there += [shapely.Point(end_of(spout)) for spout in site.downspouts]
    return None if shapely.intersects(deep, shapely.union_all(there)) else deep


@kept
def water_of_design(plan: Design) -> Water:
    """Return where the water of a planned site goes.

    Parameters
    ----------
    plan : Design
        Followed once: what is built for its water asks before its checks do.
    """
    site = plan.site
    house = site.body(_INTO_HOUSE)
    paving = [piece for area in plan.areas for piece in _paved(area)]
    surfaces = [(piece.polygon, piece.level) for piece in paving]
    return water_of(
        plan.ground,
        paving,
        house,
        named_walls(site.house),
        destinations_of(site.outfalls, site.floors, surfaces, plan.ground),
        site.in_force,
        downspouts=site.downspouts,
        storm=site.storm,
        soil=site.ground.soil,
        beneath=[_beneath(area) for area in plan.areas],
        joints={area.name: joint_water_of(plan, area) for area in plan.areas},
        regraded=list(lawns_of(plan)),
        pockets=[pocket for area in plan.areas for pocket in area.pockets],
        hidden=_hidden(plan, house),
    )


def _paved(area: AreaPlan) -> Iterator[Paved]:
    for facet in area.finish.surface.paved:
        part = shapely.intersection(facet.domain, area.outline)
        yield Paved(area.name, part, facet.plane.at)


def _beneath(area: AreaPlan) -> Beneath:
    """Return what the water that gets through the pavers runs on."""
    system = area.chosen_dig.system
    roles = [layer.role for layer in system.layers]
    if system.on_panels:
        base, depth, stone = "panel", system.tops()[roles.index("panel")], 0.0
    elif any(layer.material == "open-graded" for layer in system.layers):
        base, depth, stone = "open", system.build_up, system.base_thickness
    else:
        first = roles.index("base") if "base" in roles else len(roles) - 1
        base, depth, stone = "dense", system.tops()[first], 0.0
    planes = [
        (shapely.intersection(facet.domain, area.outline), facet.plane.lowered(depth))
        for facet in area.finish.surface.paved
    ]
    return Beneath(area.name, base, planes, stone)


def lawns_of(plan: Design) -> Iterator[tuple[shapely.Geometry, Level]]:
    """Yield where lawn is brought to each area, and its level there. [m]"""
    for area in plan.areas:
        if area.tie_in is not None and area.area.lawn is not None:
            level = lawn_level(
                area.tie_in, area.outline, area.finish.surface, plan.ground, area.area.lawn.lip
            )
            yield area.tie_in.outline, level
