"""What an edge takes beside the paving: the section of its concrete, the strip of its shoulder."""

from __future__ import annotations

from collections.abc import Sequence

import shapely

from grading.catalogue.bases import BaseSystem
from grading.catalogue.edge_kinds import BORDER, SHOULDER
from grading.catalogue.rules import Limits
from grading.dig.hole import Dig


def concrete_section(system: BaseSystem, limits: Limits) -> float:
    """Return the section of the concrete of an edge, across the edge. [m2]

    Parameters
    ----------
    system : BaseSystem
        With its edge.
    limits : Limits
        How wide an edge of concrete is, and how far its top stays below the finish.

    Notes
    -----
    It stands on what goes on beyond the paving, else in the ground beside it: a rectangle up to
    `edge-top` below the finish. A border has its units before that rectangle, as high as the
    pavers, on concrete down to the same level.
    """
    kind = system.edge_kind
    if kind is None or kind.fixing != "concrete":
        return 0.0
    wide, deep = limits[kind.width], system.above_edge
    unit = min(limits["border-unit"], wide) if kind.name == BORDER else 0.0
    paver = sum(layer.thickness for layer in system.layers if layer.role == "paver")
    behind = (wide - unit) * max(deep - limits["edge-top"], 0.0)
    return behind + unit * max(deep - paver, 0.0)


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
