"""What is laid piece by piece in an area: its pavers and panels where the order counted them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from grading.catalogue.rules import Limits
from viz.words.edging import edging_of

if TYPE_CHECKING:
    from grading.design.area import AreaPlan
    from grading.order.takeoff import Standing
    from grading.pipeline import Plan


@dataclass(frozen=True)
class Laid:
    """What is laid piece by piece, as shapely polygons (k,) on the site's axes, and on fabric. [m]

    fabric says whether geotextile lies under the base; standing is what stands in the paving on
    bases of its own, where nothing of it is laid; shoulder is the dense-graded base that takes
    the place of open stone along the edge, and border where the units of a border lie.
    """

    pavers: Any
    panels: Any
    fabric: bool
    standing: Standing
    shoulder: Any
    border: Any


def paver_faces_of(plan: Plan, area: AreaPlan, base: str | None = None) -> Any:
    """Return the faces of an area's pavers as shapely polygons (k,) on the site's axes. [m]

    On the base system that the area is planned on, if not on another of its own by name.
    """
    from grading.order.pavers import paver_faces

    taken = plan.order.of(area).takeoffs[base or area.chosen]
    return paver_faces(area.area.outline, taken.pavers)[0]


def laid_in(plan: Plan, area: AreaPlan, base: str) -> Laid:
    """Return what is laid in an area on one of its base systems.

    Parameters
    ----------
    plan : Plan
    area : AreaPlan
    base : str
        Name of the base system.
    """
    taken = plan.order.of(area).takeoffs[base]
    panels = () if taken.panels is None else taken.panels.rectangles
    return Laid(paver_faces_of(plan, area, base), panels, taken.fabric is not None,
                taken.standing, taken.shoulder, _border(plan, area, base))  # fmt: skip


def _border(plan: Plan, area: AreaPlan, base: str) -> Any:
    """Return where the units of a border lie on a base system, empty where there are none. [m]"""
    import shapely

    from grading.order.takeoff import restrained_edges

    unit = edging_of(area.digs[base].system, Limits(plan.site.limits)).unit
    if not unit:
        return shapely.Polygon()
    lines = restrained_edges(plan, area, base)
    return shapely.union_all([line.buffer(unit) for line in lines]).difference(area.outline)
