"""One area on one base system as it is put on a scene: what everything in it is added by."""

from __future__ import annotations

from collections.abc import Iterator

import shapely
from msgspec import Struct

from grading.conditions.seats import Seat, seats_of, stands_on
from grading.design.area import AreaPlan
from grading.dig.hole import Dig
from grading.geometry.arrays import Floats
from grading.geometry.facets import Surface
from grading.ground.model import Ground
from grading.order.takeoff import Takeoff
from grading.pipeline import Plan
from grading.units import Unit
from viz.scene.collect import Collected
from viz.scene.frame import Frame, Opening
from viz.scene.shell import Shape, polygons


class Setting(Struct, frozen=True):
    """Where a scene is being built.

    Attributes
    ----------
    plan, area : Plan, AreaPlan
    laid : Takeoff
        What the order counts of the area on its base system.
    frame, opening : Frame, Opening
    ground : Ground
        Existing, as it is drawn.
    region : shapely polygon
        The ground that is shown around the paving. [m]
    bottom : float
        Underside of that ground about the origin. [m]
    factor : float
        How many times larger heights are drawn than lengths.
    found : Collected
        What there is until now.
    """

    plan: Plan
    area: AreaPlan
    laid: Takeoff
    frame: Frame
    opening: Opening
    ground: Ground
    region: shapely.Polygon
    bottom: float
    factor: float
    found: Collected

    @property
    def dig(self) -> Dig:
        """The hole and its layers."""
        return self.laid.dig

    @property
    def finish(self) -> Surface:
        """Top of the pavers."""
        return self.area.finish.surface

    @property
    def origin(self) -> Floats:
        """The scene's own, (3,). [m]"""
        return self.found.origin

    @property
    def unit(self) -> Unit:
        """What lengths are written in."""
        return self.plan.site.unit

    @property
    def clear(self) -> float:
        """How far layers that are apart float, so that none is below the rim of a hole, drawn."""
        return self.factor * max(dig.max_dig for dig in self.area.digs.values())

    @property
    def paver(self) -> float:
        """Thickness of the pavers. [m]"""
        layers = self.dig.system.layers
        return sum(layer.thickness for layer in layers if layer.role == "paver")

    def seats(self) -> Iterator[tuple[Seat, bool]]:
        """Give what stands on the area, and whether it stands on a base of its own."""
        for seat in seats_of(self.plan):
            if seat.area == self.area.area.name:
                how = stands_on(self.plan, self.area, seat.feature, self.dig.system.name)
                yield seat, how == "own base"

    def others(self, region: Shape) -> shapely.MultiPolygon:
        """Return the paving of the other areas within a region. [m]"""
        return others_in(self.plan, self.area, region)


def others_in(plan: Plan, area: AreaPlan, region: Shape) -> shapely.MultiPolygon:
    """Return the paving of the areas but one within a region. [m]"""
    outlines = [other.outline for other in plan.areas if other is not area]
    return polygons(shapely.union_all(outlines).intersection(region))
