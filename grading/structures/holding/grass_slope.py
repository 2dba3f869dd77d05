"""A slope of soil and grass along a raised edge as a structure: its fill, its grass, its toe."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely

from grading.crew.lines import Line, Maker, Work, with_more
from grading.crew.model import Crew
from grading.design.area import AreaPlan
from grading.design.model import Design
from grading.dig.hole import Dig
from grading.geometry.arrays import Floats, Region, polygons
from grading.geometry.plane import Plane
from grading.ground.model import Ground
from grading.site.hold_table import Hold
from grading.structures.behind import finish_over
from grading.structures.holding.slope import Slope, bodies
from grading.structures.model import Dug, Solid, Structure
from grading.units import INCH, YARD, Unit, area, percent, run, size, volume

_SOIL, _TURF = "backfill", "turf"
_SOD = INCH  # m: how thick the grass on it is drawn
_LEAST = 1e-3  # own: what is less is no triangle


def slope_structure(
    plan: Design, area_plan: AreaPlan, dig: Dig, name: str, slope: Slope, asked: Hold | None,
    pads: shapely.Geometry,
) -> Structure:  # fmt: skip
    """Return a slope as it is built along a stretch of an area's edge on a base system.

    What of it lies over the hole of the paving is base up to the bedding, and soil put back beside
    the paving: that is counted there, and only what lies beyond it here.

    Parameters
    ----------
    plan : Design
    area_plan : AreaPlan
    dig : Dig
        One of the area's.
    name : str
    slope : Slope
    asked : Hold or None
        What the site says of it.
    pads : shapely geometry
        Of steps beside it, which are dug for themselves. [m]
    """
    unit, ground = plan.site.unit, plan.ground.under(area_plan.name)
    over = polygons(shapely.difference(slope.region, shapely.union(dig.polygon, plan.built_over())))
    turf = plan.crew["lawn-topsoil"]
    earth = slope.earth(over, ground, turf)
    stripped = earth.stripped
    if shapely.intersects(over, pads):
        stripped = slope.earth(shapely.difference(over, pads), ground, turf).stripped
    grass = float(over.area) * float(np.hypot(1.0, slope.steep))
    steep = f"{1 / slope.steep:.3g} to 1"
    sown = asked is not None and asked.grass == "seed"
    said = (
        f"{name}: along {run(float(slope.line.length), unit, 1)} of edge, level for "
        f"{size(slope.shoulder, unit)} and then {steep} down to a toe up to "
        f"{run(slope.widest, unit, 1)} out; {volume(earth.filled, unit)} of soil in place beyond "
        f"the hole of the paving, {volume(earth.turfed, unit)} of it topsoil on top, "
        f"{area(grass, unit)} of {'seed' if sown else 'sod'}"
    )
    return Structure(
        kind="grass slope",
        name=name,
        area=area_plan.name,
        solids=tuple(_solids(area_plan, dig, slope, ground)),
        makers=(Maker(_grass, ("seed" if sown else "sod", name, grass, unit)),),
        works=(Work("place and compact the soil of the slope", earth.filled, "m3", "place-slope"),),
        dug=Dug(stripped, stripped, 0.0, earth.filled, earth.turfed),
        said=said,
        plain=(
            f"A slope of grass, {steep} and up to {run(slope.widest, unit, 1)} wide, runs from "
            f"the raised edge of {area_plan.name} down to the lawn"
        ),
        cautions=tuple(_cautions(plan, name, over, sown)),
    )


def _cautions(plan: Design, name: str, over: Region, sown: bool) -> Iterator[str]:
    yield (
        f"strip sod and topsoil under {name}, roughen the ground, and compact its soil in thin "
        "lifts: on grass it slides (IBC appendix J107.2 and J107.3; ask the building department "
        "what it asks for)"
    )
    steepest, limit = _steepest(plan, over), plan.limits["slope-bench"]
    if steepest > limit:
        yield (
            f"the ground under {name} falls up to {percent(steepest, 0)}, more than "
            f"{percent(limit, 0)}: cut it into level benches, and place the soil on them"
        )
    if sown:
        yield (
            f"cover the seed on {name} with a blanket or straw until it holds: rain washes bare "
            "soil off a slope"
        )


def _steepest(plan: Design, over: Region) -> float:
    """Return the steepest fall of the ground under a slope, over a yard of it. [ratio]"""
    points = shapely.get_coordinates(shapely.segmentize(over, YARD / 2))
    half = YARD / 2
    dx, dy = (
        np.asarray(plan.ground.elevation(points + step), float)
        - np.asarray(plan.ground.elevation(points - step), float)
        for step in (np.array([half, 0.0]), np.array([0.0, half]))
    )
    falls = np.hypot(dx, dy) / YARD
    falls = falls[np.isfinite(falls)]
    return float(falls.max()) if len(falls) else 0.0


def _solids(area_plan: AreaPlan, dig: Dig, slope: Slope, ground: Ground) -> Iterator[Solid]:
    """Yield soil and turf: from the stripped ground, over the hole from the top of its base.

    Turf that lies in one plane is one body: between its strips no joint is seen.
    """
    sods: dict[tuple[float, ...], tuple[Plane, list[shapely.Geometry]]] = {}
    strips = list(bodies(slope))
    if not strips:
        return
    middle = np.mean(slope.starts, axis=0)
    quads = np.array([quad for quad, _ in strips])
    on = np.array([corners for _, corners in strips])  # (n, 3, 3)
    # Asked of the ground all at once, and cut by the hole so too: a slope has hundreds of strips.
    places = on[:, :, :2].reshape(-1, 2)
    low = (ground.elevation(places) - np.nan_to_num(ground.organics_at(places))).reshape(-1, 3)
    beyond = shapely.difference(quads, dig.polygon)
    beside = shapely.intersection(quads, dig.polygon)
    for k, quad in enumerate(quads):
        top = _through(on[k])
        if top is None:
            continue
        under = top.lowered(_SOD)
        alike = (round(float(top.at(middle[None])[0]), 4), round(top.dzdx, 4), round(top.dzdy, 4))
        sods.setdefault(alike, (top, []))[1].append(quad)
        left = polygons(beyond[k])
        if not left.is_empty and np.isfinite(low[k]).all():
            bottom = _through(np.column_stack([on[k, :, :2], low[k]]))
            if bottom is not None:
                yield Solid(_SOIL, left, bottom, under)
        for part, plane in finish_over(area_plan, polygons(beside[k])):
            base = plane.lowered(dig.system.above_edge)
            yield Solid(_SOIL, polygons(part), base, under)
    for top, alone in sods.values():
        yield Solid(_TURF, polygons(shapely.union_all(alone)), top.lowered(_SOD), top)


def _through(points: Floats) -> Plane | None:
    """Return the plane through three points (3, 3), None where they lie in a line."""
    rows = np.column_stack([np.ones(3), points[:, :2] - points[0, :2]])
    if abs(float(np.linalg.det(rows))) < _LEAST:
        return None
    z0, dzdx, dzdy = np.linalg.solve(rows, points[:, 2])
    x, y = points[0, :2]
    return Plane(float(z0 - dzdx * x - dzdy * y), float(dzdx), float(dzdy))


def _grass(item: str, name: str, covered: float, unit: Unit, crew: Crew) -> Iterator[Line]:
    how = f"{area(covered, unit)} of it beyond the hole"
    yield with_more(item, f"grass of {name}", "m2", covered, how, crew[f"{item}-waste"])
