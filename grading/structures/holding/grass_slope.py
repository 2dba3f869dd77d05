"""A slope of soil and grass along a raised edge as a structure: its fill, its grass, its toe."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely

from grading.crew.lines import Line, Maker, Work
from grading.crew.model import Crew
from grading.design.area import AreaPlan
from grading.design.model import Design
from grading.dig.hole import Dig
from grading.geometry.arrays import Floats
from grading.geometry.plane import Plane
from grading.structures.holding.earth import areal
from grading.structures.holding.slope import Slope, bodies
from grading.structures.model import Dug, Solid, Structure
from grading.units import INCH, Unit, area, percent, run, size, volume

_SOIL, _TURF = "soil", "turf"
_SOD = INCH  # m: how thick the grass on it is drawn
_LEAST = 1e-3  # own: m3, what is less is rounding


def slope_structure(
    plan: Design, area_plan: AreaPlan, dig: Dig, name: str, slope: Slope, spared: float
) -> Structure:
    """Return a slope as it is built along a stretch of an area's edge on a base system.

    Parameters
    ----------
    plan : Design
    area_plan : AreaPlan
    dig : Dig
        One of the area's.
    name : str
    slope : Slope
    spared : float
        Soil of the dig that is not yet put back elsewhere, in the bank. [m3]
    """
    unit, soil = plan.site.unit, plan.site.ground.soil
    shrink = area_plan.group.group.aim.shrink
    wanted = slope.fill / shrink
    kept = min(wanted, max(spared, 0.0))
    over = slope.region.difference(dig.polygon)
    grass = float(over.area) * float(np.hypot(1.0, slope.steep))
    steep = f"{1 / slope.steep:.3g} to 1"
    said = (
        f"{name}: along {run(float(slope.line.length), unit, 1)} of edge, level for "
        f"{size(slope.shoulder, unit)} and then {steep} down to a toe up to "
        f"{run(slope.widest, unit, 1)} out; {volume(slope.fill, unit)} of soil in place, "
        f"{area(slope.grass, unit)} of grass"
    )
    missing = wanted - kept
    return Structure(
        kind="grass slope",
        name=name,
        area=area_plan.name,
        solids=tuple(_solids(plan, slope)),
        makers=(
            Maker(_filled, (name, kept * shrink, kept, soil, unit)),
            Maker(_grass, (name, grass, unit)),
        ),
        works=(Work("place and compact the soil of the slope", slope.fill, "m3", "place-slope"),),
        dug=Dug(put_back=kept),
        said=said,
        plain=(
            f"A slope of grass, {steep} and up to {run(slope.widest, unit, 1)} wide, runs from "
            f"the raised edge of {area_plan.name} down to the lawn"
        ),
        not_counted=(
            (
                f"{volume(missing * shrink, unit)} of soil for {name}: the dig has no more of it "
                "to put back, topsoil left out",
            )
            if missing > _LEAST
            else ()
        ),
    )


def _solids(plan: Design, slope: Slope) -> Iterator[Solid]:
    for quad, on in bodies(slope):
        ground = plan.ground.elevation(on[:, :2])
        if np.isfinite(ground).all():
            top = _through(on)
            bottom = _through(np.column_stack([on[:, :2], ground]))
            if top is not None and bottom is not None:
                foot = areal(shapely.MultiPolygon([quad]))
                under = Plane(top.z0 - _SOD, top.dzdx, top.dzdy)
                yield Solid(_SOIL, foot, bottom, under)
                yield Solid(_TURF, foot, under, top)


def _through(points: Floats) -> Plane | None:
    """Return the plane through three points (3, 3), None where they lie in a line."""
    rows = np.column_stack([np.ones(3), points[:, :2] - points[0, :2]])
    if abs(float(np.linalg.det(rows))) < _LEAST:
        return None
    z0, dzdx, dzdy = np.linalg.solve(rows, points[:, 2])
    x, y = points[0, :2]
    return Plane(float(z0 - dzdx * x - dzdy * y), float(dzdx), float(dzdy))


def _filled(
    name: str, compacted: float, bank: float, soil: str, unit: Unit, crew: Crew
) -> Iterator[Line]:
    how = f"{volume(compacted, unit)} in place, kept from the spoil"
    mass = bank * crew[f"{soil}-bank"]
    loose = bank * (1 + crew[f"{soil}-swell"])
    yield Line("", f"soil of {name}", "kg", mass, mass, how, compacted, loose, mass)


def _grass(name: str, covered: float, unit: Unit, crew: Crew) -> Iterator[Line]:
    more = crew["sod-waste"]
    how = f"{area(covered, unit)} of it beyond the hole; {percent(more, 0)} more"
    yield Line("sod", f"grass of {name}", "m2", covered, covered * (1 + more), how)
