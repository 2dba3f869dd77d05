"""Stage the scene of one area on one base system from its plan."""

from __future__ import annotations

import numpy as np
import shapely

from grading.design.area import AreaPlan
from grading.design.door_steps import door_steps
from grading.dig.hole import Dig
from grading.pipeline import Plan
from grading.site.model import Door
from grading.units import INCH, Unit, area, both, length, size, volume
from viz.look.materials import SPOT
from viz.scene.frame import Frame, Opening, aside_of, frame_of, opening_of
from viz.scene.layers import stack
from viz.scene.layers.depths import add_depths
from viz.scene.layers.laid import border_of, takeoff_of
from viz.scene.layers.own_bases import add_own_bases
from viz.scene.layers.pockets import add_beds, pockets_in
from viz.scene.model import VIEWS, Body, Camera, Collected, Label, Scene
from viz.scene.neighbours import add_others, others_in
from viz.scene.once import once
from viz.scene.paint import add_fall, add_scale
from viz.scene.shell import Floats, Shape, polygons
from viz.scene.slicing import TALL, edge_on, stops
from viz.scene.solids import Draped, local_origin
from viz.scene.surroundings import (
    TURF,
    WALL,
    add_ground,
    add_house,
    block_region,
    door_frame,
    drape_over,
    drawn_ground,
    height_over,
    wall_top,
)
from viz.scene.things import add_features, add_restraint, add_treads, covered_by
from viz.scene.waterways import add_water
from viz.scene.yard import add_yard
from viz.words.falls import fall_words

EXAGGERATIONS = (1, 2, 3, 5)

READABLE = 0.042
"""Thickness the thinnest build-up is drawn with, of the side of a square as large as the paving."""

HOUSED = tuple(view for view in VIEWS if view not in ("apart", "yard"))
"""The views with the house wall beside the paving."""

AFTER = ("finished", "slice", "apart")
"""The views of the ground as it is when the paving is done."""


def exaggeration_of(area_plan: AreaPlan) -> float:
    """Return how many times larger heights are drawn than lengths: one number for an area.

    Every base system of the area is drawn with the same, so that they compare honestly.
    """
    thinnest = min(dig.build_up for dig in area_plan.digs.values())
    wanted = READABLE * float(np.sqrt(area_plan.outline.area)) / thinnest
    return float(next((step for step in EXAGGERATIONS if step >= wanted), EXAGGERATIONS[-1]))


@once
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
    dig = area_plan.digs[base]
    site, unit = plan.site, plan.site.unit
    origin = local_origin(area_plan.digs[area_plan.chosen])
    frame = frame_of(plan, area_plan)
    factor = exaggeration_of(area_plan)
    widest = max(area_plan.digs.values(), key=lambda each: float(each.polygon.area))
    region = block_region(plan.ground, frame, widest.polygon, site.house)
    ground = drawn_ground(plan.ground.under(area_plan.area.name), region)
    laid = takeoff_of(plan, area_plan, base)
    treads = stack.treads_of(laid)
    legend = stack.legend_of(treads, dig, plan.site.unit)
    opening = opening_of(frame, area_plan.outline, len(treads) - 1)

    clear = factor * max(each.max_dig for each in area_plan.digs.values())

    collected = Collected()
    whole = drape_over(ground, region, origin)
    lowest = _lowest(area_plan, whole.ground, origin)
    bottom = lowest - 0.055 * float(np.sqrt(region.area)) / factor
    add_ground(collected, whole, bottom, ("today",), 1)
    beside_dig = region.difference(dig.polygon)
    outside = polygons(beside_dig.difference(others_in(plan, area_plan, region)))
    add_others(collected, plan, area_plan, beside_dig, origin, bottom)
    pockets = pockets_in(area_plan, outside)
    around = polygons(outside.difference(pockets))
    if not around.is_empty:
        add_ground(collected, drape_over(ground, around, origin), bottom, (*AFTER, "dig"), 1)
    if not pockets.is_empty:
        add_ground(collected, drape_over(ground, pockets, origin), bottom, ("dig",), 1)
        add_beds(collected, area_plan, pockets, ground, bottom, origin, AFTER)
    if not outside.is_empty:
        opened = polygons(outside.difference(opening.cut(0)))
        if not opened.is_empty:
            add_ground(collected, drape_over(ground, opened, origin), bottom, ("layers",), 1)
    dug_at, dug = stack.add_stack(
        collected,
        area_plan,
        dig,
        ground,
        treads,
        opening,
        origin,
        bottom,
        laid,
        clear,
        border_of(plan, area_plan, base),
    )
    add_depths(collected, dig, dug, dug_at, origin, unit)
    add_restraint(collected, plan, area_plan, dig, opening, origin)
    add_features(collected, plan, area_plan, dig, opening, origin)
    add_own_bases(collected, plan, area_plan, dig, opening, origin)
    add_treads(collected, plan, area_plan, region.union(area_plan.outline), origin)
    _add_house(collected, plan, area_plan, frame, frame.box(*frame.bounds(region)), origin, bottom)

    # A layer is pointed at where it lies, and not at the shoulder that takes its place.
    stone = [next(stack.parted(tread, laid)) for tread in treads]
    collected.labels += stack.layer_labels(
        stone, legend, area_plan, opening, origin, dug_at, factor * dig.max_dig, clear
    )
    add_fall(collected, area_plan, frame, opening, origin, unit, covered_by(plan))
    lawn = region.difference(others_in(plan, area_plan, region))
    _add_topsoil(collected, opening, region, lawn, whole, origin, unit)
    _add_levels(collected, area_plan, frame, opening, origin, unit)
    _add_spots(collected, plan, region, origin, unit)
    ground_at = height_over(whole.sheet, whole.ground)
    add_water(collected, plan, region, ground_at, origin)
    free = region.difference(widest.polygon).difference(opening.cut(0))
    free = free.difference(others_in(plan, area_plan, region))
    add_scale(collected, frame, free, ground_at, origin, unit)
    yard = add_yard(collected, plan, area_plan, dig, origin, bottom)
    _add_yard_house(collected, plan, area_plan, yard, origin, bottom)

    return Scene(
        site=site.name,
        area=area_plan.area.name,
        base=base,
        base_title=dig.system.title,
        size=f"{area(area_plan.outline.area, unit)} of paving",
        fall=fall_words(area_plan, unit),
        unit=unit,
        origin=origin,
        exaggeration=factor,
        bodies=tuple(collected.bodies),
        lines=tuple(collected.lines),
        labels=tuple(collected.labels),
        cameras=cameras(
            collected.bodies,
            frame,
            opening,
            area_plan.outline,
            origin,
            (lowest, float(np.max(_levels(area_plan))) - origin[2]),
            factor,
        ),
        legend=legend,
        figures=_figures(dig, unit),
        build_up=dig.build_up,
        near=frame.near,
        slices=stops(frame, area_plan.outline, origin, unit),
        lengthwise=stops(frame, area_plan.outline, origin, unit, lengthwise=True),
    )


def _lowest(area_plan: AreaPlan, ground: Floats, origin: Floats) -> float:
    """Return the lowest level of the ground drawn and of every dig, about the origin. [m]"""
    digs = area_plan.digs.values()
    levels = [float((dig.clip.ground - dig.depths).min()) - origin[2] for dig in digs]
    return float(min([*levels, np.nanmin(ground)]))


def _levels(area_plan: AreaPlan) -> Floats:
    """Return the finish at the outline's corners, (n,). [m]"""
    return np.asarray(area_plan.finish.surface.at(np.array(area_plan.outline.exterior.coords)))


def _figures(dig: Dig, unit: Unit) -> tuple[tuple[str, str], ...]:
    figures = [
        ("Build-up", both(dig.build_up, unit=unit)),
        ("Deepest dig", both(dig.max_dig, 8, unit)),
        ("Dig", volume(dig.cut, unit)),
        ("Spoil, loose", volume(dig.spoil_loose, unit)),
    ]
    if dig.refill is not None:
        figures.append(("Refill", volume(dig.fill, unit)))
    return tuple(figures)


def _add_house(
    collected: Collected,
    plan: Plan,
    area_plan: AreaPlan,
    frame: Frame,
    region: shapely.Polygon,
    origin: Floats,
    bottom: float,
) -> None:
    house = plan.site.house
    if house is None:
        return
    # The one step that the table, the details and the checks tell too.
    steps = {step.door.name: step for step in door_steps(area_plan)}
    doors = _doors_at(plan, region)
    levels = _house_levels(plan, area_plan, doors, bottom + origin[2])
    seen = region.buffer(WALL, join_style="mitre")
    add_house(collected, house, doors, seen, origin, levels, HOUSED)
    for door in doors:
        if door.name not in steps:
            continue  # a door that is not about this paving has no step down to it
        place = door_frame(house, door)
        step = steps[door.name]
        high = step.words(lambda metres: size(abs(metres), plan.site.unit))
        how = f"{high} step" if step.risers == 1 else high
        if step.step < 0:
            how = f"sill {high} BELOW the finish"
        sill = f"sill {length(door.sill, plan.site.unit)}"
        at = np.append(place.at - origin[:2], door.sill - origin[2])
        # Before there is any paving there is no step down to it.
        for words, shown in (
            (f"{door.name}: {how}\n{sill}", {*HOUSED, "yard"} - {"dig", "today"}),
            (f"{door.name}\n{sill}", {"dig", "today"}),
        ):
            brief = f"{door.name}\n{how if how in words else sill}"
            label = Label(words, at, "house", frozenset(shown), rank=20, brief=brief)
            collected.labels.append(label)


def _add_yard_house(
    collected: Collected, plan: Plan, area_plan: AreaPlan, yard: Shape, origin: Floats,
    bottom: float,
) -> None:  # fmt: skip
    """Add all of the house's walls that stand at the yard."""
    house = plan.site.house
    if house is None:
        return
    doors = _doors_at(plan, yard)
    levels = _house_levels(plan, area_plan, doors, bottom + origin[2])
    add_house(collected, house, doors, yard.buffer(WALL, join_style="mitre"), origin, levels,
              ("yard",))  # fmt: skip


def _doors_at(plan: Plan, region: Shape) -> tuple[Door, ...]:
    house = plan.site.house
    reach = region.buffer(2 * INCH)
    return tuple(
        door
        for door in plan.site.doors
        if house is not None and reach.intersects(door_frame(house, door).box(-0.2, -0.1, 0.2, 0.1))
    )


def _house_levels(
    plan: Plan, area_plan: AreaPlan, doors: tuple[Door, ...], bottom: float
) -> tuple[float, float, float]:
    """Return underside of the foundation, its top and the top of the wall that is drawn. [m]"""
    levels = _levels(area_plan)
    foundation = min([float(levels.max()) + 6 * INCH] + [door.sill - INCH for door in doors])
    sidings = [np.min(each.z) for each in plan.site.ceilings if each.kind == "siding"]
    return bottom, float(min(sidings)) if sidings else foundation, wall_top(doors, levels)


def _add_topsoil(
    collected: Collected,
    opening: Opening,
    region: shapely.Polygon,
    lawn: Shape,
    whole: Draped,
    origin: Floats,
    unit: Unit,
) -> None:
    """Name the topsoil where the opening has cut the lawn beside the dig."""

    r0, _, _, n1 = opening.frame.bounds(region)
    # The ground is cut along the opening up to the edge of the block.
    place = [opening.corners[0, 0], n1] if opening.along[0] else [r0, opening.corners[0, 1]]
    corner = opening.frame.site(np.array([place]))
    if not lawn.buffer(2 * INCH).covers(shapely.Point(corner[0])):
        return
    at = corner - origin[:2]
    depth = float(height_over(whole.sheet, whole.organics)(at)[0])
    if depth < 2 * TURF:
        return
    z = float(height_over(whole.sheet, whole.ground)(at)[0]) - (depth + TURF) / 2
    words = f"topsoil {size(depth, unit, 8)}\nto be stripped"
    collected.labels.append(
        Label(words, np.append(at[0], z), "ground", frozenset({"layers"}), rank=30)
    )


def _add_levels(
    collected: Collected,
    area_plan: AreaPlan,
    frame: Frame,
    opening: Opening,
    origin: Floats,
    unit: Unit,
) -> None:
    """Write the finish at the outline's corners that are not lifted away."""

    r0, n0, r1, n1 = frame.bounds(area_plan.outline)
    corners = shapely.get_coordinates(area_plan.outline.exterior.simplify(2 * INCH))[:-1]
    local = frame.local(corners)
    cut = opening.cut(0)
    for want_r, want_n, rank in ((r0, n0, 10), (r1, n0, 11), (r0, n1, 12), (r1, n1, 13)):
        i = int(np.argmin(np.hypot(local[:, 0] - want_r, local[:, 1] - want_n)))
        z = float(area_plan.finish.surface.at(corners[i][None])[0])
        lifted = cut.covers(shapely.Point(corners[i]))
        shown = {"finished"} if lifted else {"layers", "finished"}
        at = np.append(corners[i], z) - origin
        words = f"finish {length(z, unit)}"
        collected.labels.append(Label(words, at, "level", frozenset(shown), rank=rank))


def _add_spots(
    collected: Collected, plan: Plan, region: shapely.Polygon, origin: Floats, unit: Unit
) -> None:
    """Mark the surveyed spots of existing ground, with their elevations."""

    xyz = plan.site.spots.xyz
    inside = shapely.contains_xy(region, xyz[:, :2])
    if not inside.any():
        return
    spots = xyz[inside] - origin
    size = 2 * INCH
    turn = np.arange(8) * np.pi / 4
    ring = size * np.column_stack([np.cos(turn), np.sin(turn)])
    points = (spots[:, None, :2] + ring).reshape(-1, 2)
    levels = np.repeat(spots[:, 2] + 0.01, 8)
    fan = np.column_stack([np.zeros(6), np.arange(1, 7), np.arange(2, 8)]).astype(np.int64)
    faces = (fan[None] + 8 * np.arange(len(spots))[:, None, None]).reshape(-1, 3)
    vertices = np.column_stack([points, levels])
    shown = frozenset({"today"})
    collected.bodies.append(Body("spots", "ink", vertices, faces, SPOT, shown, True))
    for rank, spot in enumerate(spots):
        words = length(float(spot[2] + origin[2]), unit)
        collected.labels.append(Label(words, spot, "spot", shown, rank=100 + rank))


def cameras(
    bodies: list[Body],
    frame: Frame,
    opening: Opening,
    outline: Shape,
    origin: Floats,
    heights: tuple[float, float],
    factor: float,
) -> tuple[Camera, ...]:
    """Return the places to look from, the first being the one a picture is taken from.

    heights are the lowest and the highest level of the layers about the scene's origin. [m]
    """
    points = np.concatenate([body.vertices for body in bodies]) * np.array([1, 1, factor])
    box = np.array([points.min(axis=0), points.max(axis=0)])
    r0, n0, r1, n1 = frame.bounds(outline)
    start = np.where(opening.along > 0, opening.corners[0], [r0, n0])
    corner = frame.site(
        np.array([start, [r1, start[1]], [r1, n1], [start[0], n1]])
    ) - origin[:2]  # fmt: skip
    low, high = heights
    near_box = np.array([np.append(corner.min(axis=0), low), np.append(corner.max(axis=0), high)])
    near_box[:, 2] *= factor

    aside = aside_of(frame, outline)

    def towards(right: float, near: float, degrees: float) -> Floats:
        flat = right * frame.right + near * frame.near
        flat = flat / np.hypot(*flat)
        up = np.radians(degrees)
        return np.append(flat * np.cos(up), np.sin(up))

    return (
        Camera(
            "whole",
            "Whole",
            towards(aside, 1.0, stack.SEEN_FROM),
            box,
            tall=towards(aside, 1.0, 50),
        ),
        Camera(
            "corner",
            "Corner",
            towards(1.2 * aside, 1.0, 27),
            near_box,
            close=True,
            tall=towards(1.2 * aside, 1.0, 42),
        ),
        Camera("house", "From the house", towards(0.3, -1.0, 48), box),
        Camera("above", "From above", towards(0.0, 1.0, 88), box),
        Camera("side", "Edge on", edge_on(frame), box, tall=edge_on(frame, degrees=TALL)),
    )
