"""Stage the scene of one area on one base system from its plan."""

from __future__ import annotations

import numpy as np
import shapely

from grading.design.area import AreaPlan
from grading.design.model import kept
from grading.dig.hole import Dig
from grading.geometry.arrays import Floats
from grading.pipeline import Plan
from grading.units import Unit, some_volume, volume
from grading.units import area as area_words
from viz.scene.collect import Collected
from viz.scene.frame import aside_of, frame_of, opening_of
from viz.scene.lawn import add_hard, left_over
from viz.scene.layers.depths import add_depths
from viz.scene.layers.laid import takeoff_of
from viz.scene.layers.names import SEEN_FROM, layer_labels
from viz.scene.layers.own_bases import add_own_bases
from viz.scene.layers.pockets import add_beds, pockets_in
from viz.scene.layers.stack import add_stack
from viz.scene.layers.structures import add_structures, lowest_of
from viz.scene.layers.treads import legend_of, treads_of
from viz.scene.marks import add_levels, add_spots, add_topsoil, add_walls, add_yard_walls
from viz.scene.model import Camera, Scene
from viz.scene.paint import add_fall, add_scale
from viz.scene.setting import Setting
from viz.scene.shell import polygons
from viz.scene.slicing import TALL, edge_on, stops
from viz.scene.solids import Draped, height_over, local_origin
from viz.scene.surroundings import add_ground, block_region, drape_over, drawn_ground, levels_of
from viz.scene.things import add_features, add_restraint, covered_by
from viz.scene.waterways import add_water
from viz.scene.yard import add_others, add_yard
from viz.words.figures import small
from viz.words.paving.falls import fall_words

EXAGGERATIONS = (1, 2, 3, 5)

READABLE = 0.042
"""Thickness the thinnest build-up is drawn with, of the side of a square as large as the paving."""

AFTER = ("finished", "slice", "apart")
"""The views of the ground as it is when the paving is done."""


def exaggeration_of(area_plan: AreaPlan) -> float:
    """Return how many times larger heights are drawn than lengths: one number for an area.

    Every base system of the area is drawn with the same, so that they compare honestly.
    """
    thinnest = min(dig.build_up for dig in area_plan.digs.values())
    wanted = READABLE * float(np.sqrt(area_plan.outline.area)) / thinnest
    return float(next((step for step in EXAGGERATIONS if step >= wanted), EXAGGERATIONS[-1]))


@kept
def stage(plan: Plan, area_plan: AreaPlan, base: str) -> Scene:
    """Return the scene of one area on one base system: made once, however many draw it.

    Parameters
    ----------
    plan : Plan
    area_plan : AreaPlan
        One of the plan's areas.
    base : str
        Name of one of its base systems.
    """
    site, area, unit = plan.site, area_plan, plan.site.unit
    laid = takeoff_of(plan, area, base)
    origin = local_origin(area.chosen_dig)
    frame, factor = frame_of(plan, area), exaggeration_of(area)
    widest = max(area.digs.values(), key=lambda each: float(each.polygon.area)).polygon
    region = block_region(plan.ground, frame, widest, site.house)
    ground = drawn_ground(plan.ground.under(area.area.name), region)
    treads = treads_of(laid)
    legend = legend_of(treads, laid, unit)
    opening = opening_of(frame, area.outline, len(treads) - 1)

    whole = drape_over(ground, region, origin)
    lowest = _lowest(area, whole.ground, origin)
    lowest = min(lowest, lowest_of(plan, region) - float(origin[2]))
    bottom = lowest - 0.055 * float(np.sqrt(region.area)) / factor
    found = Collected(origin)
    on = Setting(plan, area, laid, frame, opening, ground, region, bottom, factor, found)
    _add_surroundings(on, whole)
    hole = add_stack(on, treads)
    add_depths(on, hole)
    add_restraint(on)
    add_features(on)
    add_own_bases(on)
    add_structures(on)
    add_walls(on, frame.box(*frame.bounds(region)))

    found.labels.extend(layer_labels(on, treads, legend, hole))
    add_fall(on, covered_by(plan))
    add_topsoil(on, whole)
    add_levels(on)
    add_spots(on)
    ground_at = height_over(whole.sheet, whole.ground)
    add_water(found, plan, region, ground_at)
    free = region.difference(widest).difference(opening.cut(0))
    add_scale(on, free.difference(on.others(region)), ground_at)
    add_yard_walls(on, add_yard(on))

    heights = (lowest, float(np.max(levels_of(area))) - origin[2])
    return Scene(
        site=site.name,
        area=area.area.name,
        base=base,
        base_title=on.dig.system.title,
        size=f"{area_words(area.paving, unit)} of paving",
        fall=fall_words(area, unit),
        unit=unit,
        origin=origin,
        exaggeration=factor,
        bodies=tuple(found.bodies),
        lines=tuple(found.lines),
        labels=tuple(found.labels),
        cameras=cameras(on, heights),
        legend=legend,
        figures=_figures(on.dig, unit),
        build_up=on.dig.build_up,
        near=frame.near,
        slices=stops(frame, area.outline, origin, unit),
        lengthwise=stops(frame, area.outline, origin, unit, lengthwise=True),
    )


def _add_surroundings(on: Setting, whole: Draped) -> None:
    """Add the ground as it is today and as it stays in each view, and the paving beside it."""
    found, ground, origin = on.found, on.ground, on.origin
    beside_dig = on.region.difference(on.dig.polygon)
    but_layers = ("today", "dig", *AFTER)
    hard = add_hard(found, on.plan, ground, on.region, on.bottom, but_layers)
    bared = polygons(hard.difference(on.opening.cut(0)))
    add_hard(found, on.plan, ground, bared, on.bottom, ("layers",))
    if not hard.is_empty:
        whole = drape_over(ground, polygons(on.region.difference(hard)), origin)
    add_ground(found, whole, on.bottom, ("today",), 1)
    outside = polygons(beside_dig.difference(on.others(on.region)).difference(hard))
    add_others(on, beside_dig)
    pockets = pockets_in(on.area, outside)
    around = polygons(outside.difference(pockets))
    opened = polygons(outside.difference(on.opening.cut(0)))
    edge = on.dig.polygon.boundary
    for region, views in (
        (around, AFTER), (around, ("dig",)), (pockets, ("dig",)), (opened, ("layers",)),
    ):  # fmt: skip
        if region.is_empty:
            continue
        if views == ("dig",):
            add_ground(found, drape_over(ground, region, origin), on.bottom, views, 1)
        else:
            draped, lawn = left_over(on.plan, ground, region, origin)
            sodded = shapely.union(edge, lawn.boundary)
            add_ground(found, draped, on.bottom, views, 1, sodded=sodded)
        if region is pockets:
            add_beds(on, pockets, ground, AFTER)


def _lowest(area_plan: AreaPlan, ground: Floats, origin: Floats) -> float:
    """Return the lowest level of the ground drawn and of every dig, about the origin. [m]"""
    digs = area_plan.digs.values()
    levels = [float((dig.clip.ground - dig.depths).min()) - origin[2] for dig in digs]
    return float(min([*levels, np.nanmin(ground)]))


def _figures(dig: Dig, unit: Unit) -> tuple[tuple[str, str], ...]:
    figures = [
        ("Build-up", small(dig.build_up, unit)),
        ("Deepest dig", small(dig.max_dig, unit, 8)),
        ("Dig", volume(dig.cut, unit)),
        ("Spoil, loose", volume(dig.spoil_loose, unit)),
    ]
    if dig.refill is not None:
        figures.append(("Refill", some_volume(dig.fill, unit)))
    return tuple(figures)


def cameras(on: Setting, heights: tuple[float, float]) -> tuple[Camera, ...]:
    """Return the places to look from, the first being the one a picture is taken from.

    heights are the lowest and the highest level of the layers about the scene's origin. [m]
    """
    frame, opening, outline = on.frame, on.opening, on.area.outline
    points = np.concatenate([body.vertices for body in on.found.bodies])
    points = points * np.array([1, 1, on.factor])
    box = np.array([points.min(axis=0), points.max(axis=0)])
    r0, n0, r1, n1 = frame.bounds(outline)
    start = np.where(opening.along > 0, opening.corners[0], [r0, n0])
    ends = np.array([start, [r1, start[1]], [r1, n1], [start[0], n1]])
    corner, (low, high) = frame.site(ends) - on.origin[:2], heights
    near_box = np.array([np.append(corner.min(axis=0), low), np.append(corner.max(axis=0), high)])
    near_box[:, 2] *= on.factor
    aside, edge, tall = aside_of(frame, outline), edge_on(frame), edge_on(frame, degrees=TALL)

    def whole(right: float, degrees: float) -> Floats:
        return frame.towards(right * aside, 1.0, degrees)

    return (
        Camera("whole", "Whole", whole(1.0, SEEN_FROM), box, tall=whole(1.0, 50)),
        Camera("corner", "Corner", whole(1.2, 27), near_box, close=True, tall=whole(1.2, 42)),
        Camera("house", "From the house", frame.towards(0.3, -1.0, 48), box),
        Camera("above", "From above", frame.towards(0.0, 1.0, 88), box),
        Camera("side", "Edge on", edge, box, tall=tall),
    )
