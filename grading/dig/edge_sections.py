"""What an edge takes beside the paving: the section of its concrete, the strip of its shoulder."""

from __future__ import annotations

from collections.abc import Sequence

import shapely
from msgspec import Struct

from grading.catalogue.bases import BaseSystem
from grading.catalogue.edge_kinds import BORDER, SHOULDER, WALL, Fixing
from grading.catalogue.rules import Limits
from grading.dig.hole import Dig


class Edging(Struct, frozen=True):
    """An edge in section: how it is fixed, and the sizes of its concrete and of its units.

    Attributes
    ----------
    name : str
        In the table of edges.
    fixing : "screws", "spikes", "concrete" or ""
    deep : float
        How far below the finish it stands. [m]
    wide, top : float
        Of its concrete: how wide outside the paving, how far its top lies below the finish. [m]
    unit, tall : float
        Width and height of the units of a border; 0 where there are none. [m]
    """

    name: str
    fixing: Fixing
    deep: float
    wide: float = 0.0
    top: float = 0.0
    unit: float = 0.0
    tall: float = 0.0

    @property
    def of_wall(self) -> bool:
        """Whether a wall holds all of the free edge."""
        return self.name == WALL

    @property
    def concrete(self) -> float:
        """Section of its concrete, across the edge; 0 where it has none. [m2]

        It stands on what goes on beyond the paving, else in the ground beside it: a rectangle up
        to `top` below the finish. A border has its units before that rectangle, as high as the
        pavers, on concrete down to the same level.
        """
        behind = (self.wide - self.unit) * max(self.deep - self.top, 0.0)
        return behind + self.unit * max(self.deep - self.tall, 0.0)


def edging_of(system: BaseSystem, limits: Limits) -> Edging:
    """Return the edge of a base system in section.

    Parameters
    ----------
    system : BaseSystem
    limits : Limits
        How wide an edge of concrete is, and how far its top stays below the finish.
    """
    kind = system.edge_kind
    # A base system that no area is planned on has the edge that it is commonly given.
    fixing: Fixing = kind.fixing if kind else "screws" if system.on_panels else "spikes"
    if kind is None or kind.fixing != "concrete":
        return Edging(system.edge, fixing, system.above_edge)
    wide, unit, tall = limits[kind.width], 0.0, 0.0
    if kind.name == BORDER:
        unit = min(limits["border-unit"], wide)
        tall = sum(layer.thickness for layer in system.layers if layer.role == "paver")
    return Edging(system.edge, fixing, system.above_edge, wide, limits["edge-top"], unit, tall)


def shoulder_of(
    dig: Dig, lines: Sequence[shapely.LineString], pads: shapely.Geometry, limits: Limits
) -> shapely.Geometry:
    """Return the shoulder along the edges that are spiked into one, in plan. [m]

    Parameters
    ----------
    dig : Dig
    lines : sequence of shapely line
        The edges that take a restraint. [m]
    pads : shapely geometry
        Where nothing of the base lies. [m]
    limits : Limits

    Notes
    -----
    It takes the whole width of the hole beyond the paving.
    """
    if dig.system.edge != SHOULDER or not lines:
        return shapely.Polygon()
    wide = dig.system.over_dig(limits)
    along = shapely.union_all(
        [line.buffer(wide, cap_style="square", join_style="mitre") for line in lines]
    )
    beside = dig.polygon.difference(dig.outline).difference(pads)
    return shapely.intersection(beside, along)
