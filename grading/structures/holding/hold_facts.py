"""What the rules ask of a raised edge: how high it stands, what is near it, what is in the way."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

import numpy as np
import shapely

from grading.catalogue.suitability import Fact
from grading.design.area import AreaPlan
from grading.design.model import Design
from grading.finish.wishes.of_site import NEARBY
from grading.geometry.tolerances import SAME, SLIVER
from grading.site.hold_table import Hold
from grading.structures.holding.slope import REACH, Slope
from grading.structures.holding.stretches import Stretch
from grading.structures.holding.wall_unit import WallUnit
from grading.units import percent, round_metric, run, size

_BEFORE = 0.3  # m: how far before an edge the fall of the ground is read
_TUB = "hot tub"
_BOUNDS = ("raised-edge", "lawn-shoulder", "curb-most", "step-edge-most", "wall-most")


def hold_facts(
    plan: Design, area: AreaPlan, asked: Hold | None, raised: Iterable[Stretch],
    slopes: Iterable[Slope], pieces: WallUnit, above: bool = True,
) -> Mapping[str, Fact]:  # fmt: skip
    """Return what the rules of `suitability.toml` ask of an edge that something has to hold.

    Parameters
    ----------
    plan : Design
    area : AreaPlan
    asked : Hold or None
        What the site gives.
    raised : iterable of Stretch
    slopes : iterable of Slope
        As slopes of grass would come out along it.
    pieces : WallUnit
        What a wall would be built of.
    above : bool
        Whether they stand higher than the limit from which an edge counts as raised.
    """
    unit, raised, slopes = plan.site.unit, tuple(raised), tuple(slopes)
    heights = np.concatenate([each.heights for each in raised] or [np.zeros(1)])
    high, low = float(heights.max()), float(heights.min())
    for limit in map(plan.limits.__getitem__, _BOUNDS):
        # A stretch ends where it comes down to a limit, and is no higher for a digit of rounding.
        high = limit if abs(high - limit) < SAME else high
    tub = _tub_near(plan, raised, high + pieces.buried(max(high, 0.0)))
    steep = max((_ground_before(plan, each) for each in raised), default=0.0)
    toe = max((each.widest for each in slopes), default=0.0)
    beside = _in_the_way(plan, area, slopes)
    behind = None if asked is None else asked.behind
    return {
        "use": Fact(area.use, area.use),
        "hold_height": Fact(high, size(high, unit)),
        "hold_low": Fact(not above or high < plan.limits["wall-least"], ""),
        "hold_range": Fact(high - low, size(high - low, unit)),
        "hold_tub": Fact(bool(tub), tub),
        "hold_behind": Fact(behind, behind or ""),
        "hold_steep": Fact(steep > plan.limits["slope-steepest"], ""),
        "hold_ground": Fact(steep, percent(steep, 0)),
        "hold_room": Fact(not beside, ""),
        "hold_toe": Fact(toe, run(toe, unit, 1)),
        "hold_beside": Fact(beside, beside),
    }


def _tub_near(plan: Design, raised: Iterable[Stretch], within: float) -> str:
    for feature in plan.site.features:
        if feature.kind == _TUB and any(
            shapely.distance(feature.polygon, each.line) < within for each in raised
        ):
            return feature.name or feature.kind
    return ""


def _ground_before(plan: Design, stretch: Stretch) -> float:
    """Return how steep the ground falls away before a stretch at the most. [ratio]"""
    points = shapely.get_coordinates(shapely.segmentize(stretch.line, _BEFORE))
    ahead = np.gradient(points, axis=0)
    out = np.column_stack([ahead[:, 1], -ahead[:, 0]])
    out /= np.maximum(np.hypot(*out.T), SLIVER)[:, None]
    near, far = (plan.ground.elevation(points + step * out) for step in (0.0, 2 * _BEFORE))
    falls = (near - far) / (2 * _BEFORE)
    falls = falls[np.isfinite(falls)]
    return float(falls.max()) if len(falls) else 0.0


def _in_the_way(plan: Design, area: AreaPlan, slopes: Iterable[Slope]) -> str:
    """Say why a slope has no room, after how far it reaches out; empty where it has."""
    slopes = tuple(slopes)
    if not all(each.comes_out for each in slopes):
        unit = plan.site.unit
        far = round_metric(REACH) if unit == "m" else REACH
        return f"and nowhere comes out of the ground within {run(far, unit)}"
    region = shapely.union_all([each.region for each in slopes])
    for name, body in _bodies(plan, area):
        if shapely.intersects(region, body):
            return f"where {name} is in its way"
    if not plan.ground.surveyed.buffer(NEARBY).covers(region):
        return "beyond the ground that was surveyed"
    return ""


def _bodies(plan: Design, area: AreaPlan) -> Iterator[tuple[str, shapely.Geometry]]:
    site = plan.site
    if site.house is not None:
        yield "the house", site.house.polygon(NEARBY).buffer(-_BEFORE / 3)
    for other in plan.areas:
        if other.name != area.name:
            yield other.name, other.outline.buffer(-_BEFORE / 3)
    yield "the paving itself", area.outline.buffer(-_BEFORE / 3)
    for meet in site.meets:
        if len(meet.at) > 1 and meet.area in (None, area.name):
            line = shapely.LineString(meet.at)
            if shapely.distance(line, area.outline) > _BEFORE:
                yield meet.name, line
    for feature in site.features:
        if not shapely.intersects(feature.polygon, area.outline):
            yield feature.name or feature.kind, feature.polygon
